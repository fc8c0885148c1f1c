//! Buses of whole layouts, reckoned by hand beside it.
//!
//! # Source
//! By hand: AWG by ASTM B258 (14 AWG 8.2853 mΩ/m, 12 AWG 5.2107 mΩ/m, one conductor, 20 °C), Ohm's law.

use plan::model::Plan;
use plan::model::power::{PlannedBus, Trip};

/// A lead with three turnouts, one at each bay, and whatever buses are written.
fn layout(bench: &str, rest: &str) -> String {
    format!(
        r#"
[layout]
name = "Tern Harbor"
[turnout.1]
points = "lead"
through = "a"
diverging = "a spur"
hand = "left"
at = "bay 1"
[turnout.2]
points = "a"
through = "b"
diverging = "b spur"
hand = "left"
at = "bay 2"
[turnout.3]
points = "b"
through = "c"
diverging = "c spur"
hand = "left"
at = "bay 3"
[end.lead]
track = "lead"
[end.a]
track = "a spur"
[end.b]
track = "b spur"
[end.c]
track = "c"
[end."c spur"]
track = "c spur"
[panel.fascia]
kind = "strip"
[bench]
runs = [{bench}]
{rest}
"#
    )
}

const TEN_METRES: &str =
    r#"{ from = "bay 1", to = "bay 2", length = "10 m" }, { from = "bay 2", to = "bay 3", length = "10 m" }"#;

fn planned(text: &str) -> Plan {
    testkit::plan_of(text)
}

fn only(plan: &Plan) -> &PlannedBus {
    plan.buses.first().unwrap()
}

fn near(ours: f64, theirs: f64) {
    assert!((ours - theirs).abs() < 1e-3 * theirs.abs(), "{ours} is not {theirs}");
}

const TRACK: &str = r#"
[bus.track]
kind = "track"
source = { at = "bay 1", part = "booster", volts = "15 V", trip = "5 A", inner = "0.1 ohm" }
conductor = "14 AWG"
path = ["bay 1", "bay 2", "bay 3"]
load = "3 A"
"#;

#[test]
fn a_train_at_the_far_end_loses_what_ohm_says() {
    let plan = planned(&layout(TEN_METRES, TRACK));
    let bus = only(&plan);
    // 40 m of conductor: 0.33141 Ω, and 0.1 Ω inside; decoders hang on the track bus for want of another.
    let held: f64 = bus.points.iter().map(|point| point.held_amps).sum();
    let far = &bus.points[2];
    near(far.loop_ohms.unwrap(), 0.43141);
    near(far.short_amps.unwrap(), 15.0 / 0.43141);
    near(far.times_trip.unwrap(), 15.0 / 0.43141 / 5.0);
    assert_eq!(far.trip, Trip::Surely);
    let worst = bus.worst.as_ref().unwrap();
    assert_eq!(worst.value.point, 2);
    assert!(far.volts.unwrap() > 15.0 - (3.0 + held) * 0.43141 - 1e-9);
    assert!(far.volts.unwrap() < 15.0 - 3.0 * 0.43141);
    let words: Vec<String> = worst.because().map(ToString::to_string).collect();
    assert!(words.iter().any(|words| words.contains("3.00 A are drawn at each place in turn")), "{words:?}");
}

#[test]
fn slack_and_ways_between_are_part_of_the_length() {
    let text = layout(TEN_METRES, &format!("slack = \"10 %\"\n{}", TRACK.replace("\"bay 2\", ", "")));
    let plan = planned(&text);
    let bus = only(&plan);
    assert_eq!(bus.runs.len(), 1);
    near(bus.runs[0].length.value(), 22.0);
}

