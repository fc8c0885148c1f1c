//! One table of the description under the reader's eye: each question asks for one key and a kind of value, notes what
//! is wrong with it, and remembers that the key is known. Closing the table reports the keys nobody asked for.

use crate::keys::{Kind, TableKeys};
use crate::model::Name;
use measure::ReadReason;
use notice::{Code, Confidence, Diagnostic, Span, Spanned, code, suggest};
use toml::Spanned as TomlSpanned;
use toml::de::{DeTable, DeValue};

pub(crate) type Entries<'a> = DeTable<'a>;

/// The most entries of a list that are read.
const ENTRIES_MAX: usize = 5_000;

/// What was found wrong so far.
#[derive(Default)]
pub(crate) struct Notes {
    pub(crate) list: Vec<Diagnostic>,
}

impl Notes {
    pub(crate) fn push(&mut self, note: Diagnostic) {
        self.list.push(note);
    }
}

/// A table being read.
pub(crate) struct Table<'a, 'n> {
    /// Its heading, for messages.
    pub(crate) heading: String,
    /// Where its heading, or its id, is written.
    pub(crate) span: Span,
    entries: &'a Entries<'a>,
    /// What it can hold; none for a row of a record.
    keys: Option<&'static TableKeys>,
    asked: Vec<&'static str>,
    notes: &'n mut Notes,
    /// How much had been found before this table.
    since: usize,
}

/// The entries of a table in the order of the text; the parser keeps them by key.
pub(crate) fn in_text_order<'a>(
    entries: &'a Entries<'a>,
) -> Vec<(&'a TomlSpanned<toml::de::DeString<'a>>, &'a TomlSpanned<DeValue<'a>>)> {
    let mut list: Vec<_> = entries.iter().collect();
    list.sort_by_key(|(key, _)| key.span().start);
    list
}

