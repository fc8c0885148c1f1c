//! Laws that hold for any text: the demos, changed at random, go through the whole pipeline.
//!
//! Words, rows and bytes are deleted, doubled and swapped, and words of the description are strewn in. Whatever comes
//! out is read without a panic; each finding lies in the text; what the strict reader refuses is never called sound.
//! Changes that mean nothing, such as another order of the tables, change nothing.

use notice::{Diagnostic, Severity, Span, code};
use plan::model::Plan;
use proptest::prelude::*;
use proptest::sample::Index;
use std::collections::BTreeMap;
use testkit::{list, planned};

const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");
const TERN_HARBOR: &str = include_str!("../../../../demo/tern-harbor/layout.toml");

/// What the demos have not: parts of one's own, strips that name nothing, levers, a wye, a slip.
const WAREHOUSE: &str = r#"[layout]
name = "Tern Harbor Terminal"
[end.west]
track = "lead"
[turnout.1]
points = "lead"
through = "main"
diverging = "wharf"
hand = "left"
motor = "coil machine"
[wye.W]
points = "wharf"
left = "pier 1"
right = "pier 2"
motor = "coil machine"
[slip.S]
one = ["main", "shed"]
other = ["pier 1", "ice house"]
[end.shed]
track = "shed"
[end.ice]
track = "ice house"
[end.pier]
track = "pier 2"
[turnout.yard]
points = "yard lead"
through = "yard 1"
diverging = "yard 2"
hand = "right"
motor = "servo"
[end.a]
track = "yard lead"
[end.b]
track = "yard 1"
[end.c]
track = "yard 2"
[lever.gate]
moves = ["W"]
[part."pulse driver"]
role = "decoder"
outputs = 2
drives = ["coil"]
[part."other pulse driver"]
role = "decoder"
outputs = 4
drives = ["coil", "servo"]
[part."four output decoder"]
drives = ["stall"]
[part.short]
role = "strip"
pairs = 2
[panel.south]
kind = "strip"
part = "short"
[panel.north]
kind = "strip"
part = "short"
chain = 3
controls = ["gate"]
[panel.east]
kind = "strip"
part = "short"
[numbering]
first = 3
[system]
cabs_in_use = [7]
"#;

/// Words that mean something in a layout, and letters that mean something in its spelling.
const WORDS: [&str; 56] = [
    "[layout]\n",
    "[turnout.1]\n",
    "[crossover.cross]\n",
    "[wye.w]\n",
    "[slip.s]\n",
    "[scissors.x]\n",
    "[threeway.t]\n",
    "[crossing.c]\n",
    "[turntable.tt]\n",
    "[end.west]\n",
    "[track.\"main 1\"]\n",
    "[line.main]\n",
    "[lever.a]\n",
    "[panel.west]\n",
    "[panel.x]\nkind = \"strip\"\n",
    "[system]\n",
    "[bench]\n",
    "[place.p]\n",
    "[part.p]\n",
    "[signal.s]\n",
    "[[end.west]]\n",
    "points",
    "through",
    "diverging",
    "one",
    "other",
    "hand",
    "moves",
    "controls",
    "number = 3\n",
    "address = 7\n",
    "start = 2040\n",
    "chain = 1\n",
    "stop = true\n",
    "length = ",
    "normal = \"diverging\"\n",
    "taken = [\"1-2040\"]\n",
    "last_address = 8\n",
    "\"main 1\"",
    "\"yard lead\"",
    "\"\"",
    "\"-3 ft\"",
    "99999",
    "-1",
    "0x7f",
    "1e999",
    "=",
    "[",
    "]",
    "{",
    "}",
    ",",
    "\"",
    "\n",
    "#",
    "é“\u{feff}\u{0}",
];

#[derive(Clone, Debug)]
enum Change {
    DeleteWord(Index),
    DoubleWord(Index),
    SwapWords(Index, Index),
    InsertWord(Index, Index),
    DeleteRow(Index),
    SwapRows(Index, Index),
    DeleteBytes(Index, u8),
    SwapBytes(Index, Index),
    SetByte(Index, u8),
}

fn change() -> impl Strategy<Value = Change> {
    let at = any::<Index>;
    prop_oneof![
        at().prop_map(Change::DeleteWord),
        at().prop_map(Change::DoubleWord),
        (at(), at()).prop_map(|(a, b)| Change::SwapWords(a, b)),
        (at(), at()).prop_map(|(a, b)| Change::InsertWord(a, b)),
        (at(), at()).prop_map(|(a, b)| Change::InsertWord(a, b)),
        at().prop_map(Change::DeleteRow),
        (at(), at()).prop_map(|(a, b)| Change::SwapRows(a, b)),
        (at(), 1u8..60).prop_map(|(a, length)| Change::DeleteBytes(a, length)),
        (at(), at()).prop_map(|(a, b)| Change::SwapBytes(a, b)),
        (at(), any::<u8>()).prop_map(|(a, byte)| Change::SetByte(a, byte)),
    ]
}

