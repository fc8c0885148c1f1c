//! Every code has a page whose example raises it, at exactly the letters drawn there, and whose mended text does not.

use notice::{Code, Confidence, Diagnostic, FINDINGS_MAX, File, Severity, code};
use std::fmt::Write as _;

/// Codes whose example cannot stand as a short text on a page; each is built and checked below.
const BUILT_HERE: [&str; 7] = [
    "drawing-nudge-unheld",
    "findings-too-many",
    "gap-missing",
    "routes-too-many",
    "text-not-utf8",
    "text-too-long",
    "too-many-to-read",
];

/// The text below a heading of a page, up to the next heading.
fn below<'a>(page: &'a str, heading: &str) -> &'a str {
    let (_, after) =
        page.split_once(&format!("\n## {heading}\n")).unwrap_or_else(|| panic!("{heading} in {page}"));
    after.split("\n## ").next().unwrap_or_default()
}

/// The layout in the fenced block of a stretch of a page.
fn layout(text: &str) -> Option<&str> {
    text.split_once("```toml\n")?.1.split_once("\n```").map(|(layout, _)| layout)
}

/// The record beside it: the second fenced block.
fn record(text: &str) -> Option<&str> {
    let (_, behind) = text.split_once("```toml\n")?;
    layout(behind)
}

/// What is found in an example, with the record beside it where the page has one.
fn found(text: &str) -> Vec<Diagnostic> {
    let Some(layout) = layout(text) else { return Vec::new() };
    match record(text) {
        Some(record) => testkit::kept(layout, record).diagnostics,
        None => testkit::planned(layout).diagnostics,
    }
}

/// The text of an example, or of the record beside it, that a diagnostic is about.
fn about<'a>(text: &'a str, note: &Diagnostic) -> &'a str {
    let of = if note.span.file == File::AsBuilt { record(text) } else { layout(text) };
    of.unwrap_or_default()
}

#[test]
fn every_page_has_the_same_shape() {
    for code in Code::all() {
        let page = code.page();
        for heading in ["Why it matters", "Example", "Instead"] {
            assert!(below(page, heading).trim().len() > 10, "{code}: nothing below {heading}");
        }
        assert_eq!(layout(below(page, "Example")).is_none(), BUILT_HERE.contains(&code.name()), "{code}");
        assert!(page.lines().all(|row| !row.contains("TOML ")), "{code}: no grammar words");
    }
}

#[test]
fn every_example_raises_its_code_under_the_drawn_letters() {
    for code in Code::all() {
        let Some(example) = layout(below(code.page(), "Example")) else { continue };
        let all = below(code.page(), "Example");
        assert!(all.contains(&format!("[{code}]:")), "{code}: its page does not draw it");
        match record(all) {
            Some(record) => testkit::check_kept(example, record),
            None => testkit::check(example),
        }
    }
}

#[test]
fn every_mended_text_is_sound_and_free_of_the_code() {
    for code in Code::all() {
        let all = below(code.page(), "Instead");
        let Some(mended) = layout(all) else { continue };
        let outcome = match record(all) {
            Some(record) => testkit::kept(mended, record),
            None => testkit::planned(mended),
        };
        assert!(!outcome.has_errors(), "{code}:\n{}", testkit::list(mended, &outcome.diagnostics));
        assert!(outcome.diagnostics.iter().all(|note| note.code != code), "{code}");
    }
}

#[test]
fn a_sure_fix_clears_its_code() {
    let mut tried = 0;
    for code in Code::all() {
        let page = below(code.page(), "Example");
        for note in found(page).iter().filter(|note| note.code == code) {
            let Some(fix) = note.fix.as_ref().filter(|fix| fix.confidence == Confidence::Sure) else {
                continue;
            };
            let example = about(page, note);
            let mut mended = example.to_owned();
            for edit in fix.edits.iter().rev() {
                mended.replace_range(edit.span.start..edit.span.end, &edit.text);
            }
            let left = found(&page.replace(example, &mended));
            assert!(left.iter().all(|other| other.code != code || other.span != note.span), "{code}");
            tried += 1;
        }
    }
    assert!(tried > 0, "no example has a sure fix");
}

#[test]
fn a_file_that_is_no_text_says_at_which_byte() {
    let note = description::decode(b"[l\xFF").unwrap_err();
    assert_eq!((note.code.name(), note.severity), ("text-not-utf8", Severity::Error));
    assert!(note.message.contains("byte 3"), "{}", note.message);
    assert_eq!(note.span.start, 2);
}

/// Both sides of the boundary: the longest text is read, one byte more is not.
#[test]
fn a_file_that_is_too_long_is_refused() {
    let longest = vec![b' '; description::TEXT_MAX];
    assert!(description::decode(&longest).is_ok());
    let note = description::decode(&[longest, vec![b' ']].concat()).unwrap_err();
    assert_eq!((note.code.name(), note.severity), ("text-too-long", Severity::Error));
}

/// # Source
/// Fifteen passing loops in a row have 2^15 = 32,768 routes between the two ends: closed form.
#[test]
fn a_layout_with_too_many_routes_says_so_and_is_planned() {
    let mut text =
        String::from("[layout]\nname = \"loops\"\n[panel.fascia]\nkind = \"strip\"\ncontrols = []\n");
    for at in 0..15 {
        let next = at + 1;
        write!(
            text,
            "[turnout.a{at}]\npoints = \"m{at}\"\nthrough = \"s{at}\"\ndiverging = \"l{at}\"\nhand = \"left\"\n\
             [turnout.b{at}]\npoints = \"m{next}\"\nthrough = \"s{at}\"\ndiverging = \"l{at}\"\nhand = \"right\"\n"
        )
        .unwrap();
    }
    text += "[end.west]\ntrack = \"m0\"\n[end.east]\ntrack = \"m15\"\n";
    let outcome = testkit::planned(&text);
    assert!(!outcome.has_errors());
    assert!(outcome.diagnostics.iter().any(|note| note.code.name() == "routes-too-many"));
    assert_eq!(outcome.value.routes.len(), network::ROUTES_MAX);
}

