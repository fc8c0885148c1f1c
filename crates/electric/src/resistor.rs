//! The resistor before a lamp that wants a current: ohms, the value to buy, and the heat in it.

use crate::preferred::e24_at_or_above;

/// What a series resistor has to do.
///
/// # Units
/// Volts and amperes.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct LedString {
    /// Of the supply.
    pub supply_volts: f64,
    /// Lost elsewhere: in a bridge rectifier 1.4 V.
    pub other_drop_volts: f64,
    /// Across each LED.
    pub led_volts: f64,
    /// LEDs in series.
    pub led_count: u32,
    /// Wanted through them.
    pub amps: f64,
}

/// The resistor to buy.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct SeriesResistor {
    /// What would be exact.
    pub ideal_ohms: f64,
    /// The first value of E24 at or above it: never more current than wanted.
    pub ohms: f64,
    /// The current with it.
    pub amps: f64,
    /// The heat in it.
    pub watts: f64,
    /// The rating to buy: at least twice the heat (common practice, no source).
    pub rated_watts: f64,
}

/// Ratings that are sold, in watts (common practice, no source).
const RATINGS_W: [f64; 7] = [0.125, 0.25, 0.5, 1.0, 2.0, 5.0, 10.0];

impl LedString {
    /// The resistor to put in series; none if the supply does not reach the LEDs, the current is not above zero, or the heat is
    /// past what a resistor is made for.
    pub fn resistor(self) -> Option<SeriesResistor> {
        let left = self.supply_volts - self.other_drop_volts - f64::from(self.led_count) * self.led_volts;
        if !left.is_finite() || left <= 0.0 || !self.amps.is_finite() || self.amps <= 0.0 {
            return None;
        }
        let ideal_ohms = left / self.amps;
        let ohms = e24_at_or_above(ideal_ohms)?;
        let amps = left / ohms;
        let watts = left * amps;
        let rated_watts = RATINGS_W.into_iter().find(|&rating| rating >= 2.0 * watts)?;
        Some(SeriesResistor { ideal_ohms, ohms, amps, watts, rated_watts })
    }
}
