//! The record from its text, with everything that is wrong in it. A record with anything wrong is refused as a whole by
//! whoever plans with it: what is built is never guessed at.

mod tried;

use super::remark::{Anchor, gather};
use super::{
    AccessoryBuilt, DecoderBuilt, Entries, Entry, Finding, HEADINGS, LeverBuilt, MachineBuilt, Record,
    Retired, SCHEMA, StripBuilt, WireBuilt, clash,
};
use crate::lower::table::{Notes, Table, in_text_order, kind_of};
use crate::text::{Spelled, is_guess, parse, spell};
use notice::{Confidence, Diagnostic, File, Outcome, Span, code, suggest};
use std::collections::BTreeMap;
use toml::de::{DeTable, DeValue};

/// The most rows under one heading that are read.
const ROWS_MAX: usize = 100_000;

/// Reads a record, with every mistake in it. All places are places in `as-built.toml`.
///
/// # Example
/// ```
/// let read = description::record::read("schema = 1\nlayout = \"Tern Harbor\"\n");
/// assert_eq!(read.diagnostics[0].code.name(), "record-cut-short");
/// ```
pub fn read(text: &str) -> Outcome<Record> {
    let merges = merge_marks(text);
    let mut reader = Reader { text, notes: Notes::default(), anchors: Vec::new(), record: Record::default() };
    if merges.is_empty() {
        let Spelled { text: source, notes: spelling, guessed } = spell(text);
        let broken = !spelling.is_empty();
        reader.read(&parse(&source));
        let found = std::mem::take(&mut reader.notes.list);
        let made_up = |note: &Diagnostic| {
            [code::KEY_MISSING, code::RECORD_CUT_SHORT].contains(&note.code)
                || note.span.start == note.span.end
        };
        reader.notes.list = spelling;
        let real = |note: &Diagnostic| !(is_guess(&guessed, note.span) || broken && made_up(note));
        reader.notes.list.extend(found.into_iter().filter(real));
    } else {
        // What both sides of a merge wrote is no record yet, and whatever the parser says of it follows from that.
        reader.notes.list = merges;
    }
    let Reader { notes, anchors, mut record, .. } = reader;
    settle_remarks(text, anchors, &mut record);
    let mut diagnostics: Vec<Diagnostic> =
        notes.list.into_iter().map(|note| note.of(File::AsBuilt)).collect();
    if diagnostics.is_empty() {
        diagnostics = clash::find(&record);
    }
    Outcome::new(record, diagnostics)
}

/// Where a merge left both sides in the text.
fn merge_marks(text: &str) -> Vec<Diagnostic> {
    let mut at = 0;
    let mut notes = Vec::new();
    for row in text.split_inclusive('\n') {
        let start = at;
        at += row.len();
        if row.starts_with("<<<<<<<") || row.starts_with(">>>>>>>") {
            let span = Span::new(start, start + row.trim_end().len());
            let says = "a merge stopped here and left the rows of both sides";
            let help = "keep every row that is built, and delete the rows that begin with <<<, === and >>>";
            notes.push(Diagnostic::error(code::RECORD_MERGE_OPEN, span, says).help(help));
        }
    }
    notes
}

/// Which remarks something owns.
enum Owner {
    Layout,
    Heading(String),
    Lever(String),
    Accessory(String),
    Strip(String),
    Decoder(String),
    Machine(String),
    Wire(String),
    Finding(String),
    Retired(Retired),
    Row,
}

struct Reader<'t> {
    text: &'t str,
    notes: Notes,
    anchors: Vec<(Anchor, Owner)>,
    record: Record,
}

