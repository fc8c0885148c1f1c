//! Figures from outside: wire tables, hand sums, transients.
//!
//! # Source
//! `reference/electrical/`: `wire.json` (ASTM B258 by formula with a handbook column, IEC 60228 class 5), `worked.json` (hand
//! sums), `transients.json` (closed forms confirmed by ngspice); its README says where each comes from.

use electric::{
    Discharge, E24, FUSE_LINKS_MA, Fuse, LedString, Recharge, Terminator, Wires, ampacity, area_mm2,
    e24_at_or_above, e24_nearest, ohm_per_m, run_ohms, seconds_at_constant, short_rise_s,
};
use measure::{Conductor, Current, Length};
use serde_json::Value;

fn read(text: &str) -> Value {
    serde_json::from_str(text).unwrap()
}

fn wire() -> Value {
    read(include_str!("../../../../reference/electrical/wire.json"))
}

fn worked() -> Value {
    read(include_str!("../../../../reference/electrical/worked.json"))
}

fn near(what: &str, ours: f64, theirs: &Value, relative: f64) {
    let theirs = theirs.as_f64().unwrap();
    assert!((ours - theirs).abs() <= relative * theirs.abs(), "{what}: {ours} is not {theirs}");
}

fn conductor(text: &str) -> Conductor {
    let turned = text.strip_prefix("AWG ").map(|gauge| format!("{gauge} AWG"));
    Conductor::read(turned.as_deref().unwrap_or(text)).unwrap()
}

#[test]
fn conductors_have_the_resistance_of_the_tables() {
    let wire = wire();
    let rows = wire["awg"].as_array().unwrap();
    assert_eq!(rows.len(), 23);
    for row in rows {
        let what = row["conductor"].as_str().unwrap();
        let size = conductor(what);
        near(what, 1000.0 * ohm_per_m(size, 20.0), &row["ohm_per_km_20c"], 1e-9);
        near(what, 1000.0 * ohm_per_m(size, 40.0), &row["ohm_per_km_40c"], 1e-9);
        near(what, area_mm2(size), &row["area_mm2"], 1e-8);
        near(what, 1000.0 * ohm_per_m(size, 20.0), &row["handbook_ohm_per_km_20c"], 5e-4);
    }
    let rows = wire["metric"].as_array().unwrap();
    assert_eq!(rows.len(), 9);
    for row in rows {
        let what = row["conductor"].as_str().unwrap();
        near(what, 1000.0 * ohm_per_m(conductor(what), 20.0), &row["ohm_per_km_20c"], 1e-12);
        near(what, 1000.0 * ohm_per_m(conductor(what), 40.0), &row["ohm_per_km_40c"], 1e-12);
    }
}

#[test]
fn a_thicker_conductor_never_has_more_resistance_or_carries_less() {
    let gauges: Vec<Conductor> = (0..=40).map(Conductor::Awg).collect();
    let areas = [0.05, 0.14, 0.25, 0.34, 0.5, 0.6, 0.75, 1.0, 1.5, 2.0, 2.5, 4.0, 6.0, 10.0, 16.0, 25.0];
    let metric: Vec<Conductor> = areas.into_iter().rev().map(Conductor::SquareMm).collect();
    for sizes in [gauges, metric] {
        for pair in sizes.windows(2) {
            let [thick, thin] = pair else { unreachable!() };
            assert!(ohm_per_m(*thick, 20.0) < ohm_per_m(*thin, 20.0), "{thick} and {thin}");
            let (more, less) = (ampacity(*thick).current, ampacity(*thin).current);
            assert!(more >= less, "{thick} carries {more:?}, {thin} {less:?}");
        }
    }
}

#[test]
fn drops_and_longest_runs_are_those_worked_by_hand() {
    for row in worked()["drop"].as_array().unwrap() {
        let figure = |name: &str| row[name].as_f64().unwrap();
        let size = conductor(row["conductor"].as_str().unwrap());
        let loop_ohms =
            run_ohms(size, Length::new(figure("length_m")), Wires::OutAndReturn, figure("temperature_c"));
        let what = row.to_string();
        near(&what, loop_ohms, &row["loop_ohms"], 1e-9);
        near(&what, loop_ohms * figure("amps"), &row["drop_volts"], 1e-9);
    }
}

#[test]
fn preferred_values_are_those_of_the_standards() {
    let worked = worked();
    let listed: Vec<f64> =
        worked["E24"].as_array().unwrap().iter().map(|value| value.as_f64().unwrap()).collect();
    assert_eq!(
        E24.map(f64::to_bits).to_vec(),
        listed.iter().map(|value| value.to_bits()).collect::<Vec<_>>()
    );
    let fuses = worked["fuse_ma_iec_60127_r10"].as_array().unwrap();
    assert_eq!(FUSE_LINKS_MA.len(), fuses.len());
    for (ours, theirs) in FUSE_LINKS_MA.iter().zip(fuses) {
        near("fuse", *ours, theirs, 0.0);
    }
    for row in worked["fuse_step"].as_array().unwrap() {
        let needed = Current::new(row["needed_amps"].as_f64().unwrap());
        near("link", Fuse::Link.at_or_above(needed).unwrap().value(), &row["next_iec_60127_amps"], 1e-12);
        near("blade", Fuse::Blade.at_or_above(needed).unwrap().value(), &row["next_blade_amps"], 1e-12);
    }
    assert_eq!(Fuse::Link.at_or_below(Current::new(7.0)), Some(Current::new(6.3)));
    assert_eq!(Fuse::Blade.at_or_below(Current::new(0.5)), None);
    assert_eq!(Fuse::Link.at_or_above(Current::new(11.0)), None);
}