#[test]
fn a_ring_is_reckoned_whole_and_cut() {
    let bench = format!("{TEN_METRES}, {{ from = \"bay 3\", to = \"bay 1\", length = \"10 m\" }}");
    let plan = planned(&layout(&bench, &format!("{TRACK}shape = \"ring\"\n")));
    let bus = only(&plan);
    assert_eq!((bus.runs.len(), bus.opened.len()), (3, 3));
    // One third one way beside two thirds the other: 2/9 of the loop of 60 m of conductor.
    near(bus.points[1].loop_ohms.unwrap(), 0.1 + 0.497_12 * 2.0 / 9.0);
    // Cut beside the supply the farthest place has two thirds before it.
    let drop = bus.opened[0].drop.unwrap();
    assert_eq!(bus.opened[0].point, 1);
    let held: f64 = bus.points.iter().map(|point| point.held_amps).sum();
    let (least, most) = (3.0 * (0.1 + 0.331_41) / 15.0, (3.0 + held) * (0.1 + 0.331_41) / 15.0);
    assert!(drop > least && drop < most, "{drop} between {least} and {most}");
}

#[test]
fn sizes_that_are_not_written_are_the_cheapest_that_do() {
    let text = layout(
        TEN_METRES,
        &TRACK.replace(
            "conductor = \"14 AWG\"\n",
            "buy = [{ conductor = \"14 AWG\" }, { conductor = \"12 AWG\" }, { conductor = \"10 AWG\" }]\n",
        ),
    );
    let plan = planned(&text);
    let bus = only(&plan);
    let drop = bus.worst.as_ref().unwrap().value.drop;
    assert!(drop <= bus.drop_limit.value, "{drop}");
    for run in &bus.runs {
        assert_eq!(Some(run.conductor.value), run.would_do);
        let reason = run.conductor.because().next().unwrap().to_string();
        assert!(reason.contains("of 3 sizes"), "{reason}");
    }
    // A millimetre thinner everywhere would not do: 14 AWG loses more than is allowed.
    let written = planned(&layout(TEN_METRES, TRACK));
    assert!(only(&written).worst.as_ref().unwrap().value.drop > 0.05);
}

#[test]
fn coils_are_thrown_one_burst_at_a_time_and_only_together_where_routes_allow() {
    let rest = r#"
[defaults]
motor = "coil machine"
decoder = "four output decoder"
[part."accessory supply"]
gives = "2 A"
[bus.motors]
kind = "accessory"
source = { at = "bay 1", part = "accessory supply", volts = "16 V", trip = "3 A", inner = "0.1 ohm" }
conductor = "14 AWG"
path = ["bay 1", "bay 2", "bay 3"]
"#;
    let plan = planned(&layout(TEN_METRES, rest));
    assert_eq!(plan.coils_at_once.value, 2);
    let bus = only(&plan);
    let thrown = bus.thrown.as_ref().unwrap();
    // Three coils of 1 A, but two at once.
    near(thrown.value.amps, 2.0);
    assert_eq!(thrown.value.levers.len(), 2);
    assert!(thrown.value.proven);
    near(thrown.value.amps_max, 2.0);
    near(thrown.value.volts.unwrap(), thrown.value.volts_min.unwrap());
    assert!(thrown.value.volts.unwrap() < bus.worst.as_ref().unwrap().value.volts);
    // Stall motors take no more thrown than held.
    let rest = rest.replace("coil machine", "stall motor").replace("four output", "eight output");
    let plan = planned(&layout(TEN_METRES, &rest));
    let thrown = only(&plan).thrown.as_ref().unwrap();
    assert!(thrown.value.levers.is_empty() && thrown.value.amps == 0.0);
}

#[test]
fn readings_stand_within_their_bands_and_go_outwards() {
    let plan = planned(&layout(TEN_METRES, TRACK));
    let bus = only(&plan);
    assert_eq!(bus.readings.len(), 4);
    for reading in &bus.readings {
        assert!(reading.low < reading.expect && reading.expect < reading.high, "{reading:?}");
    }
    let points: Vec<usize> = bus.readings.iter().map(|reading| reading.point).collect();
    assert_eq!(points, [0, 0, 1, 2]);
    // A test load of 1 A at the far end.
    let far = &bus.readings[3];
    assert!(far.expect < 15.0 - 0.43141 && far.expect > 14.4);
    near(far.low, 15.0 * 0.95 - (15.0 - far.expect) * 1.1 * 1.05);
}