/// What a value is, in words that fit after "is".
pub(crate) fn kind_of(value: &DeValue<'_>) -> &'static str {
    match value {
        DeValue::String(_) => "text",
        DeValue::Integer(_) => "a whole number",
        DeValue::Float(_) => "a number with a fraction",
        DeValue::Boolean(_) => "true or false",
        DeValue::Datetime(_) => "a date",
        DeValue::Array(_) => "a list",
        DeValue::Table(_) => "a table",
    }
}

impl<'a, 'n> Table<'a, 'n> {
    /// Opens a table; none, with a note, when the value is something else.
    pub(crate) fn open(
        heading: String,
        span: Span,
        value: &'a TomlSpanned<DeValue<'a>>,
        keys: Option<&'static TableKeys>,
        notes: &'n mut Notes,
    ) -> Option<Self> {
        if let DeValue::Table(entries) = value.get_ref() {
            let since = notes.list.len();
            return Some(Self { heading, span, entries, keys, asked: Vec::new(), notes, since });
        }
        let message = format!("{heading} is {}, not a table", kind_of(value.get_ref()));
        notes.push(
            Diagnostic::error(code::VALUE_WRONG_KIND, value.span().into(), message)
                .help(format!("write {heading} on a row of its own, and its keys below")),
        );
        None
    }

    /// How much has been found wrong so far, in all tables.
    pub(crate) fn found(&self) -> usize {
        self.notes.list.len()
    }

    pub(crate) fn note(&mut self, note: Diagnostic) {
        self.notes.push(note);
    }

    /// Whether the key is written at all.
    pub(crate) fn has(&self, key: &str) -> bool {
        self.entries.contains_key(key)
    }

    pub(crate) fn value(&mut self, key: &'static str) -> Option<&'a TomlSpanned<DeValue<'a>>> {
        debug_assert!(
            self.keys.is_none_or(|keys| keys.key(key).is_some()),
            "{} lists no `{key}`",
            self.heading
        );
        self.asked.push(key);
        self.entries.get(key)
    }

    /// A row of the table of keys.
    fn row(&self, key: &str) -> Option<&'static crate::keys::Key> {
        self.keys?.key(key)
    }

    /// Notes that a key has to be there, where it is not written.
    pub(crate) fn need(&mut self, key: &'static str) {
        if !self.has(key)
            && let Some(row) = self.row(key)
        {
            self.missing(key, row.says, &format!("{key} = {}", row.example));
        }
    }

    pub(crate) fn wrong_kind(&mut self, span: Span, key: &str, found: &str, wanted: &str, help: String) {
        let message = format!("`{key}` is {found}, where {wanted} belongs");
        self.notes.push(Diagnostic::error(code::VALUE_WRONG_KIND, span, message).help(help));
    }

    /// A name; none when absent or unreadable.
    pub(crate) fn name(&mut self, key: &'static str) -> Option<Name> {
        let value = self.value(key)?;
        self.name_from(key, value)
    }

    pub(crate) fn name_from(&mut self, key: &str, value: &TomlSpanned<DeValue<'_>>) -> Option<Name> {
        let span = Span::from(value.span());
        let Some(text) = value.get_ref().as_str() else {
            let found = kind_of(value.get_ref());
            if let DeValue::Integer(number) = value.get_ref() {
                // Ids are often plain numbers, and the mend is certain.
                let quoted = format!("\"{number}\"");
                let message = format!("`{key}` is {found}, where a name in quotation marks belongs");
                self.notes.push(
                    Diagnostic::error(code::VALUE_WRONG_KIND, span, message)
                        .help(format!("write {quoted}"))
                        .replace(quoted, Confidence::Sure),
                );
            } else {
                self.wrong_kind(
                    span,
                    key,
                    found,
                    "a name in quotation marks",
                    format!("write {key} = \"a name\""),
                );
            }
            return None;
        };
        if text.trim().is_empty() {
            self.notes.push(
                Diagnostic::error(code::NAME_EMPTY, span, format!("`{key}` is empty, where a name belongs"))
                    .help("write a name between the quotation marks"),
            );
            return None;
        }
        Some(Spanned::new(text.to_owned(), span))
    }

    /// A name that has to be there, of a table that lists its keys.
    pub(crate) fn needed_name(&mut self, key: &'static str) -> Option<Name> {
        let what = self.row(key).map_or("", |row| row.says);
        self.needed_text(key, what)
    }

    /// A name that has to be there; `what` it is.
    pub(crate) fn needed_text(&mut self, key: &'static str, what: &str) -> Option<Name> {
        if !self.has(key) {
            self.asked.push(key);
            self.missing(key, what, &format!("{key} = \"…\""));
            return None;
        }
        self.name(key)
    }

    /// Notes that a key has to be there and is not.
    pub(crate) fn missing(&mut self, key: &str, what: &str, example: &str) {
        let message = format!("{} has no `{key}`: {what}", self.heading);
        let note = Diagnostic::error(code::KEY_MISSING, self.span, message).help(format!("add `{example}`"));
        self.notes.push(note);
    }

    pub(crate) fn check_length(&mut self, key: &str, span: Span, length: usize) {
        if length > ENTRIES_MAX {
            let message = format!("`{key}` has {length} entries, of which {ENTRIES_MAX} are read");
            self.notes.push(
                Diagnostic::error(code::TOO_MANY_TO_READ, Span::new(span.start, span.start + 1), message)
                    .help("check that this is the file you meant"),
            );
        }
    }

    /// A list of names; empty when absent.
    pub(crate) fn names(&mut self, key: &'static str) -> Option<Vec<Name>> {
        let value = self.value(key)?;
        let span = Span::from(value.span());
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!("write {key} = [\"…\"]");
            self.wrong_kind(span, key, kind_of(value.get_ref()), "a list of names", help);
            return None;
        };
        self.check_length(key, span, items.len());
        Some(items.iter().take(ENTRIES_MAX).filter_map(|item| self.name_from(key, item)).collect())
    }

    /// The place of a key's value.
    pub(crate) fn place_of(&self, key: &str) -> Span {
        self.entries.get(key).map_or(self.span, |value| value.span().into())
    }

    /// Two names, as `one = ["a", "b"]`. None, with a note, when there are not exactly two.
    pub(crate) fn pair(&mut self, key: &'static str) -> Option<[Name; 2]> {
        if !self.has(key) {
            let what = self.row(key).map_or("", |row| row.says);
            self.asked.push(key);
            self.missing(key, what, &format!("{key} = [\"…\", \"…\"]"));
            return None;
        }
        let names = self.names(key)?;
        let count = names.len();
        match <[Name; 2]>::try_from(names) {
            Ok(pair) => Some(pair),
            Err(_) => {
                let span = self.place_of(key);
                let message = format!("`{key}` names {count} tracks, where two belong");
                let help = format!("write {key} = [\"left track\", \"right track\"]");
                self.notes.push(Diagnostic::error(code::VALUE_WRONG_KIND, span, message).help(help));
                None
            }
        }
    }

    /// One of a few words.
    pub(crate) fn choice<T: Copy>(&mut self, key: &'static str, choices: &[(&'static str, T)]) -> Option<T> {
        let value = self.value(key)?;
        let listed = self.row(key).map(|row| row.kind);
        debug_assert!(
            self.keys.is_none()
                || matches!(listed, Some(Kind::Choice(words)) if choices.iter().all(|(word, _)| words.contains(word))),
            "the words of `{key}` are others than those listed"
        );
        let span = Span::from(value.span());
        let words: Vec<String> = choices.iter().map(|(word, _)| format!("\"{word}\"")).collect();
        let help = format!("write {}", words.join(" or "));
        let DeValue::String(text) = value.get_ref() else {
            self.wrong_kind(span, key, kind_of(value.get_ref()), "one of a few words", help);
            return None;
        };
        if let Some((_, choice)) = choices.iter().find(|(word, _)| *word == text) {
            return Some(*choice);
        }
        let note = Diagnostic::error(code::CHOICE_UNKNOWN, span, format!("`{key}` cannot be `{text}`"));
        self.notes.push(match suggest(self.found(), text, choices.iter().map(|(word, _)| *word)) {
            Some(near) => {
                note.help(format!("did you mean \"{near}\"?")).replace(format!("\"{near}\""), Confidence::Ask)
            }
            None => note.help(help),
        });
        None
    }

    /// True or false.
    pub(crate) fn flag(&mut self, key: &'static str) -> Option<bool> {
        let value = self.value(key)?;
        if let DeValue::Boolean(flag) = value.get_ref() {
            return Some(*flag);
        }
        let help = format!("write {key} = true or {key} = false");
        self.wrong_kind(value.span().into(), key, kind_of(value.get_ref()), "true or false", help);
        None
    }

    /// A whole number in the range that is listed. `code` is what to call it when it lies outside.
    pub(crate) fn number(&mut self, key: &'static str, code: Code) -> Option<Spanned<u16>> {
        let range = match self.row(key).map(|row| row.kind) {
            Some(Kind::Whole(low, high)) => {
                u16::try_from(low).unwrap_or(u16::MAX)..=u16::try_from(high).unwrap_or(u16::MAX)
            }
            _ => 0..=u16::MAX,
        };
        self.number_within(key, range, code)
    }

    /// A whole number in a range.
    pub(crate) fn number_within(
        &mut self,
        key: &'static str,
        range: std::ops::RangeInclusive<u16>,
        code: Code,
    ) -> Option<Spanned<u16>> {
        let value = self.value(key)?;
        self.number_from(key, value, range, code)
    }

    fn number_from(
        &mut self,
        key: &str,
        value: &TomlSpanned<DeValue<'_>>,
        range: std::ops::RangeInclusive<u16>,
        code: Code,
    ) -> Option<Spanned<u16>> {
        let span = Span::from(value.span());
        let (low, high) = (*range.start(), *range.end());
        let help = format!("write a whole number from {low} to {high}");
        let DeValue::Integer(number) = value.get_ref() else {
            self.wrong_kind(span, key, kind_of(value.get_ref()), "a whole number", help);
            return None;
        };
        let read = u16::from_str_radix(&number.as_str().replace('_', ""), number.radix()).ok();
        match read.filter(|read| range.contains(read)) {
            Some(read) => Some(Spanned::new(read, span)),
            None => {
                let message = format!("`{key}` is {number}, which is not from {low} to {high}");
                self.notes.push(Diagnostic::error(code, span, message).help(help));
                None
            }
        }
    }

    /// A list of whole numbers in the range that is listed.
    pub(crate) fn numbers(&mut self, key: &'static str, code: Code) -> Vec<Spanned<u16>> {
        let range = match self.row(key).map(|row| row.kind) {
            Some(Kind::Wholes(low, high)) => low..=high,
            _ => 0..=u16::MAX,
        };
        self.numbers_within(key, range, code)
    }

    /// A list of whole numbers in a range.
    pub(crate) fn numbers_within(
        &mut self,
        key: &'static str,
        range: std::ops::RangeInclusive<u16>,
        code: Code,
    ) -> Vec<Spanned<u16>> {
        let Some(value) = self.value(key) else { return Vec::new() };
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!("write {key} = [2, 3]");
            self.wrong_kind(value.span().into(), key, kind_of(value.get_ref()), "a list of numbers", help);
            return Vec::new();
        };
        self.check_length(key, value.span().into(), items.len());
        let items = items.iter().take(ENTRIES_MAX);
        items.filter_map(|item| self.number_from(key, item, range.clone(), code)).collect()
    }

    /// A quantity with its unit, read by `read`; the listed example shows how one is written.
    pub(crate) fn quantity<T>(
        &mut self,
        key: &'static str,
        read: impl Fn(&str) -> Result<T, measure::ReadError>,
    ) -> Option<Spanned<T>> {
        self.quantity_such_as(key, self.example(key), read)
    }

    /// A quantity with its unit in a table whose keys are not listed.
    pub(crate) fn quantity_such_as<T>(
        &mut self,
        key: &'static str,
        example: &str,
        read: impl Fn(&str) -> Result<T, measure::ReadError>,
    ) -> Option<Spanned<T>> {
        let value = self.value(key)?;
        let span = Span::from(value.span());
        let Some(text) = value.get_ref().as_str() else {
            if value.get_ref().is_integer() || value.get_ref().is_float() {
                let message = format!("`{key}` is a bare number, so its unit is not known");
                self.notes.push(
                    Diagnostic::error(code::UNIT_MISSING, span, message).help(format!(
                        "write it with its unit and in quotation marks, such as \"{example}\""
                    )),
                );
            } else {
                let help = format!("write {key} = \"{example}\"");
                self.wrong_kind(span, key, kind_of(value.get_ref()), "a quantity with its unit", help);
            }
            return None;
        };
        match read(text) {
            Ok(quantity) => Some(Spanned::new(quantity, span)),
            Err(error) => {
                let code = match error.reason {
                    ReadReason::Empty | ReadReason::NotANumber(_) => code::QUANTITY_UNREADABLE,
                    ReadReason::UnitMissing(_) => code::UNIT_MISSING,
                    ReadReason::UnitUnknown(_) => code::UNIT_UNKNOWN,
                    ReadReason::Negative => code::QUANTITY_NEGATIVE,
                    ReadReason::TooLarge => code::QUANTITY_TOO_LARGE,
                };
                let mut units = error.units.clone();
                units.retain(|unit| !["\"", "'"].contains(unit));
                let units = units.join(", ");
                self.notes.push(
                    Diagnostic::error(code, span, format!("`{key}`: {error}"))
                        .help(format!("write it such as \"{example}\"; the units are {units}")),
                );
                None
            }
        }
    }

    /// Text or a date, as it is written.
    pub(crate) fn text_or_date(&mut self, key: &'static str) -> Option<String> {
        let value = self.value(key)?;
        if let DeValue::Datetime(date) = value.get_ref() {
            return Some(date.to_string());
        }
        self.name_from(key, value).map(|name| name.value)
    }

    /// How a value of this key is written, without quotation marks.
    pub(crate) fn example(&self, key: &str) -> &'static str {
        self.row(key).map_or("", crate::keys::Key::bare_example)
    }

    /// The table that each entry of a key is.
    fn inner(&self, key: &str) -> Option<&'static TableKeys> {
        match self.row(key)?.kind {
            Kind::Entry(keys) | Kind::Entries(keys) => Some(keys),
            Kind::Text
            | Kind::Date
            | Kind::Names
            | Kind::Pair
            | Kind::Lists
            | Kind::Flag
            | Kind::Choice(_)
            | Kind::Choices(_)
            | Kind::Whole(..)
            | Kind::Wholes(..)
            | Kind::Quantity(_)
            | Kind::Template
            | Kind::Levels => None,
        }
    }

    /// Each table of a list of tables, with its place.
    pub(crate) fn tables(&mut self, key: &'static str, mut read: impl FnMut(Table<'_, '_>)) {
        let Some(value) = self.value(key) else { return };
        let DeValue::Array(items) = value.get_ref() else {
            let help = format!("write {key} = {}", self.example(key));
            self.wrong_kind(value.span().into(), key, kind_of(value.get_ref()), "a list", help);
            return;
        };
        self.check_length(key, value.span().into(), items.len());
        for item in items.iter().take(ENTRIES_MAX) {
            let heading = format!("an entry of {}", self.heading);
            let keys = self.inner(key);
            if let Some(table) = Table::open(heading, item.span().into(), item, keys, self.notes) {
                read(table);
            }
        }
    }

    /// The table that stands as the value of a key.
    pub(super) fn nested(&mut self, key: &'static str, read: impl FnOnce(Table<'_, '_>)) {
        let Some(value) = self.value(key) else { return };
        if !value.get_ref().is_table() {
            let help = format!("write {key} = {}", self.example(key));
            self.wrong_kind(value.span().into(), key, kind_of(value.get_ref()), "a table in braces", help);
            return;
        }
        let heading = format!("`{key}` of {}", self.heading);
        let keys = self.inner(key);
        if let Some(table) = Table::open(heading, value.span().into(), value, keys, self.notes) {
            read(table);
        }
    }

    /// Takes back what was noted in this table and has its cause elsewhere.
    fn take_back(&mut self, follows: impl Fn(&Diagnostic) -> bool) {
        let noted = self.notes.list.split_off(self.since);
        self.notes.list.extend(noted.into_iter().filter(|note| !follows(note)));
    }

    /// Ends the reading: every key that nobody asked for is unknown.
    pub(crate) fn close(mut self) {
        for (key, value) in in_text_order(self.entries) {
            let name: &str = key.get_ref();
            if self.asked.contains(&name) {
                continue;
            }
            let heading = &self.heading;
            let note = Diagnostic::error(
                code::KEY_UNKNOWN,
                key.span().into(),
                format!("{heading} has no key `{name}`"),
            );
            let near =
                suggest(self.found(), name, self.asked.iter().copied().filter(|asked| !self.has(asked)));
            if let Some(near) = near {
                // The misspelt key is the one that seemed missing: one mistake, reported once.
                let missing = format!("no `{near}`");
                let span = self.span;
                self.take_back(|note| {
                    note.code == code::KEY_MISSING && note.span == span && note.message.contains(&missing)
                });
            } else if value.get_ref().is_table() {
                // The dot made a table within this one, and the keys that seem missing stand there.
                let span = self.span;
                self.take_back(|note| {
                    note.span == span && [code::KEY_MISSING, code::HAND_MISSING].contains(&note.code)
                });
            }
            self.notes.push(match near {
                Some(near) => note.help(format!("did you mean `{near}`?")).replace(near, Confidence::Ask),
                None if value.get_ref().is_table() => {
                    note.help("an id that holds a dot has to stand in quotation marks: [end.\"a.b\"]")
                }
                None => note.help(format!("its keys are {}", self.asked.join(", "))),
            });
        }
    }
}
