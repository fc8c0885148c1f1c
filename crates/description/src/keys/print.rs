//! The reference of the description as a page of Markdown, printed from the tables of keys.

use super::{Key, Kind, Quantity, TABLES, TableKeys, Without};
use measure::{
    Capacitance, Conductor, Current, Duration, Length, Price, ReadError, Resistance, Share, Voltage,
};
use std::fmt::Write as _;

const TOP: &str = "\
# The description, key by key

`layout.toml` says what is there, what you own and what you want. This page lists every table and every key. It is printed from the rows that the reader
itself goes by; `throwbar explain TABLE` prints the part of one table.

- Ids are your own words. An id that holds a space or a dot stands in quotation marks: `[end.\"team track\"]`.
- A quantity is text with its unit, such as `\"4 ft 6 in\"`. Metric and imperial mix freely. [Units](#units) lists what is understood.
- A track is named by what stands at its two ends, so every track name stands exactly twice.
- Order does not matter, except that of `[line.*]` tables and within lists.
- A key that is not listed is an error, with the nearest one that is. All mistakes of a file are told in one run.
";

/// The page of all tables; of one, where its name is given.
pub fn reference(only: Option<&TableKeys>) -> String {
    if let Some(table) = only {
        return section(table);
    }
    let mut page = TOP.to_owned();
    for table in TABLES {
        page.push('\n');
        page.push_str(&section(table));
    }
    page.push_str("\n## Units\n\n| quantity | units |\n|---|---|\n");
    for quantity in QUANTITIES {
        let _ = writeln!(page, "| {} | {} |", quantity.words(), quantity.units().join(", "));
    }
    page
}

const QUANTITIES: [Quantity; 9] = [
    Quantity::Length,
    Quantity::Current,
    Quantity::Voltage,
    Quantity::Resistance,
    Quantity::Capacitance,
    Quantity::Conductor,
    Quantity::Share,
    Quantity::Duration,
    Quantity::Price,
];

impl Quantity {
    /// What it is called in the reference.
    fn words(self) -> &'static str {
        match self {
            Self::Length => "length",
            Self::Current => "current",
            Self::Voltage => "voltage",
            Self::Resistance => "resistance",
            Self::Capacitance => "capacitance",
            Self::Conductor => "conductor size",
            Self::Share => "share",
            Self::Duration => "time",
            Self::Price => "price",
        }
    }

    /// The units that its reader tells of when it is given none.
    fn units(self) -> Vec<String> {
        fn told<T>(read: fn(&str) -> Result<T, ReadError>) -> Vec<&'static str> {
            read("?").err().map(|error| error.units).unwrap_or_default()
        }
        let units = match self {
            Self::Length => told(Length::read),
            Self::Current => told(Current::read),
            Self::Voltage => told(Voltage::read),
            Self::Resistance => told(Resistance::read),
            Self::Capacitance => told(Capacitance::read),
            Self::Conductor => told(Conductor::read),
            Self::Share => told(Share::read),
            Self::Duration => told(Duration::read),
            Self::Price => told(Price::read),
        };
        units.into_iter().map(|unit| format!("`{unit}`")).collect()
    }
}

fn section(table: &TableKeys) -> String {
    let mut text = format!("## {}\n\n`{}` {}\n", table.name, table.heading(), table.says);
    text.push_str(&rows(table));
    text.push_str(&example(table));
    for key in table.keys {
        if let Kind::Entry(inner) | Kind::Entries(inner) = key.kind
            && inner.name == key.name
        {
            let _ = writeln!(text, "\nWithin `{}` of `{}`:", key.name, table.heading());
            text.push_str(&rows(inner));
        }
    }
    text
}

fn rows(table: &TableKeys) -> String {
    let mut text = String::from("\n| key | what | value | without it |\n|---|---|---|---|\n");
    for key in table.keys {
        let mut says = key.says.to_owned();
        if !key.only.is_empty() {
            let kinds: Vec<String> = key.only.iter().map(|kind| format!("`\"{kind}\"`")).collect();
            let _ = write!(says, "; only of kind {}", kinds.join(", "));
        }
        let without = match key.without {
            Without::Needed => "**needed**",
            Without::Usual(value) => &format!("`{value}`"),
            Without::Open(words) => words,
        };
        let _ = writeln!(text, "| `{}` | {says} | {} | {without} |", key.name, value(key));
    }
    text
}

/// How a value is written, in words.
fn value(key: &Key) -> String {
    let words = |words: &[&str]| {
        let quoted: Vec<String> = words.iter().map(|word| format!("`\"{word}\"`")).collect();
        quoted.join(", ")
    };
    match key.kind {
        Kind::Text => "text".to_owned(),
        Kind::Date => "text or date".to_owned(),
        Kind::Names => "list of names".to_owned(),
        Kind::Pair => "two names".to_owned(),
        Kind::Lists => "list of lists of names".to_owned(),
        Kind::Flag => "`true`, `false`".to_owned(),
        Kind::Choice(choices) => words(choices),
        Kind::Choices(choices) => format!("list of {}", words(choices)),
        Kind::Whole(low, high) => format!("{low} to {high}"),
        Kind::Wholes(low, high) => format!("list of {low} to {high}"),
        Kind::Quantity(quantity) => format!("{}, such as `{}`", quantity.words(), key.example),
        Kind::Template => format!("text with fields in braces, such as `{}`", key.example),
        Kind::Entry(_) => "a table in braces".to_owned(),
        Kind::Entries(_) => "list of tables in braces".to_owned(),
        Kind::Levels => format!("names with whole numbers, such as `{}`", key.example),
    }
}

/// The table with every key that its first kind has, as it can be pasted.
fn example(table: &TableKeys) -> String {
    let kind = table.key("kind").map(|key| key.example.trim_matches('"'));
    let heading = if table.many { format!("[{}.{}]", table.name, id(table.name)) } else { table.heading() };
    let mut text = format!("\n```toml\n{heading}\n");
    for key in table.keys {
        if key.only.is_empty() || kind.is_some_and(|kind| key.only.contains(&kind)) {
            let _ = writeln!(text, "{} = {}", key.name, key.example);
        }
    }
    text.push_str("```\n");
    text
}

/// An id for an example.
fn id(table: &str) -> &'static str {
    match table {
        "end" => "west",
        "track" => "\"main 1\"",
        "line" => "main",
        "place" => "\"bay 1\"",
        "part" => "\"my decoder\"",
        "panel" => "fascia",
        "bus" => "track",
        "light" => "depot",
        "signal" => "S1",
        "link" => "all",
        "route" => "departure",
        "lever" => "\"harbor gate\"",
        _ => "1",
    }
}
