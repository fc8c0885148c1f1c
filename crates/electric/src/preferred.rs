//! Preferred values: the resistors and fuses that can be bought.
//!
//! # Source
//! Resistors: IEC 60063, series E24. Fuse links: the R10 row of IEC 60127-1 annex A, 315 mA to 10 A seen in a published copy, the
//! lower ones from memory. Blade fuses: ISO 8820-3, from memory.

use measure::Current;

/// One decade of series E24.
pub const E24: [f64; 24] = [
    1.0, 1.1, 1.2, 1.3, 1.5, 1.6, 1.8, 2.0, 2.2, 2.4, 2.7, 3.0, 3.3, 3.6, 3.9, 4.3, 4.7, 5.1, 5.6, 6.2, 6.8,
    7.5, 8.2, 9.1,
];

/// Fuse links of IEC 60127, in milliamperes.
pub const FUSE_LINKS_MA: [f64; 26] = [
    32.0, 40.0, 50.0, 63.0, 80.0, 100.0, 125.0, 160.0, 200.0, 250.0, 315.0, 400.0, 500.0, 630.0, 800.0,
    1000.0, 1250.0, 1600.0, 2000.0, 2500.0, 3150.0, 4000.0, 5000.0, 6300.0, 8000.0, 10000.0,
];

/// Blade fuses of ISO 8820-3, in amperes.
pub const BLADES_A: [f64; 11] = [1.0, 2.0, 3.0, 4.0, 5.0, 7.5, 10.0, 15.0, 20.0, 25.0, 30.0];

/// Which kind of fuse.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fuse {
    /// A glass or ceramic link, 5 × 20 mm (IEC 60127).
    Link,
    /// A blade fuse (ISO 8820-3).
    Blade,
}

impl Fuse {
    fn steps(self) -> Vec<f64> {
        match self {
            Self::Link => FUSE_LINKS_MA.iter().map(|ma| ma / 1000.0).collect(),
            Self::Blade => BLADES_A.to_vec(),
        }
    }

    /// The smallest fuse that holds this current, if one is made.
    pub fn at_or_above(self, current: Current) -> Option<Current> {
        let near = current.value() * (1.0 - 1e-9);
        self.steps().into_iter().find(|&step| step >= near).map(Current::new)
    }

    /// The largest fuse that does not pass this current, if one is made.
    pub fn at_or_below(self, current: Current) -> Option<Current> {
        let near = current.value() * (1.0 + 1e-9);
        self.steps().into_iter().rev().find(|&step| step <= near).map(Current::new)
    }
}

/// The smallest resistor of series E24 that has at least this many ohms; none for what is not a positive number.
pub fn e24_at_or_above(ohms: f64) -> Option<f64> {
    if !ohms.is_finite() || ohms <= 0.0 || ohms > 1e12 {
        return None;
    }
    let near = ohms * (1.0 - 1e-9);
    let mut decade = 1e-3;
    while decade * 10.0 <= near {
        decade *= 10.0;
    }
    E24.iter().map(|step| step * decade).find(|&value| value >= near).or(Some(10.0 * decade)).map(tidy)
}

/// The resistor of series E24 nearest by ratio; none for what is not a positive number.
pub fn e24_nearest(ohms: f64) -> Option<f64> {
    let above = e24_at_or_above(ohms)?;
    let mut below = None;
    let mut decade = 1e-4;
    while decade <= above {
        below = E24.iter().map(|step| tidy(step * decade)).rfind(|&value| value < above).or(below);
        decade *= 10.0;
    }
    match below {
        Some(below) if ohms / below < above / ohms => Some(below),
        Some(_) | None => Some(above),
    }
}

/// Without the last bits that products of decimals leave.
fn tidy(value: f64) -> f64 {
    format!("{value:.4}").parse().unwrap_or(value)
}
