//! Reading a quantity: one or more terms of a number and a unit, such as `4 ft 6 in`.

use std::fmt;

/// Why a text is not a quantity of the kind that was asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct ReadError {
    /// What kind of quantity was expected, as a noun: `length`.
    pub kind: &'static str,
    /// The units that would do, in the order to suggest them.
    pub units: Vec<&'static str>,
    /// What is wrong with the text.
    pub reason: ReadReason,
}

/// The ways in which a text fails to be a quantity.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum ReadReason {
    /// Nothing but space.
    Empty,
    /// A number stands where a number and a unit belong.
    UnitMissing(String),
    /// The unit is not one of this kind.
    UnitUnknown(String),
    /// This part of the text is not a number.
    NotANumber(String),
    /// The value is below zero.
    Negative,
    /// The value is too large to be meant.
    TooLarge,
}

impl fmt::Display for ReadError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let kind = self.kind;
        match &self.reason {
            ReadReason::Empty => write!(f, "the text is empty where a {kind} belongs"),
            ReadReason::UnitMissing(number) => {
                write!(f, "`{number}` has no unit, so the {kind} is not known")
            }
            ReadReason::UnitUnknown(unit) => write!(f, "`{unit}` is not a unit of {kind}"),
            ReadReason::NotANumber(text) => write!(f, "`{text}` is not a number"),
            ReadReason::Negative => write!(f, "a {kind} is not below zero"),
            ReadReason::TooLarge => write!(f, "this {kind} is too large to be meant"),
        }
    }
}

impl std::error::Error for ReadError {}

/// Values above this are a slip of the pen, and sums of them could leave the finite numbers.
const VALUE_MAX: f64 = 1e9;

/// Sums the terms of `text`, each a number and one of `table`'s units, in the base unit.
pub(crate) fn sum_of_terms(
    text: &str,
    kind: &'static str,
    table: &[(&'static str, f64)],
) -> Result<f64, ReadError> {
    let fail = |reason| ReadError { kind, units: table.iter().map(|(unit, _)| *unit).collect(), reason };
    let mut rest = text.trim();
    if rest.is_empty() {
        return Err(fail(ReadReason::Empty));
    }
    let mut sum = 0.0;
    while !rest.is_empty() {
        let number_len = rest
            .find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-' || c == '+'))
            .unwrap_or(rest.len());
        let (number_text, after) = rest.split_at(number_len);
        let number: f64 = number_text.parse().map_err(|_| fail(ReadReason::NotANumber(rest.to_owned())))?;
        let after = after.trim_start();
        let unit_len = after
            .find(|c: char| c.is_whitespace() || c.is_ascii_digit() || c == '-' || c == '+')
            .unwrap_or(after.len());
        let (unit, after) = after.split_at(unit_len);
        if unit.is_empty() {
            return Err(fail(ReadReason::UnitMissing(number_text.to_owned())));
        }
        let Some((_, factor)) = table.iter().find(|(name, _)| *name == unit) else {
            return Err(fail(ReadReason::UnitUnknown(unit.to_owned())));
        };
        if number < 0.0 {
            return Err(fail(ReadReason::Negative));
        }
        sum += number * factor;
        if !sum.is_finite() || sum > VALUE_MAX {
            return Err(fail(ReadReason::TooLarge));
        }
        rest = after.trim_start();
    }
    Ok(sum)
}