fn changes() -> impl Strategy<Value = Vec<Change>> {
    proptest::collection::vec(change(), 1..6)
}

fn demo() -> impl Strategy<Value = &'static str> {
    prop_oneof![Just(FIRST_MODULE), Just(TERN_HARBOR), Just(WAREHOUSE)]
}

/// Cuts a text into words: runs of letters and digits, and every other byte for itself.
fn words(bytes: &[u8]) -> Vec<Vec<u8>> {
    let mut words: Vec<Vec<u8>> = Vec::new();
    let is_word = |byte: u8| byte.is_ascii_alphanumeric() || byte >= 0x80;
    for &byte in bytes {
        match words.last_mut() {
            Some(word) if is_word(byte) && word.last().is_some_and(|&last| is_word(last)) => word.push(byte),
            _ => words.push(vec![byte]),
        }
    }
    words
}

fn rows(bytes: &[u8]) -> Vec<Vec<u8>> {
    bytes.split_inclusive(|&byte| byte == b'\n').map(<[u8]>::to_vec).collect()
}

/// Takes a text apart, changes the pieces and puts it together again.
fn on_pieces(bytes: &[u8], cut: fn(&[u8]) -> Vec<Vec<u8>>, change: impl Fn(&mut Vec<Vec<u8>>)) -> Vec<u8> {
    let mut pieces = cut(bytes);
    if !pieces.is_empty() {
        change(&mut pieces);
    }
    pieces.concat()
}

fn swap<T>(pieces: &mut [T], a: Index, b: Index) {
    let (a, b) = (a.index(pieces.len()), b.index(pieces.len()));
    pieces.swap(a, b);
}

fn changed(mut bytes: Vec<u8>, changes: &[Change]) -> Vec<u8> {
    for change in changes {
        if bytes.is_empty() {
            return bytes;
        }
        match change {
            Change::DeleteWord(at) => {
                bytes = on_pieces(&bytes, words, |words| drop(words.remove(at.index(words.len()))));
            }
            Change::DoubleWord(at) => {
                bytes = on_pieces(&bytes, words, |words| {
                    let at = at.index(words.len());
                    words.insert(at, words[at].clone());
                });
            }
            Change::SwapWords(a, b) => {
                bytes = on_pieces(&bytes, words, |words| swap(words, *a, *b));
            }
            Change::InsertWord(at, word) => {
                let word = WORDS[word.index(WORDS.len())].as_bytes();
                bytes = on_pieces(&bytes, words, |words| words.insert(at.index(words.len()), word.to_vec()));
            }
            Change::DeleteRow(at) => {
                bytes = on_pieces(&bytes, rows, |rows| drop(rows.remove(at.index(rows.len()))));
            }
            Change::SwapRows(a, b) => {
                bytes = on_pieces(&bytes, rows, |rows| swap(rows, *a, *b));
            }
            Change::DeleteBytes(at, length) => {
                let start = at.index(bytes.len());
                let end = (start + usize::from(*length)).min(bytes.len());
                bytes.drain(start..end);
            }
            Change::SwapBytes(a, b) => {
                let (a, b) = (a.index(bytes.len()), b.index(bytes.len()));
                bytes.swap(a, b);
            }
            Change::SetByte(at, byte) => {
                let at = at.index(bytes.len());
                bytes[at] = *byte;
            }
        }
    }
    bytes
}

fn lies_in(text: &str, span: Span) -> bool {
    span.start <= span.end && text.get(span.start..span.end).is_some()
}

