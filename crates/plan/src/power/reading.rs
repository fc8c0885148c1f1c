//! What a meter reads when the bus is built, point by point, with the band within which a reading is good.
//!
//! The band is an interval: every tolerance at its worst, once all one way and once all the other. Supplies are taken as 5 %
//! either way, the resistance of what is built as 10 %, what is drawn as 20 %, a test load as 5 % (choices, no standard).

use super::assess::Figures;
use super::lay::{Laid, print_amps};
use crate::model::power::Reading;
use description::BusKind;

const SUPPLY: f64 = 0.05;
const WIRE: f64 = 0.10;
const DRAWN: f64 = 0.20;
const TEST_LOAD: f64 = 0.05;

/// Hung on each place of a track bus: what a lamp of a car takes.
const TEST_AMPS: f64 = 1.0;

const OUTSIDE: &str = "lower: a bad joint or a longer or thinner cable on the way, or more is drawn; higher: the supply gives more than it should, or less is drawn";

/// The readings of a bus, from its supplies outwards.
pub(super) fn expect_readings(laid: &Laid<'_>, figures: &[Figures]) -> Vec<Reading> {
    let meter = match laid.bus.kind {
        BusKind::Track => "volts AC, true RMS",
        BusKind::Accessory => "volts DC",
    };
    let mut readings: Vec<Reading> = laid
        .sources
        .iter()
        .map(|source| Reading {
            point: source.at,
            with: "the supply on, the bus not yet connected; leads on the supply's terminals".into(),
            meter,
            expect: source.volts,
            low: source.volts * (1.0 - SUPPLY),
            high: source.volts * (1.0 + SUPPLY),
            outside: "the supply is not what it is described as, or its setting is wrong".into(),
        })
        .collect();
    let metres = laid.sources.first().map(|source| laid.metres_from(source.at)).unwrap_or_default();
    let mut order: Vec<usize> = (0..figures.len()).collect();
    order.sort_by(|&a, &b| metres[a].total_cmp(&metres[b]));
    for point in order {
        let figure = &figures[point];
        let (lost, much, with) = match laid.bus.kind {
            BusKind::Track => {
                let with =
                    format!("a test load of {} across the feeder; leads beside it", print_amps(TEST_AMPS));
                let drawn = figure.open_volts - figure.held_volts;
                (drawn + TEST_AMPS * figure.loop_ohms, TEST_LOAD, with)
            }
            BusKind::Accessory => {
                let leads = if laid.held[point] > 0.0 { "the decoder's terminals" } else { "the bus" };
                let with = format!("all decoders and motors connected, nothing moving; leads on {leads}");
                (figure.open_volts - figure.held_volts, DRAWN, with)
            }
        };
        readings.push(Reading {
            point,
            with,
            meter,
            expect: figure.open_volts - lost,
            low: figure.open_volts * (1.0 - SUPPLY) - lost * (1.0 + WIRE) * (1.0 + much),
            high: figure.open_volts * (1.0 + SUPPLY) - lost * (1.0 - WIRE) * (1.0 - much),
            outside: OUTSIDE.into(),
        });
    }
    readings
}
