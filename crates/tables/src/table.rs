//! A table: a title, columns with their units, rows of cells.

use measure::Units;

/// The most rows of one table; the rest is counted. A workbook could hold some more, a person could not.
pub const ROWS_MAX: usize = 100_000;

/// What a column counts in.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Unit {
    /// Nothing: words or plain numbers.
    None,
    /// Metres.
    Metres,
    /// Feet; cells are kept in metres all the same.
    Feet,
}

impl Unit {
    /// The unit of lengths for people of these units.
    pub fn of_lengths(units: Units) -> Self {
        match units {
            Units::Metric => Self::Metres,
            Units::Imperial => Self::Feet,
        }
    }

    /// How it is written; none where there is none.
    pub fn word(self) -> Option<&'static str> {
        match self {
            Self::None => None,
            Self::Metres => Some("m"),
            Self::Feet => Some("ft"),
        }
    }

    /// A length in metres as a number of this unit, to the thousandth.
    pub fn of_metres(self, metres: f64) -> f64 {
        let amount = match self {
            Self::None | Self::Metres => metres,
            Self::Feet => metres / 0.3048,
        };
        (amount * 1000.0).round() / 1000.0
    }
}

/// One column.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Column {
    /// Its member in JSON, without a unit.
    pub member: &'static str,
    /// Its head.
    pub head: &'static str,
    /// What its numbers count in.
    pub unit: Unit,
}

impl Column {
    /// The head with its unit.
    pub fn full_head(&self) -> String {
        match self.unit.word() {
            Some(unit) => format!("{} ({unit})", self.head),
            None => self.head.to_owned(),
        }
    }
}

/// One cell.
#[derive(Clone, Debug, PartialEq)]
pub enum Cell {
    /// Nothing.
    Empty,
    /// Words.
    Text(String),
    /// A count, a number or an address.
    Whole(i64),
    /// A length in metres.
    Length(f64),
    /// A number that may have a fraction.
    Decimal(f64),
}

impl From<&str> for Cell {
    fn from(text: &str) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text.to_owned()) }
    }
}

impl From<String> for Cell {
    fn from(text: String) -> Self {
        if text.is_empty() { Self::Empty } else { Self::Text(text) }
    }
}

impl From<&String> for Cell {
    fn from(text: &String) -> Self {
        Self::from(text.as_str())
    }
}

impl From<&[String]> for Cell {
    fn from(words: &[String]) -> Self {
        Self::from(words.join("; "))
    }
}

impl From<u16> for Cell {
    fn from(number: u16) -> Self {
        Self::Whole(number.into())
    }
}

impl From<u32> for Cell {
    fn from(number: u32) -> Self {
        Self::Whole(number.into())
    }
}

impl From<usize> for Cell {
    fn from(number: usize) -> Self {
        Self::Whole(i64::try_from(number).unwrap_or(i64::MAX))
    }
}

impl<T> From<Option<T>> for Cell
where
    Self: From<T>,
{
    fn from(value: Option<T>) -> Self {
        value.map_or(Self::Empty, Self::from)
    }
}

/// A table.
#[derive(Clone, Debug, PartialEq)]
pub struct Table {
    /// Its name in files: lower case, words joined by hyphens.
    pub name: &'static str,
    /// What stands above it, at most 31 letters, so that a workbook can have it on a tab.
    pub title: &'static str,
    /// Its columns.
    pub columns: Vec<Column>,
    /// Its rows, each with a cell for every column.
    pub rows: Vec<Vec<Cell>>,
    /// How many rows there are beyond [`ROWS_MAX`].
    pub left_out: usize,
}

impl Table {
    /// A table of these columns: each its member in JSON and its head.
    pub(crate) fn new<const N: usize>(
        name: &'static str,
        title: &'static str,
        columns: [(&'static str, &'static str); N],
        rows: impl Iterator<Item = [Cell; N]>,
    ) -> Self {
        let columns = columns.map(|(member, head)| Column { member, head, unit: Unit::None });
        let mut table = Self { name, title, columns: columns.into(), rows: Vec::new(), left_out: 0 };
        for row in rows {
            if table.rows.len() < ROWS_MAX {
                table.rows.push(row.into());
            } else {
                table.left_out += 1;
            }
        }
        table
    }

    /// The same with a unit for its columns of lengths.
    pub(crate) fn with_lengths(mut self, members: &[&str], units: Units) -> Self {
        for column in self.columns.iter_mut().filter(|column| members.contains(&column.member)) {
            column.unit = Unit::of_lengths(units);
        }
        self
    }
}