/// What has to be true of every finding.
fn check_findings(text: &str, notes: &[Diagnostic]) -> Result<(), TestCaseError> {
    for note in notes {
        let says = || format!("{note:?}\nin\n{text}");
        prop_assert!(lies_in(text, note.span), "{}", says());
        prop_assert!(note.related.iter().all(|related| lies_in(text, related.span)), "{}", says());
        prop_assert!(!note.message.is_empty() && !note.message.ends_with('.'), "{}", says());
        if let Some(fix) = &note.fix {
            prop_assert!(fix.edits.iter().all(|edit| lies_in(text, edit.span)), "{}", says());
            prop_assert!(fix.edits.is_sorted_by(|a, b| a.span.end <= b.span.start), "{}", says());
        }
    }
    prop_assert!(notes.is_sorted_by_key(|note| note.span), "{}", list(text, notes));
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 128, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn prop_a_changed_layout_is_read_and_its_findings_lie_in_it(text in demo(), changes in changes()) {
        let bytes = changed(text.as_bytes().to_vec(), &changes);
        let text = match description::decode(&bytes) {
            Ok(text) => text,
            Err(note) => {
                let bad = std::str::from_utf8(&bytes).expect_err("only bytes that are no text are refused");
                prop_assert_eq!((note.code, note.span.start), (code::TEXT_NOT_UTF8, bad.valid_up_to()));
                return Ok(());
            }
        };
        let outcome = planned(text);
        check_findings(text, &outcome.diagnostics)?;
        let errors = outcome.diagnostics.iter().filter(|note| note.severity == Severity::Error).count();
        prop_assert_eq!(outcome.has_errors(), errors > 0);
        // The strict reader of the same library stops at its first fault; ours goes on, and has to find it too.
        let strict = toml::de::DeTable::parse(text);
        prop_assert!(strict.is_ok() || outcome.has_errors(), "{:?} in\n{}", strict.err(), text);
        if let Ok(tree) = strict {
            let syntax = outcome.diagnostics.iter().find(|note| note.code == code::TEXT_SYNTAX);
            prop_assert!(syntax.is_none(), "{:?} in\n{}", syntax, text);
            prop_assert!(outcome.has_errors() || tree.get_ref().contains_key("layout"), "{}", text);
        }
    }

    #[test]
    fn prop_the_same_text_gives_the_same_findings_and_plan(text in demo(), changes in changes()) {
        let bytes = changed(text.as_bytes().to_vec(), &changes);
        if let Ok(text) = description::decode(&bytes) {
            let (first, second) = (planned(text), planned(text));
            prop_assert_eq!(first.diagnostics, second.diagnostics);
            prop_assert_eq!(format!("{:?}", first.value), format!("{:?}", second.value));
        }
    }

    #[test]
    fn prop_a_fix_that_is_sure_brings_no_new_kind_of_error(text in demo(), changes in changes()) {
        let bytes = changed(text.as_bytes().to_vec(), &changes);
        let Ok(text) = description::decode(&bytes) else { return Ok(()) };
        let notes = planned(text).diagnostics;
        for note in &notes {
            let Some(fix) = note.fix.as_ref().filter(|fix| fix.confidence == notice::Confidence::Sure) else { continue };
            let mut mended = text.to_owned();
            for edit in fix.edits.iter().rev() {
                mended.replace_range(edit.span.start..edit.span.end, &edit.text);
            }
            let left = planned(&mended).diagnostics;
            let same = left.iter().any(|other| other.code == note.code && other.span.start == note.span.start);
            prop_assert!(!same, "{:?} is still there in\n{}", note, mended);
        }
    }
}

/// A text as its head and its tables, each with its heading and all rows up to the next heading.
fn tables(text: &str) -> (String, Vec<String>) {
    let mut head = String::new();
    let mut tables: Vec<String> = Vec::new();
    for row in text.split_inclusive('\n') {
        match tables.last_mut() {
            _ if row.starts_with('[') => tables.push(row.to_owned()),
            Some(table) => table.push_str(row),
            None => head.push_str(row),
        }
    }
    (head, tables)
}

/// Everything a builder would notice about a plan, without places in the text.
fn seen(plan: &Plan) -> BTreeMap<String, String> {
    let network = &plan.network;
    let mut seen = BTreeMap::new();
    for lever in &plan.levers {
        let strip = lever.control.map(|control| (&plan.strips[control.strip].panel, control.pair));
        let machines: Vec<&str> = network
            .lever(lever.lever)
            .machines
            .iter()
            .map(|machine| network.machine(*machine).name.as_str())
            .collect();
        let facts = (lever.number.value, lever.address.value.number(), strip, machines, lever.line);
        seen.insert(format!("lever {}", network.lever(lever.lever).id), format!("{facts:?}"));
    }
    for strip in &plan.strips {
        let facts = (strip.first.value, strip.pair_count, strip.chain, strip.feed.value, &strip.at);
        seen.insert(format!("strip {}", strip.panel), format!("{facts:?}"));
    }
    for chain in &plan.chains {
        seen.insert(format!("chain {}", chain.number), format!("{:?}", chain.cab.value));
    }
    for decoder in &plan.decoders {
        let at = decoder.at.as_ref().map(|at| &at.value);
        seen.insert(
            format!("decoder {}", decoder.id),
            format!("{:?}", (&decoder.part, at, decoder.first.value)),
        );
    }
    for part in &plan.parts {
        seen.insert(format!("part {}", part.what), format!("{}", part.count.value));
    }
    let routes: Vec<Vec<&str>> = plan
        .routes
        .iter()
        .map(|route| route.tracks.iter().map(|track| network.track(*track).name.as_str()).collect())
        .collect();
    seen.insert("routes".into(), format!("{routes:?}"));
    seen
}

