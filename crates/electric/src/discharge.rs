//! A capacitor that is emptied into the coils of turnout machines: what it holds, what a coil gets, how many coils a burst
//! may have, and how long to wait for the next.
//!
//! Capacitor, wiring and coil are a series circuit of R, L and C, whose current has a closed form in each of its three cases.
//!
//! # Source
//! The series RLC circuit of any textbook: i = V/(L(s₁−s₂))·(e^(s₁t) − e^(s₂t)) when overdamped.

use crate::growth::{arc_tangent, exp, ln, sine_cosine};

/// A capacitor charged and about to be emptied into a coil.
///
/// # Units
/// Farads, volts, ohms, henries.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Discharge {
    /// The capacitor.
    pub farads: f64,
    /// What it is charged to.
    pub volts: f64,
    /// The coil, or several in parallel as one.
    pub coil_ohms: f64,
    /// Its inductance.
    pub coil_henry: f64,
    /// Out and return.
    pub wiring_ohms: f64,
    /// Inside the capacitor.
    pub inner_ohms: f64,
}

/// What a discharge does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pulse {
    /// ½CV².
    pub stored_joules: f64,
    /// The share of it that the coil gets.
    pub coil_joules: f64,
    /// The greatest current.
    pub peak_amps: f64,
    /// When.
    pub peak_s: f64,
}

/// ½CV² in joules.
pub fn stored_joules(farads: f64, volts: f64) -> f64 {
    0.5 * farads * volts * volts
}

impl Discharge {
    fn ohms(self) -> f64 {
        self.coil_ohms + self.wiring_ohms + self.inner_ohms
    }

    /// What the coil goes through.
    pub fn pulse(self) -> Pulse {
        let stored = stored_joules(self.farads, self.volts);
        let ohms = self.ohms();
        let (peak_amps, peak_s) = self.peak();
        Pulse { stored_joules: stored, coil_joules: stored * self.coil_ohms / ohms, peak_amps, peak_s }
    }

    fn peak(self) -> (f64, f64) {
        let (ohms, henry) = (self.ohms(), self.coil_henry);
        if henry <= 0.0 {
            return (self.volts / ohms, 0.0);
        }
        let damping = ohms / (2.0 * henry);
        let natural = 1.0 / (henry * self.farads);
        let apart = damping * damping - natural;
        let peak_s = if apart > 1e-9 * natural {
            let root = apart.sqrt();
            ln((damping + root) / (damping - root)) / (2.0 * root)
        } else if apart < -1e-9 * natural {
            let turning = (-apart).sqrt();
            arc_tangent(turning / damping) / turning
        } else {
            1.0 / damping
        };
        (self.amps_at(peak_s), peak_s)
    }

    /// The current this long after closing.
    pub fn amps_at(self, seconds: f64) -> f64 {
        let (ohms, henry) = (self.ohms(), self.coil_henry);
        if henry <= 0.0 {
            return self.volts / ohms * exp(-seconds / (ohms * self.farads));
        }
        let damping = ohms / (2.0 * henry);
        let natural = 1.0 / (henry * self.farads);
        let apart = damping * damping - natural;
        if apart > 1e-9 * natural {
            let root = apart.sqrt();
            // The slow root as a quotient, so that it does not come from a small difference.
            let (slow, fast) = (-natural / (damping + root), -(damping + root));
            self.volts / (2.0 * henry * root) * (exp(slow * seconds) - exp(fast * seconds))
        } else if apart < -1e-9 * natural {
            let turning = (-apart).sqrt();
            let (sine, _) = sine_cosine(turning * seconds);
            self.volts / (turning * henry) * exp(-damping * seconds) * sine
        } else {
            self.volts / henry * seconds * exp(-damping * seconds)
        }
    }

    /// How many coils of this kind one burst may have, thrown together in parallel, so that each gets at least `joules`.
    pub fn coils_per_burst(self, joules: f64) -> u32 {
        let enough = |count: u32| {
            let many = Self { coil_ohms: self.coil_ohms / f64::from(count), ..self };
            many.pulse().coil_joules / f64::from(count) >= joules
        };
        (1..=COILS_MAX).take_while(|&count| enough(count)).last().unwrap_or(0)
    }
}

/// More coils than this are thrown by no burst.
const COILS_MAX: u32 = 1_000;

/// A capacitor charged through a resistor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Recharge {
    /// The capacitor.
    pub farads: f64,
    /// What it is charged from.
    pub volts: f64,
    /// Between the two.
    pub ohms: f64,
}

impl Recharge {
    /// RC.
    pub fn time_constant_s(self) -> f64 {
        self.ohms * self.farads
    }

    /// Seconds from empty until it holds this share of the full voltage, below 1.
    pub fn seconds_to(self, share: f64) -> f64 {
        -self.time_constant_s() * ln(1.0 - share)
    }

    /// Volts after this long, from empty.
    pub fn volts_after(self, seconds: f64) -> f64 {
        self.volts * (1.0 - exp(-seconds / self.time_constant_s()))
    }

    /// The greatest charging current: the first.
    pub fn peak_amps(self) -> f64 {
        self.volts / self.ohms
    }
}

/// Seconds to charge at a constant current.
pub fn seconds_at_constant(farads: f64, volts: f64, amps: f64) -> f64 {
    farads * volts / amps
}