#[test]
fn a_supply_is_fused_below_what_the_thinnest_conductor_bears() {
    let with = |trip: &str, conductor: &str| {
        let rest = format!(
            "[bus.motors]\nkind = \"accessory\"\nsource = {{ at = \"bay 1\", volts = \"12 V\"{trip} }}\nconductor = \"{conductor}\"\npath = [\"bay 1\", \"bay 2\", \"bay 3\"]\nload = \"1 A\"\n"
        );
        let plan = planned(&layout(TEN_METRES, &rest));
        let supply = plan.buses[0].supplies[0].clone();
        (supply.fuse_amps.value, supply.rated_amps.value / supply.amps)
    };
    // 1 A, a decoder of 50 mA and three motors of 18 mA: 1.104 A, at most three quarters of the fuse, so 1.47 A or more.
    let (fuse, headroom) = with("", "18 AWG");
    assert_eq!(fuse, Some(1.6));
    near(headroom, 1.25);
    assert_eq!(with(", trip = \"3 A\"", "18 AWG").0, None);
    // 24 AWG bears 1.2 A, and no fuse bears the load below that.
    assert_eq!(with("", "24 AWG").0, None);
}

#[test]
fn the_worst_bus_is_told_and_never_a_figure_that_is_none() {
    let rest = TRACK.replace("3 A\"\n", "300 A\"\n");
    let outcome = testkit::planned(&layout(TEN_METRES, &rest));
    let bus = only(&outcome.value);
    assert!(bus.worst.is_none() && bus.overload.as_ref().unwrap().0.contains("cannot be had"));
    assert!(bus.points.iter().all(|point| point.volts.is_none()));
}

/// Servos take more while they move, and no burst limits them: the worst is what routes allow.
#[test]
fn the_worst_set_of_levers_is_the_worst_that_can_be_tried() {
    let rest = r#"
[defaults]
motor = "servo"
[part.servo]
role = "motor"
drive = "servo"
draw = "0.5 A"
decoder = "inside"
[bus.motors]
kind = "accessory"
source = { at = "bay 2", part = "booster", volts = "6 V", trip = "3 A", inner = "0.1 ohm" }
conductor = "20 AWG"
drop_limit = "20 %"
path = ["bay 2", "bay 1"]
branches = [{ path = ["bay 2", "bay 3"] }]
"#;
    let plan = planned(&layout(TEN_METRES, rest));
    let thrown = only(&plan).thrown.as_ref().unwrap();
    // One route from `lead` throws all three; all that is lost at the end of a branch is what its own servo draws there and what
    // all draw inside the supply.
    assert_eq!(thrown.value.levers.len(), 3);
    near(thrown.value.amps, 1.5);
    assert!(thrown.value.proven);
    near(thrown.value.volts.unwrap(), thrown.value.volts_min.unwrap());
    // 20 AWG: 33.308 mΩ/m.
    near(thrown.value.volts.unwrap(), 6.0 - 1.5 * 0.1 - 0.5 * 20.0 * 0.033_308);
}

/// Lights are counted as if all were on.
#[test]
fn lights_are_drawn_where_they_stand() {
    let rest = r#"
[light.depot]
at = "bay 3"
draw = "2 A"
[bus.motors]
kind = "accessory"
source = { at = "bay 1", volts = "12 V", trip = "5 A", inner = "0.1 ohm" }
conductor = "14 AWG"
path = ["bay 1", "bay 2", "bay 3"]
"#;
    let dark = planned(&layout(TEN_METRES, &rest.replace("draw = \"2 A\"", "draw = \"0 A\"")));
    let lit = planned(&layout(TEN_METRES, rest));
    let held = |plan: &Plan| only(plan).points[2].held_amps;
    near(held(&lit) - held(&dark), 2.0);
    // 2 A over the loop of 20 m and the supply's own.
    let volts = |plan: &Plan| only(plan).points[2].volts.unwrap();
    near(volts(&dark) - volts(&lit), 2.0 * 0.431_41);
    near(only(&lit).supplies[0].amps - only(&dark).supplies[0].amps, 2.0);
}

