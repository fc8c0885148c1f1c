//! What a builder writes is read, and what is no quantity is refused with a reason.

use measure::{Conductor, Current, Length, ReadReason, Share, Units};

/// # Source
/// The international inch is 25.4 mm exactly; a foot is twelve inches (international yard and pound agreement, 1959).
#[test]
fn feet_and_inches_are_the_international_ones() {
    for (text, metres) in [
        ("1 in", 0.0254),
        ("1 ft", 0.3048),
        ("4 ft 6 in", 1.3716),
        ("4ft6in", 1.3716),
        ("120 cm", 1.2),
        ("1.2 m", 1.2),
        ("16.5 mm", 0.0165),
        ("1 yd", 0.9144),
        ("1 m 20 cm", 1.2),
    ] {
        let read = Length::read(text).unwrap().value();
        assert!((read - metres).abs() < 1e-12, "{text}: {read} m, not {metres} m");
    }
}

#[test]
fn what_is_no_length_is_refused_with_the_reason() {
    for (text, reason) in [
        ("", ReadReason::Empty),
        ("   ", ReadReason::Empty),
        ("12", ReadReason::UnitMissing("12".into())),
        ("4 ft 6", ReadReason::UnitMissing("6".into())),
        ("12 furlongs", ReadReason::UnitUnknown("furlongs".into())),
        ("-3 ft", ReadReason::Negative),
        ("long", ReadReason::NotANumber("long".into())),
        ("1.2.3 m", ReadReason::NotANumber("1.2.3 m".into())),
        ("9999999999999 m", ReadReason::TooLarge),
    ] {
        assert_eq!(Length::read(text).unwrap_err().reason, reason, "{text:?}");
    }
}

#[test]
fn a_unit_of_another_kind_is_not_taken() {
    assert_eq!(Current::read("18 V").unwrap_err().reason, ReadReason::UnitUnknown("V".into()));
    assert!((Current::read("18 mA").unwrap().value() - 0.018).abs() < 1e-12);
    assert!((Share::read("5 %").unwrap().value() - 0.05).abs() < 1e-12);
}

#[test]
fn lengths_print_in_the_units_of_the_sheet() {
    for (text, imperial, metric) in
        [("7 ft", "7 ft", "2.13 m"), ("18 in", "1 ft 6 in", "0.46 m"), ("2.5 in", "2.5 in", "64 mm")]
    {
        let length = Length::read(text).unwrap();
        assert_eq!(length.print(Units::Imperial), imperial);
        assert_eq!(length.print(Units::Metric), metric);
    }
}

#[test]
fn conductors_come_in_two_systems() {
    assert_eq!(Conductor::read("22 AWG").unwrap().to_string(), "22 AWG");
    assert_eq!(Conductor::read("1.5 mm2").unwrap().to_string(), "1.5 mm²");
    for (text, reason) in [
        ("14", ReadReason::UnitMissing("14".into())),
        ("99 AWG", ReadReason::TooLarge),
        ("0 mm2", ReadReason::Negative),
        ("thick", ReadReason::NotANumber("thick".into())),
        ("14 gauge", ReadReason::UnitUnknown("gauge".into())),
    ] {
        assert_eq!(Conductor::read(text).unwrap_err().reason, reason, "{text:?}");
    }
}
