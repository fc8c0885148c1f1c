//! What commissioning and fault-finding need of a plan, made when it is first asked for, and what was found so far.

use std::sync::Arc;

use commission::fault::System;
use commission::order::{Order, Step, lay_out};
use commission::trial::{Findings, place_in};
use live::Railroad;
use plan::model::{LeverNumber, Plan};

use crate::snapshot::Snapshot;

/// All that can be wrong with the railroad, and the order in which it is tried.
#[derive(Debug)]
pub(crate) struct Bench {
    /// The railroad that it is about: that of the panel may have been changed since.
    pub(crate) railroad: Arc<Railroad>,
    pub(crate) system: System,
    pub(crate) order: Order,
}

impl Bench {
    pub(crate) fn of(railroad: Arc<Railroad>) -> Self {
        let system = System::of(railroad.plan());
        let order = lay_out(railroad.plan(), &system);
        Self { railroad, system, order }
    }

    /// The step of this key.
    pub(crate) fn step(&self, key: &str) -> Option<&Step> {
        self.order.steps.iter().find(|step| step.key == key)
    }
}

/// Commissioning at one moment.
#[derive(Clone, Debug)]
pub(crate) struct Trial {
    pub(crate) bench: Arc<Bench>,
    pub(crate) findings: Findings,
    /// The step to try now; none when all were tried.
    pub(crate) now: Option<usize>,
}

impl Trial {
    pub(crate) fn see(bench: Arc<Bench>, snapshot: &Snapshot) -> Self {
        let state = &snapshot.state;
        let findings: Findings = state.found().values().map(live::Found::for_record).collect();
        let now = place_in(&bench.order, &findings, state.turned().map(live::Said::as_str));
        Self { bench, findings, now }
    }
}

/// The number of the lever that a step throws.
pub(crate) fn lever_of(plan: &Plan, step: &Step) -> Option<LeverNumber> {
    let lever = step.lever?;
    plan.levers.iter().find(|planned| planned.lever == lever).map(|planned| planned.number.value)
}
