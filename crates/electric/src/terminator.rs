//! A resistor and a capacitor across the end of a bus, which damp what the edges of the signal set ringing; and how fast a
//! short rises in a bus with inductance.
//!
//! # Source
//! A first-order circuit on a square wave, by hand: in each half period the capacitor swings by 2·V·tanh(h / 2RC), and the
//! resistor takes C·V·that at each edge.

use crate::growth::{exp, ln};

/// A resistor and a capacitor in series across a bus.
///
/// # Units
/// Ohms and farads.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Terminator {
    /// The resistor.
    pub ohms: f64,
    /// The capacitor.
    pub farads: f64,
}

/// What the resistor goes through.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Dissipation {
    /// Heat in the resistor.
    pub watts: f64,
    /// The current just after an edge.
    pub peak_amps: f64,
}

impl Terminator {
    /// The heat on a square wave of plus and minus `volts` whose halves last `half_period_s`. The shortest half period is the
    /// worst: 58 µs in a DCC one bit (NMRA S-9.1, from memory).
    pub fn dissipation(self, volts: f64, half_period_s: f64) -> Dissipation {
        let fade = exp(-half_period_s / (self.ohms * self.farads));
        // tanh(h / 2RC) by the exponential of h / RC.
        let swing = (1.0 - fade) / (1.0 + fade);
        Dissipation {
            watts: 2.0 * self.farads * volts * volts * swing / half_period_s,
            peak_amps: 2.0 * volts / self.ohms / (1.0 + fade),
        }
    }
}

/// Seconds until a dead short in a bus with this loop resistance and inductance draws `amps`; none if it never does.
pub fn short_rise_s(volts: f64, loop_ohms: f64, loop_henry: f64, amps: f64) -> Option<f64> {
    let full = volts / loop_ohms;
    (amps < full).then(|| -loop_henry / loop_ohms * ln(1.0 - amps / full))
}