/// Any fix, sure or not, has to clear the diagnostic that offers it where it stands.
#[test]
fn every_offered_fix_clears_its_diagnostic() {
    let mut tried = 0;
    for code in Code::all() {
        let page = below(code.page(), "Example");
        for note in found(page) {
            let Some(fix) = &note.fix else { continue };
            let example = about(page, &note);
            let mut mended = example.to_owned();
            for edit in fix.edits.iter().rev() {
                mended.replace_range(edit.span.start..edit.span.end, &edit.text);
            }
            let left = found(&page.replace(example, &mended));
            let same =
                left.iter().any(|other| other.code == note.code && other.span.start == note.span.start);
            assert!(!same, "{code}: the fix leaves\n{}\nin\n{mended}", testkit::list(&mended, &left));
            tried += 1;
        }
    }
    assert!(tried > 5, "only {tried} examples offer a fix");
}

#[test]
fn messages_and_helps_are_plain_sentences_without_a_full_stop() {
    for code in Code::all() {
        for note in found(below(code.page(), "Example")).iter().filter(|note| note.code == code) {
            let Some(help) = note.help.as_deref() else {
                panic!("{code} says what is wrong, not what to write")
            };
            let related = note.related.iter().map(|related| related.message.as_str());
            for words in [note.message.as_str(), help].into_iter().chain(related) {
                assert!(!words.ends_with('.') && !words.is_empty(), "{code}: {words}");
                assert!(!words.starts_with(char::is_uppercase), "{code}: {words}");
            }
            assert!(!note.message.contains('\n'), "{code}: {}", note.message);
        }
    }
}

/// Piers whose tracks have no second end: one error each.
fn lone_piers(count: usize) -> String {
    let mut text = String::from("[layout]\nname = \"Tern Harbor\"\n");
    for pier in 0..count {
        write!(text, "[end.\"pier {pier}\"]\ntrack = \"pier {pier}\"\n").unwrap();
    }
    text
}

/// Turnouts that do not say their hand: one warning each, and nothing else wrong.
fn handless(count: usize) -> String {
    let mut text = String::new();
    for turnout in 0..count {
        write!(
            text,
            "[turnout.t{turnout}]\npoints = \"a{turnout}\"\nthrough = \"b{turnout}\"\ndiverging = \"c{turnout}\"\n"
        )
        .unwrap();
        for leg in ["a", "b", "c"] {
            write!(text, "[end.{leg}{turnout}]\ntrack = \"{leg}{turnout}\"\n").unwrap();
        }
    }
    text
}

/// Both sides of the boundary.
#[test]
fn findings_are_listed_up_to_a_thousand() {
    for (count, listed, cut) in [(FINDINGS_MAX, FINDINGS_MAX, 0), (FINDINGS_MAX + 1, FINDINGS_MAX + 1, 1)] {
        let notes = testkit::planned(&lone_piers(count)).diagnostics;
        assert_eq!(notes.len(), listed);
        let says: Vec<_> = notes.iter().filter(|note| note.code == code::FINDINGS_TOO_MANY).collect();
        assert_eq!(says.len(), cut);
        assert!(says.iter().all(|note| note.severity == Severity::Error));
    }
}

#[test]
fn of_too_many_findings_the_errors_are_kept() {
    // As many warnings as are listed stand above all the errors.
    let text = lone_piers(20).replacen("[end", &format!("{}[end", handless(FINDINGS_MAX)), 1);
    let outcome = testkit::planned(&text);
    let errors = outcome.diagnostics.iter().filter(|note| note.severity == Severity::Error).count();
    assert_eq!((outcome.diagnostics.len(), errors), (FINDINGS_MAX + 1, 20));
    assert!(outcome.diagnostics.is_sorted_by_key(|note| note.span));
}

/// Both sides of each boundary.
#[test]
fn tables_and_lists_without_end_are_read_up_to_a_limit() {
    let panels =
        |count: usize| (0..count).map(|panel| format!("[panel.{panel}]\nkind = \"strip\"\n")).collect();
    let taken = |count: usize| format!("[system]\ntaken = [{}]\n", "\"7\", ".repeat(count));
    let stalls = |count: usize| {
        let list = |letter: char, count: usize| -> String {
            (0..count).map(|at| format!("\"{letter}{at}\", ")).collect()
        };
        format!("[turntable.house]\napproach = [{}]\nstalls = [{}]\n", list('a', 2), list('s', count - 2))
    };
    let cases: [(&dyn Fn(usize) -> String, usize); 3] = [(&panels, 500), (&taken, 5_000), (&stalls, 250)];
    for (build, most) in cases {
        for (count, raised) in [(most, 0), (most + 1, 1)] {
            let read = description::read(&format!("[layout]\nname = \"Tern Harbor\"\n{}", build(count)));
            let found = read.diagnostics.iter().filter(|note| note.code == code::TOO_MANY_TO_READ).count();
            assert_eq!(found, raised, "{count} of {most}: {:?}", read.diagnostics);
        }
    }
}
