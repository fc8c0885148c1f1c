//! Conductor sizes, American (`14 AWG`) and metric (`1.5 mm2`).

use crate::read::{ReadError, ReadReason};
use std::fmt;

/// The size of a conductor, as it is sold.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Conductor {
    /// An American gauge number from 0 to 40.
    Awg(u8),
    /// A cross-section in square millimetres.
    SquareMm(f64),
}

const UNITS: [&str; 2] = ["AWG", "mm2"];
const AWG_MAX: u8 = 40;

impl Conductor {
    /// Reads a conductor size as a builder writes it.
    ///
    /// # Errors
    /// No unit, a unit that is neither `AWG` nor `mm2`, no number, or a size that is not made.
    ///
    /// # Example
    /// ```
    /// use measure::Conductor;
    /// assert_eq!(Conductor::read("14 AWG").unwrap(), Conductor::Awg(14));
    /// assert!(Conductor::read("14").is_err());
    /// ```
    pub fn read(text: &str) -> Result<Self, ReadError> {
        let fail = |reason| ReadError { kind: "conductor size", units: UNITS.to_vec(), reason };
        let text = text.trim();
        let cut = text.find(|c: char| !(c.is_ascii_digit() || c == '.' || c == '-')).unwrap_or(text.len());
        let (number, unit) = text.split_at(cut);
        if number.is_empty() {
            let reason =
                if unit.is_empty() { ReadReason::Empty } else { ReadReason::NotANumber(unit.to_owned()) };
            return Err(fail(reason));
        }
        let not_a_number = || fail(ReadReason::NotANumber(number.to_owned()));
        match unit.trim() {
            "" => Err(fail(ReadReason::UnitMissing(number.to_owned()))),
            "AWG" => match number.parse::<u8>() {
                Ok(gauge) if gauge <= AWG_MAX => Ok(Self::Awg(gauge)),
                Ok(_) => Err(fail(ReadReason::TooLarge)),
                Err(_) => Err(not_a_number()),
            },
            "mm2" | "mm²" => match number.parse::<f64>() {
                Ok(area) if area > 0.0 && area <= 1000.0 => Ok(Self::SquareMm(area)),
                Ok(area) if area > 1000.0 => Err(fail(ReadReason::TooLarge)),
                Ok(_) => Err(fail(ReadReason::Negative)),
                Err(_) => Err(not_a_number()),
            },
            other => Err(fail(ReadReason::UnitUnknown(other.to_owned()))),
        }
    }
}

impl fmt::Display for Conductor {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Awg(gauge) => write!(f, "{gauge} AWG"),
            Self::SquareMm(area) => write!(f, "{area} mm²"),
        }
    }
}
