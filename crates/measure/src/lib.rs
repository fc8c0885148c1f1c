//! Quantities with units: what a builder writes (`"4 ft 6 in"`, `"18 mA"`, `"14 AWG"`), what the tool reckons with,
//! and what it prints.
//!
//! Every quantity is a type of its own, so that volts are never added to metres. A bare number where a unit belongs is
//! refused with the units that would do. Values are kept in the base unit of the kind; mixed units in one text
//! (`"4 ft 6 in"`) are summed. Nothing here knows what a quantity is used for.
//!
//! # Source
//! Inch and foot: the international inch of 25.4 mm (1959 agreement, ISO 31-1). AWG sizes: ASTM B258, the geometric
//! progression from 0000 (0.46 in) to 36 (0.005 in) in 39 steps.

mod conductor;
mod read;

pub use conductor::Conductor;
pub use read::{ReadError, ReadReason};

/// Which system of units a sheet is printed in.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum Units {
    /// Metres and centimetres; A4 paper.
    #[default]
    Metric,
    /// Feet and inches; Letter paper.
    Imperial,
}

macro_rules! quantity {
    ($(#[$doc:meta])* $name:ident, $base:literal, $noun:literal, $table:expr) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, PartialOrd)]
        pub struct $name(f64);

        impl $name {
            #[doc = concat!("The quantity that is this many ", $base, ".")]
            pub fn new(value: f64) -> Self {
                Self(value)
            }

            #[doc = concat!("The value in ", $base, ".")]
            pub fn value(self) -> f64 {
                self.0
            }

            #[doc = concat!("Reads a ", $noun, " as a builder writes it.")]
            ///
            /// # Errors
            /// No unit, an unknown unit, no number, a value that is not finite, or a negative one.
            pub fn read(text: &str) -> Result<Self, ReadError> {
                read::sum_of_terms(text, $noun, $table).map(Self)
            }
        }
    };
}

quantity!(
    /// A length along track, bench or wire.
    Length, "metres", "length",
    &[
        ("mm", 0.001), ("cm", 0.01), ("m", 1.0), ("in", 0.0254), ("\"", 0.0254), ("ft", 0.3048), ("'", 0.3048),
        ("yd", 0.9144),
    ]
);
quantity!(
    /// An electric current.
    Current, "amperes", "current", &[("A", 1.0), ("mA", 0.001)]
);
quantity!(
    /// A voltage.
    Voltage, "volts", "voltage", &[("V", 1.0), ("mV", 0.001)]
);
quantity!(
    /// An electric resistance.
    Resistance, "ohms", "resistance", &[("ohm", 1.0), ("Ω", 1.0), ("mohm", 0.001), ("mΩ", 0.001)]
);
quantity!(
    /// What a length of something costs, in whatever money: `0.55 /m`.
    Price, "money for a metre", "price", &[("/m", 1.0), ("/ft", 1.0 / 0.3048)]
);
quantity!(
    /// A span of time.
    Duration, "seconds", "time", &[("s", 1.0), ("ms", 0.001), ("min", 60.0)]
);
quantity!(
    /// What a capacitor holds for each volt.
    Capacitance, "farads", "capacitance", &[("F", 1.0), ("mF", 1e-3), ("uF", 1e-6), ("µF", 1e-6), ("nF", 1e-9)]
);
quantity!(
    /// A share of a whole: `5 %` is 0.05.
    Share, "parts of one", "share", &[("%", 0.01)]
);

impl Length {
    /// This many millimetres.
    pub fn from_mm(mm: f64) -> Self {
        Self(mm / 1000.0)
    }

    /// The length as a sheet prints it: `4 ft 6 in`, or `1.37 m`, or `85 mm` below ten centimetres.
    ///
    /// # Example
    /// ```
    /// use measure::{Length, Units};
    /// let siding = Length::read("4 ft 6 in").unwrap();
    /// assert_eq!(siding.print(Units::Imperial), "4 ft 6 in");
    /// assert_eq!(siding.print(Units::Metric), "1.37 m");
    /// ```
    pub fn print(self, units: Units) -> String {
        match units {
            Units::Metric if self.0 < 0.1 => format!("{:.0} mm", self.0 * 1000.0),
            Units::Metric => format!("{:.2} m", self.0),
            Units::Imperial => {
                let half_inches = (self.0 / 0.0254 * 2.0).round();
                let feet = (half_inches / 24.0).floor();
                let inches = (half_inches - feet * 24.0) / 2.0;
                let inches_text =
                    if inches.fract() == 0.0 { format!("{inches:.0} in") } else { format!("{inches:.1} in") };
                match (feet > 0.0, inches > 0.0) {
                    (true, true) => format!("{feet:.0} ft {inches_text}"),
                    (true, false) => format!("{feet:.0} ft"),
                    (false, _) => inches_text,
                }
            }
        }
    }
}

impl std::iter::Sum for Length {
    fn sum<I: Iterator<Item = Self>>(iter: I) -> Self {
        Self(iter.map(|length| length.0).sum())
    }
}
