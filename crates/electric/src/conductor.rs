//! What a conductor does: its resistance at a temperature, out and return told apart, and what it may carry.
//!
//! # Source
//! AWG: diameter by ASTM B258, 0.127 mm · 92^((36−n)/39); annealed copper 1.7241e-8 Ω·m and 0.00393 per K at 20 °C
//! (International Annealed Copper Standard). Metric: the greatest resistance that IEC 60228 allows in class 5 (flexible), read
//! from two public tables that agree, sizes past 4 mm² from memory; 0.14, 0.25 and 0.34 mm² from a cable maker's table headed VDE
//! 0295, uncertain by 7 %. Other metric sizes: copper's own resistance and 15 %, which no row of the table exceeds.

use measure::{Conductor, Current, Length};

/// Resistivity of annealed copper at 20 °C.
pub const COPPER_OHM_M: f64 = 1.7241e-8;

/// By how much copper's resistance grows for each kelvin, of that at 20 °C.
pub const COPPER_PER_K: f64 = 0.003_93;

/// The 39th root of 92: one gauge number is this much in diameter.
const AWG_STEP: f64 = 1.122_932_196_532_281_4;

/// Ohms per kilometre at 20 °C by cross-section in mm².
const METRIC: [(f64, f64); 12] = [
    (0.14, 138.0),
    (0.25, 79.0),
    (0.34, 57.0),
    (0.5, 39.0),
    (0.75, 26.0),
    (1.0, 19.5),
    (1.5, 13.3),
    (2.5, 7.98),
    (4.0, 4.95),
    (6.0, 3.30),
    (10.0, 1.91),
    (16.0, 1.21),
];

/// What a flexible cord may carry, by cross-section in mm².
const CORDS: [(f64, f64); 6] = [(0.5, 3.0), (0.75, 6.0), (1.0, 10.0), (1.5, 16.0), (2.5, 25.0), (4.0, 32.0)];

/// What a small conductor may be fused for, by gauge.
const SMALL_AWG: [(u8, f64); 5] = [(18, 7.0), (16, 10.0), (14, 15.0), (12, 20.0), (10, 30.0)];

/// Below all tables: amperes for each mm².
const AMPS_PER_MM2: f64 = 6.0;

/// How many conductors a length counts for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Wires {
    /// One conductor.
    One,
    /// The current comes back through a second conductor like it.
    OutAndReturn,
}

/// Cross-section of the copper in mm².
pub fn area_mm2(conductor: Conductor) -> f64 {
    match conductor {
        Conductor::Awg(gauge) => {
            let mut mm = 0.127;
            for _ in gauge..36 {
                mm *= AWG_STEP;
            }
            for _ in 36..gauge {
                mm /= AWG_STEP;
            }
            std::f64::consts::FRAC_PI_4 * mm * mm
        }
        Conductor::SquareMm(area) => area,
    }
}

/// Ohms of one metre of one conductor at this temperature in °C.
///
/// # Example
/// ```
/// use electric::ohm_per_m;
/// use measure::Conductor;
/// let a_thousand_feet = 304.8 * ohm_per_m(Conductor::Awg(14), 20.0);
/// assert!((a_thousand_feet - 2.525).abs() < 0.001);
/// ```
pub fn ohm_per_m(conductor: Conductor, celsius: f64) -> f64 {
    let at_20 = match conductor {
        Conductor::Awg(_) => COPPER_OHM_M / (area_mm2(conductor) * 1e-6),
        Conductor::SquareMm(area) => METRIC
            .iter()
            .find(|(listed, _)| (listed - area).abs() < 1e-9)
            .map_or(1.15 * COPPER_OHM_M / (area * 1e-6), |(_, per_km)| per_km / 1000.0),
    };
    at_20 * (1.0 + COPPER_PER_K * (celsius - 20.0))
}

/// Ohms of a run of this length: the loop's where the current comes back through a second conductor.
pub fn run_ohms(conductor: Conductor, length: Length, wires: Wires, celsius: f64) -> f64 {
    let count = match wires {
        Wires::One => 1.0,
        Wires::OutAndReturn => 2.0,
    };
    count * length.value() * ohm_per_m(conductor, celsius)
}

/// What a conductor may carry for good, as guidance: a fuse at or below it protects the conductor.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Ampacity {
    /// The current.
    pub current: Current,
    /// Where the figure comes from.
    pub source: &'static str,
}

/// Guidance on what a conductor may carry. No figure here replaces the cable maker's.
pub fn ampacity(conductor: Conductor) -> Ampacity {
    let density = Ampacity {
        current: Current::new(AMPS_PER_MM2 * area_mm2(conductor)),
        source: "6 A for each mm² of copper: common practice, no source",
    };
    match conductor {
        Conductor::Awg(gauge) => {
            // A thicker conductor carries no less than the thickest one in the table.
            let listed = SMALL_AWG.iter().rev().find(|(listed, _)| *listed >= gauge);
            listed.map_or(density, |&(_, amps)| Ampacity {
                current: Current::new(amps),
                source: "greatest fuse for small conductors, NEC 240.4(D), from memory",
            })
        }
        Conductor::SquareMm(area) => {
            let listed = CORDS.iter().rev().find(|(listed, _)| *listed <= area + 1e-9);
            listed.map_or(density, |&(_, amps)| Ampacity {
                current: Current::new(amps),
                source: "cords by cross-section, EN 60335-1 table 11, from memory",
            })
        }
    }
}
