//! The lever table: for each lever its number, name, machines, address, board and output, and where its buttons are.

use plan::model::PlannedLever;
use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;

/// Every lever in the order of the plan.
pub(crate) fn levers(ledger: &Ledger<'_>) -> Array {
    ledger.plan.levers.iter().map(|planned| lever(ledger, planned).into_value()).collect()
}

fn lever(ledger: &Ledger<'_>, planned: &PlannedLever) -> Dict {
    let plan = ledger.plan;
    let machines = &plan.network.lever(planned.lever).machines;
    let strip = planned.control.and_then(|control| plan.strips.get(control.strip));
    let address = planned.address.value;
    dict! {
        "lever" => ledger.lever(planned.lever),
        "machines" => ledger.machines(machines),
        "line" => planned.line.map(|line| ledger.words(&plan.network.line(line).name)),
        "address" => address.number(),
        "board" => address.board(),
        "output" => address.output(),
        "strip" => strip.map(|strip| ledger.words(&strip.panel)),
        "pair" => planned.control.map(|control| control.pair),
    }
}