#[test]
fn led_resistors_are_those_worked_by_hand() {
    let mut impossible = 0;
    for row in worked()["led_resistor"].as_array().unwrap() {
        let figure = |name: &str| row[name].as_f64().unwrap();
        let string = LedString {
            supply_volts: figure("supply_volts"),
            other_drop_volts: figure("other_drop_volts"),
            led_volts: figure("led_volts"),
            led_count: u32::try_from(row["leds_in_series"].as_u64().unwrap()).unwrap(),
            amps: figure("target_ma") / 1000.0,
        };
        if row.get("error").is_some() {
            assert_eq!(string.resistor(), None, "{row}");
            impossible += 1;
            continue;
        }
        let resistor = string.resistor().unwrap();
        let what = row.to_string();
        near(&what, resistor.ideal_ohms, &row["ideal_ohms"], 1e-9);
        near(&what, resistor.ohms, &row["e24_at_or_above_ohms"], 1e-9);
        near(&what, resistor.amps * 1000.0, &row["ma_with_e24"], 1e-9);
        near(&what, resistor.watts, &row["watts_with_e24"], 1e-9);
        near(&what, e24_nearest(resistor.ideal_ohms).unwrap(), &row["e24_nearest_ohms"], 1e-9);
        assert!(resistor.rated_watts >= 2.0 * resistor.watts);
    }
    assert!(impossible > 0);
    for ohms in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(e24_at_or_above(ohms), None);
    }
    assert_eq!(e24_at_or_above(9.2), Some(10.0));
    assert_eq!(e24_at_or_above(0.47), Some(0.47));
}

#[test]
fn transients_follow_their_closed_forms() {
    let cases = read(include_str!("../../../../reference/electrical/transients.json"));
    let mut kinds = std::collections::BTreeSet::new();
    for case in cases["cases"].as_array().unwrap() {
        let (id, expected) = (case["id"].as_str().unwrap(), &case["expected"]);
        let given = |name: &str| case["given"][name].as_f64().unwrap_or(f64::NAN);
        let relative = case["tolerance"]["relative"].as_f64().unwrap_or(1e-4);
        let check = |name: &str, ours: f64| near(&format!("{id} {name}"), ours, &expected[name], relative);
        match case["kind"].as_str().unwrap_or("") {
            "cdu_discharge" => {
                let discharge = Discharge {
                    farads: given("capacitance_f"),
                    volts: given("volts"),
                    coil_ohms: given("coil_ohms"),
                    coil_henry: given("coil_henry"),
                    wiring_ohms: given("wiring_ohms"),
                    inner_ohms: given("esr_ohms"),
                };
                let pulse = discharge.pulse();
                check("stored_joules", pulse.stored_joules);
                check("peak_amps", pulse.peak_amps);
                let late = case["tolerance"]["time_of_peak_s"].as_f64().unwrap();
                assert!((pulse.peak_s - expected["time_of_peak_s"].as_f64().unwrap()).abs() < late, "{id}");
                if expected["joules_in_coil_resistance"].is_number() {
                    check("joules_in_coil_resistance", pulse.coil_joules);
                    let e = 1.0_f64.exp();
                    let fallen = discharge
                        .amps_at(expected["time_current_falls_to_37_percent_of_peak_s"].as_f64().unwrap());
                    assert!((fallen * e / pulse.peak_amps - 1.0).abs() < 1e-4, "{id}");
                }
            }
            "cdu_recharge" if case["given"]["amps"].is_number() => {
                check(
                    "time_to_full_s",
                    seconds_at_constant(given("capacitance_f"), given("to_volts"), given("amps")),
                );
            }
            "cdu_recharge" if case["given"]["rms_volts"].is_number() => continue,
            "cdu_recharge" => {
                let recharge = Recharge {
                    farads: given("capacitance_f"),
                    volts: given("volts"),
                    ohms: given("charge_ohms"),
                };
                check("time_constant_s", recharge.time_constant_s());
                check("time_to_90_percent_s", recharge.seconds_to(0.9));
                check("time_to_99_percent_s", recharge.seconds_to(0.99));
                check("volts_after_half_second", recharge.volts_after(0.5));
                check("peak_charge_amps", recharge.peak_amps());
            }
            "snubber" => {
                let end = Terminator { ohms: given("ohms"), farads: given("farad") };
                let heat = end.dissipation(given("volts"), given("half_period_s"));
                check("watts_in_resistor", heat.watts);
                check("peak_amps", heat.peak_amps);
            }
            "short_rise" => {
                let rise =
                    short_rise_s(given("volts"), given("loop_ohms"), given("loop_henry"), given("trip_amps"));
                check("time_to_trip_current_s", rise.unwrap());
                assert_eq!(short_rise_s(15.0, 10.0, 1e-6, 2.0), None);
            }
            _ => continue,
        }
        kinds.insert(case["kind"].as_str().unwrap().to_owned());
    }
    assert_eq!(kinds.len(), 4, "{kinds:?}");
}

#[test]
fn a_burst_stops_where_a_coil_would_get_too_little() {
    // By hand: 4700 µF at 24 V hold 1.3536 J; into n coils of 8 Ω without wiring each gets a n-th of it.
    let bare = Discharge {
        farads: 0.0047,
        volts: 24.0,
        coil_ohms: 8.0,
        coil_henry: 0.0,
        wiring_ohms: 0.0,
        inner_ohms: 0.0,
    };
    assert_eq!(bare.coils_per_burst(0.3), 4);
    assert_eq!(bare.coils_per_burst(2.0), 0);
    let wired = Discharge { wiring_ohms: 2.0, ..bare };
    assert!(wired.coils_per_burst(0.3) < 4);
}