/// The ids of the turnouts of a layout, each with the row of its heading.
fn turnouts(text: &str) -> Vec<(&str, &str)> {
    let headings = text.lines().filter(|row| row.starts_with("[turnout.") || row.starts_with("[crossover."));
    headings.filter_map(|row| Some((row, row.split_once('.')?.1.split_once(']')?.0))).collect()
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 64, failure_persistence: None, ..ProptestConfig::default() })]

    /// Only the order of `[line.*]` means something.
    #[test]
    fn prop_the_order_of_the_tables_does_not_matter(text in demo(), seed in any::<u64>()) {
        let (head, in_order) = tables(text);
        let (lines, mut others): (Vec<String>, Vec<String>) =
            in_order.into_iter().partition(|table| table.starts_with("[line."));
        // A shuffle of the other tables, with the lines put back among them in their order.
        let mut random = seed;
        let mut below = |bound: usize| {
            random = random.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            usize::try_from(random >> 33).unwrap() % bound
        };
        for last in (1..others.len()).rev() {
            others.swap(last, below(last + 1));
        }
        let mut places: Vec<usize> = lines.iter().map(|_| below(others.len() + 1)).collect();
        places.sort_unstable();
        for (place, line) in places.iter().zip(&lines).rev() {
            others.insert(*place, line.clone());
        }
        let shuffled: String = std::iter::once(head).chain(others).collect();
        let (as_written, outcome) = (planned(text), planned(&shuffled));
        prop_assert!(outcome.diagnostics.is_empty(), "{}\nin\n{}", list(&shuffled, &outcome.diagnostics), shuffled);
        prop_assert_eq!(seen(&as_written.value), seen(&outcome.value));
    }

    /// A pin is kept, or there is an error that says why not.
    #[test]
    fn prop_a_pin_is_in_the_plan_or_an_error_says_why_not(
        text in demo(),
        pins in proptest::collection::vec((any::<Index>(), 1u16..40, 1u16..60, any::<bool>(), any::<bool>()), 1..5),
    ) {
        let all = turnouts(text);
        let mut pinned = text.to_owned();
        let mut wanted: BTreeMap<&str, (Option<u16>, Option<u16>)> = BTreeMap::new();
        for (at, number, address, with_number, with_address) in pins {
            let (heading, id) = all[at.index(all.len())];
            if wanted.contains_key(id) {
                continue;
            }
            let number = with_number.then_some(number);
            let address = with_address.then_some(address);
            let mut rows = format!("{heading}\n");
            rows.extend(number.map(|number| format!("number = {number}\n")));
            rows.extend(address.map(|address| format!("address = {address}\n")));
            pinned = pinned.replacen(&format!("{heading}\n"), &rows, 1);
            wanted.insert(id, (number, address));
        }
        let outcome = planned(&pinned);
        if outcome.has_errors() {
            return Ok(());
        }
        for lever in &outcome.value.levers {
            let id = outcome.value.network.lever(lever.lever).id.as_str();
            if let Some((number, address)) = wanted.remove(id) {
                prop_assert_eq!(number.unwrap_or(lever.number.value), lever.number.value, "{}", id);
                let has = lever.address.value.number();
                prop_assert_eq!(address.unwrap_or(has), has, "{}", id);
            }
        }
        prop_assert!(wanted.is_empty(), "no lever for {:?}", wanted);
    }

    /// A number that is pinned to itself changes nothing.
    #[test]
    fn prop_pinning_what_was_decided_changes_nothing(text in demo(), chosen in any::<Index>()) {
        let before = planned(text).value;
        let all = turnouts(text);
        let (heading, id) = all[chosen.index(all.len())];
        let lever = before.levers.iter().find(|lever| before.network.lever(lever.lever).id == id);
        let lever = lever.expect("every turnout of the demos has its own lever");
        let (number, address) = (lever.number.value, lever.address.value.number());
        let rows = format!("{heading}\nnumber = {number}\naddress = {address}\n");
        let pinned = text.replacen(&format!("{heading}\n"), &rows, 1);
        let outcome = planned(&pinned);
        prop_assert!(outcome.diagnostics.is_empty(), "{}", list(&pinned, &outcome.diagnostics));
        prop_assert_eq!(seen(&before), seen(&outcome.value));
    }
}