impl Reader<'_> {
    fn read(&mut self, tree: &DeTable<'_>) {
        self.head(tree);
        let mut record = std::mem::take(&mut self.record);
        record.levers = self.rows(tree, "levers", Owner::Lever, lever);
        record.accessories = self.rows(tree, "accessories", Owner::Accessory, |table| {
            let address = needed(table, "address", "its accessory address", 1..=2048)?;
            Some(AccessoryBuilt { address, number: number(table, "number", 0..=u16::MAX) })
        });
        record.strips = self.rows(tree, "strips", Owner::Strip, |table| {
            Some(StripBuilt {
                first_address: needed(table, "first_address", "the address of its first pair", 1..=2048)?,
                chain: needed(table, "chain", "the chain it belongs to", 0..=u16::MAX)?,
                cab: number(table, "cab", 0..=u16::MAX),
            })
        });
        record.decoders = self.rows(tree, "decoders", Owner::Decoder, decoder);
        record.machines = self.rows(tree, "machines", Owner::Machine, |table| {
            Some(MachineBuilt {
                decoder: text(table, "decoder"),
                address: number(table, "address", 1..=2048),
                tracks: texts(table, "tracks"),
            })
        });
        record.wires = self.rows(tree, "wires", Owner::Wire, |table| {
            let id = table.needed_text("id", "what its labels say")?.value;
            let (from, to) = (text(table, "from"), text(table, "to"));
            let mut numbers = |key| {
                let numbers = table.numbers_within(key, 1..=9_999, code::NUMBER_OUT_OF_RANGE);
                numbers.into_iter().map(|number| number.value).collect()
            };
            Some(WireBuilt { id, from, to, terminals: numbers("terminals"), pins: numbers("pins") })
        });
        record.findings = self.rows(tree, "findings", Owner::Finding, |table| {
            let inverted = table.flag("inverted").unwrap_or_default();
            Some(Finding { inverted, tried: tried::read(table), note: text(table, "note") })
        });
        self.record = record;
        self.retired(tree);
        self.end(tree);
    }

    /// `schema`, `layout`, and what should not be there.
    fn head(&mut self, tree: &DeTable<'_>) {
        let mut whole = 0;
        for (key, value) in in_text_order(tree) {
            let name: &str = key.get_ref();
            let span = Span::new(key.span().start, value.span().end);
            match (name, value.get_ref()) {
                ("schema", DeValue::Integer(version)) if version.as_str() == SCHEMA.to_string() => {
                    self.anchor(span, Owner::Row);
                    whole += 1;
                }
                ("schema", _) => {
                    whole += 1;
                    let says = format!(
                        "this record is of another schema than {SCHEMA}, the one that this throwbar knows"
                    );
                    let help =
                        "use the throwbar that wrote it, or a newer one; write the record with no other";
                    self.notes.push(Diagnostic::error(code::RECORD_SCHEMA_UNKNOWN, span, says).help(help));
                }
                ("layout", DeValue::String(layout)) => {
                    self.anchor(span, Owner::Layout);
                    self.record.layout = Some(Entry {
                        value: layout.to_string(),
                        span: span.of(File::AsBuilt),
                        remarks: Vec::new(),
                    });
                    whole += 1;
                }
                ("layout", other) => {
                    whole += 1;
                    let says = format!("`layout` is {}, where the layout's name belongs", kind_of(other));
                    let help = "write layout = \"the name in layout.toml\"";
                    self.notes.push(
                        Diagnostic::error(code::VALUE_WRONG_KIND, value.span().into(), says).help(help),
                    );
                }
                (heading, _) if HEADINGS.contains(&heading) => {
                    let span = key.span();
                    self.anchor(span.into(), Owner::Heading(heading.to_owned()));
                }
                _ => self.unknown(name, key.span().into()),
            }
        }
        if whole < 2 {
            let row = self.text.trim_start();
            let start = self.text.len() - row.len();
            let end = start + row.lines().next().unwrap_or_default().trim_end().len();
            let says = "the record does not say its schema and its layout at the top";
            let help = format!(
                "write above everything else\nschema = {SCHEMA}\nlayout = \"the name in layout.toml\""
            );
            self.notes.push(Diagnostic::error(code::KEY_MISSING, Span::new(start, end), says).help(help));
        }
    }

    fn unknown(&mut self, name: &str, span: Span) {
        let says = format!("a record has no `{name}`");
        let note = Diagnostic::error(code::KEY_UNKNOWN, span, says);
        let known = HEADINGS.into_iter().chain(["schema", "layout"]);
        self.notes.push(match suggest(self.notes.list.len(), name, known) {
            Some(near) => note.help(format!("did you mean `{near}`?")).replace(near, Confidence::Ask),
            None => note.help(format!("its headings are {}", HEADINGS.join(", "))),
        });
    }

    fn anchor(&mut self, span: Span, owner: Owner) {
        self.anchors.push((Anchor { start: span.start, end: span.end }, owner));
    }

    /// The table below a heading, row by row: key, and where the row stands.
    fn below<'a>(
        &mut self,
        tree: &'a DeTable<'a>,
        heading: &str,
    ) -> Vec<(String, Span, &'a toml::Spanned<DeValue<'a>>)> {
        let Some((_, value)) = tree.iter().find(|(key, _)| key.get_ref() == heading) else {
            return Vec::new();
        };
        let DeValue::Table(entries) = value.get_ref() else {
            let says = format!("`{heading}` is {}, where a heading belongs", kind_of(value.get_ref()));
            let help = format!("write [{heading}] on a row of its own, and its rows below");
            self.notes.push(Diagnostic::error(code::VALUE_WRONG_KIND, value.span().into(), says).help(help));
            return Vec::new();
        };
        if entries.len() > ROWS_MAX {
            let says = format!("[{heading}] has {} rows, of which {ROWS_MAX} are read", entries.len());
            let help = "check that this is the file you meant";
            self.notes.push(Diagnostic::error(code::TOO_MANY_TO_READ, value.span().into(), says).help(help));
        }
        let row = |(key, value): (&'a toml::Spanned<_>, &'a toml::Spanned<DeValue<'a>>)| {
            let name: &toml::de::DeString<'a> = key.get_ref();
            (name.to_string(), Span::new(key.span().start, value.span().end), value)
        };
        in_text_order(entries).into_iter().take(ROWS_MAX).map(row).collect()
    }

    fn rows<T>(
        &mut self,
        tree: &DeTable<'_>,
        heading: &'static str,
        owner: fn(String) -> Owner,
        read: impl Fn(&mut Table<'_, '_>) -> Option<T>,
    ) -> Entries<T> {
        let mut entries = BTreeMap::new();
        for (key, span, value) in self.below(tree, heading) {
            if key.trim().is_empty() {
                let says = format!("a row of [{heading}] has no name");
                self.notes.push(
                    Diagnostic::error(code::NAME_EMPTY, span, says)
                        .help("write what the row is about between the quotation marks"),
                );
                continue;
            }
            self.anchor(span, owner(key.clone()));
            let called = format!("`{key}` of [{heading}]");
            let Some(mut table) = Table::open(called, span, value, None, &mut self.notes) else { continue };
            let value = read(&mut table);
            table.close();
            if let Some(value) = value {
                let span = span.of(File::AsBuilt);
                entries.insert(key, Entry { value, span, remarks: Vec::new() });
            }
        }
        entries
    }

    fn retired(&mut self, tree: &DeTable<'_>) {
        for (key, span, value) in self.below(tree, "retired") {
            let was = value.get_ref().as_str();
            match (Retired::from_words(&key), was) {
                (Some(retired), Some(was)) => {
                    self.anchor(span, Owner::Retired(retired.clone()));
                    let span = span.of(File::AsBuilt);
                    let entry = Entry { value: was.to_owned(), span, remarks: Vec::new() };
                    self.record.retired.insert(retired, entry);
                }
                (None, _) => {
                    let says = format!("`{key}` is nothing that can be retired");
                    let help = "write such as \"number 7\", \"address 14\", \"wire W12\" or \"decoder D3\"";
                    self.notes.push(Diagnostic::error(code::RECORD_ROW_UNREADABLE, span, says).help(help));
                }
                (Some(_), None) => {
                    let says = format!("`{key}` is {}, where what it was belongs", kind_of(value.get_ref()));
                    let help = "write what it was in quotation marks, such as \"lever cannery\"";
                    let span = value.span().into();
                    self.notes.push(Diagnostic::error(code::VALUE_WRONG_KIND, span, says).help(help));
                }
            }
        }
    }

    /// The last row, by which a text that was cut short is known.
    fn end(&mut self, tree: &DeTable<'_>) {
        let mut whole = false;
        for (key, span, value) in self.below(tree, "end") {
            if key == "whole" && matches!(value.get_ref(), DeValue::Boolean(true)) {
                whole = true;
                self.anchor(span, Owner::Row);
            } else {
                let says = format!("[end] has no `{key}`");
                let help = "its only row is whole = true";
                self.notes.push(Diagnostic::error(code::KEY_UNKNOWN, span, says).help(help));
            }
        }
        if !whole {
            let says = "the record stops here, before its end";
            let help = "fetch the whole file again from where you keep it; if nothing is missing, write at its end\n\
                        [end]\nwhole = true";
            let note = Diagnostic::error(code::RECORD_CUT_SHORT, last_row(self.text), says).help(help);
            self.notes.push(note);
        }
    }
}

