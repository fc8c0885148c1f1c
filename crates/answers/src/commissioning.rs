//! `show commissioning`: the steps in order, each with what to expect and what is wrong where it is not seen.

use crate::SCHEMA;
use commission::fault::System;
use commission::order::Order;
use serde::Serialize;

/// The answer.
#[derive(Debug, Serialize)]
pub struct CommissioningAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// How often one gets under the bench.
    pub crawls: usize,
    /// Metres walked along the bench.
    pub metres: f64,
    /// Whether no order takes fewer crawls, nor as many and fewer metres.
    pub proven: bool,
    /// The steps, in order.
    pub steps: Vec<CommissioningRow>,
    /// Faults that no step would show.
    pub unseen: Vec<String>,
}

/// A step.
#[derive(Debug, Serialize)]
pub struct CommissioningRow {
    /// Counted from 1.
    pub step: usize,
    /// What kind of step.
    pub phase: &'static str,
    /// The place.
    pub at: Option<String>,
    /// Whether one is under the bench there.
    pub under: bool,
    /// What to do.
    pub r#do: String,
    /// What is seen when all is in order.
    pub expect: String,
    /// What a meter shows; null where none is needed.
    pub reading: Option<BandRow>,
    /// What is wrong where it is not seen.
    pub fails: Vec<FailsRow>,
    /// What else may be wrong then.
    pub otherwise: Vec<String>,
    /// Why it comes here.
    pub because: Vec<String>,
}

/// What a meter shows.
#[derive(Debug, Serialize)]
pub struct BandRow {
    /// What it is set to.
    pub meter: &'static str,
    /// What it reads.
    pub expect: f64,
    /// The least that is still good.
    pub low: f64,
    /// The most that is still good.
    pub high: f64,
}

/// A fault that a step shows.
#[derive(Debug, Serialize)]
pub struct FailsRow {
    /// What is wrong.
    pub what: String,
    /// The place where it is.
    pub at: Option<String>,
    /// What mends it.
    pub mend: String,
}

/// Answers `show commissioning`.
pub fn commissioning(system: &System, order: &Order) -> CommissioningAnswer {
    let steps = order.steps.iter().enumerate().map(|(index, step)| CommissioningRow {
        step: index + 1,
        phase: step.phase.word(),
        at: step.at.clone(),
        under: step.under,
        r#do: step.does.clone(),
        expect: step.expect.clone(),
        reading: step.reading.as_ref().map(|reading| BandRow {
            meter: reading.meter,
            expect: reading.expect,
            low: reading.low,
            high: reading.high,
        }),
        fails: step
            .faults
            .iter()
            .map(|&fault| &system.faults[fault])
            .map(|fault| FailsRow {
                what: fault.what.clone(),
                at: fault.at.clone(),
                mend: fault.mend.clone(),
            })
            .collect(),
        otherwise: step.otherwise.clone(),
        because: vec![step.phase.why().to_owned()],
    });
    CommissioningAnswer {
        schema: SCHEMA,
        crawls: order.crawls,
        metres: order.metres,
        proven: order.proven,
        steps: steps.collect(),
        unseen: order.unseen.iter().map(|&fault| system.faults[fault].what.clone()).collect(),
    }
}