/// By hand: ½ · 4700 µF · (16 V)² = 0.6016 J; 1 A at 16 V is a coil of 16 Ω; 16 V through 2 A is 8 Ω, of E24 8.2 Ω; ln 20 = 2.9957.
#[test]
fn a_discharge_unit_stands_on_a_bus_with_coils_and_on_no_other() {
    let rest = |motor: &str, capacitor: &str| {
        format!(
            r#"
[defaults]
motor = "{motor}"
[part."accessory supply"]
gives = "2 A"
[bus.motors]
kind = "accessory"
source = {{ at = "bay 1", part = "accessory supply", volts = "16 V", inner = "0.1 ohm" }}
conductor = "14 AWG"
path = ["bay 1", "bay 2", "bay 3"]
{capacitor}
"#
        )
    };
    let coils = rest("coil machine", "").replace("[part", "decoder = \"four output decoder\"\n[part");
    let plan = planned(&layout(TEN_METRES, &coils));
    let unit = only(&plan).discharge.as_ref().unwrap();
    near(unit.value.stored_joules, 0.6016);
    near(unit.value.coil_ohms, 16.0);
    near(unit.value.coil_joules, 0.6016 * 16.0 / (16.0 + unit.value.wiring_ohms));
    near(unit.value.wiring_ohms, only(&plan).points[unit.value.point].loop_ohms.unwrap() - 0.1);
    near(unit.value.charge_ohms, 8.2);
    near(unit.value.wait_s, 2.9957 * 8.2 * 4700e-6);
    // 0.3 J each: two would share 0.6 J only without any wire on the way.
    assert_eq!(unit.value.coils_per_burst, if unit.value.wiring_ohms > 0.04 { 1 } else { 2 });
    let large = coils.replace("path =", "capacitor = \"10000 uF\"\npath =");
    let plan = planned(&layout(TEN_METRES, &large));
    near(only(&plan).discharge.as_ref().unwrap().value.stored_joules, 1.28);
    let stall = planned(&layout(TEN_METRES, &rest("stall motor", "")));
    assert!(only(&stall).discharge.is_none());
}

/// By hand: (12 − 2) V over 10 mA is 1 kΩ; (16 − 3.2) V over 5 mA is 2.56 kΩ, of E24 2.7 kΩ, which lets 4.74 mA through.
#[test]
fn every_lamp_of_a_fascia_has_its_resistor() {
    let text = |rest: &str| {
        layout(TEN_METRES, rest).replace("kind = \"strip\"", "kind = \"fascia\"\nat = \"bay 2\"")
    };
    let of = |rest: &str| plan::lamp_resistors(&planned(&text(rest)));
    let [usual] = of("").try_into().unwrap();
    assert_eq!((usual.panel.as_str(), usual.lamps), ("fascia", 6));
    let resistor = usual.resistor.value.unwrap();
    assert_eq!((resistor.ohms, resistor.rated_watts), (1000.0, 0.25));
    let rest = "[part.lamp]\nvolts = \"3.2 V\"\ndraw = \"5 mA\"\n[bus.motors]\nkind = \"accessory\"\nsource = { at = \"bay 1\", volts = \"16 V\" }\npath = [\"bay 1\", \"bay 2\", \"bay 3\"]\n";
    let [own] = of(rest).try_into().unwrap();
    let resistor = own.resistor.value.unwrap();
    near(resistor.ohms, 2700.0);
    near(resistor.amps, 12.8 / 2700.0);
    let why: Vec<String> = own.resistor.because().map(ToString::to_string).collect();
    assert!(why.iter().any(|why| why.contains("bus motors of 16.0 V")), "{why:?}");
    let plan = planned(&text(rest));
    let need = plan.parts.iter().find(|need| need.what == "resistor").unwrap();
    let words = need.count.because().next().unwrap().to_string();
    assert!(words.contains("6 of 2.7 kΩ, 0.125 W"), "{words}");
}