/// The last row of a text that is no remark.
fn last_row(text: &str) -> Span {
    let mut at = 0;
    let mut last = Span::new(0, 0);
    for row in text.split_inclusive('\n') {
        let trimmed = row.trim_start();
        if !trimmed.is_empty() && !trimmed.starts_with('#') {
            let start = at + row.len() - trimmed.len();
            last = Span::new(start, start + trimmed.trim_end().len());
        }
        at += row.len();
    }
    last
}

fn lever(table: &mut Table<'_, '_>) -> Option<LeverBuilt> {
    Some(LeverBuilt {
        number: needed(table, "number", "the number painted beside it", 0..=u16::MAX)?,
        address: number(table, "address", 1..=2048),
        moves: texts(table, "moves"),
    })
}

fn decoder(table: &mut Table<'_, '_>) -> Option<DecoderBuilt> {
    let part = table.needed_text("part", "the part that it is");
    let first_address = needed(table, "first_address", "the address of its first output", 1..=2048);
    let outputs = needed(table, "outputs", "how many outputs it has", 0..=u16::MAX);
    let at = text(table, "at");
    Some(DecoderBuilt { part: part?.value, at, first_address: first_address?, outputs: outputs? })
}

fn text(table: &mut Table<'_, '_>, key: &'static str) -> Option<String> {
    table.name(key).map(|name| name.value)
}

fn texts(table: &mut Table<'_, '_>, key: &'static str) -> Vec<String> {
    table.names(key).unwrap_or_default().into_iter().map(|name| name.value).collect()
}

fn number(table: &mut Table<'_, '_>, key: &'static str, range: std::ops::RangeInclusive<u16>) -> Option<u16> {
    table.number_within(key, range, code::NUMBER_OUT_OF_RANGE).map(|number| number.value)
}

/// A number that has to be there.
fn needed(
    table: &mut Table<'_, '_>,
    key: &'static str,
    what: &str,
    range: std::ops::RangeInclusive<u16>,
) -> Option<u16> {
    if !table.has(key) {
        let example = format!("{key} = {}", range.start().max(&1));
        table.missing(key, what, &example);
    }
    number(table, key, range)
}

/// Gives every remark of the text to what it belongs to.
fn settle_remarks(text: &str, mut anchors: Vec<(Anchor, Owner)>, record: &mut Record) {
    fn give<T>(entries: &mut Entries<T>, key: &str, remarks: Vec<String>) {
        if let Some(entry) = entries.get_mut(key) {
            entry.remarks = remarks;
        }
    }
    anchors.sort_by_key(|(anchor, _)| *anchor);
    let places: Vec<Anchor> = anchors.iter().map(|(anchor, _)| *anchor).collect();
    let (of, last) = gather(text, &places);
    let mut further = |key: &str, remarks: Vec<String>| {
        if !remarks.is_empty() {
            record.remarks.entry(key.to_owned()).or_default().extend(remarks);
        }
    };
    further(".", last);
    for ((_, owner), remarks) in anchors.into_iter().zip(of) {
        match owner {
            Owner::Row => further("", remarks),
            Owner::Heading(heading) => further(&heading, remarks),
            Owner::Layout => {
                if let Some(layout) = &mut record.layout {
                    layout.remarks = remarks;
                }
            }
            Owner::Lever(key) => give(&mut record.levers, &key, remarks),
            Owner::Accessory(key) => give(&mut record.accessories, &key, remarks),
            Owner::Strip(key) => give(&mut record.strips, &key, remarks),
            Owner::Decoder(key) => give(&mut record.decoders, &key, remarks),
            Owner::Machine(key) => give(&mut record.machines, &key, remarks),
            Owner::Wire(key) => give(&mut record.wires, &key, remarks),
            Owner::Finding(key) => give(&mut record.findings, &key, remarks),
            Owner::Retired(key) => {
                if let Some(entry) = record.retired.get_mut(&key) {
                    entry.remarks = remarks;
                }
            }
        }
    }
}
