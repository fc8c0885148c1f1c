//! The whole book as one tree of values: what `sys.inputs` holds when the templates are set.
//!
//! Each sheet's branch is made in the module of that sheet; this one only puts them side by side. The templates name
//! the branches as they are named here.

use plan::model::Plan;
use typst::foundations::{Dict, dict};

use crate::change::ChangeOrder;
use crate::ledger::Ledger;
use crate::paper::Paper;
use crate::{
    boards, change, commissioning, cover, decoders, diodes, drawings, gaps, harness, index, levers, locking,
    parts, power, reasons, routes, strips, tracks,
};

/// Everything that the templates print.
pub(crate) fn values(plan: &Plan, paper: Paper, order: Option<&ChangeOrder>) -> Dict {
    let ledger = Ledger::of(plan);
    let system = commission::fault::System::of(plan);
    dict! {
        "paper" => paper.name(),
        "tall" => ledger.has_tall_rows(),
        "layout" => cover::layout(&ledger),
        "counts" => cover::counts(&ledger),
        "change" => change::change(&ledger, order),
        "drawings" => drawings::drawings(&ledger, paper),
        "levers" => levers::levers(&ledger),
        "boards" => boards::boards(&ledger),
        "decoders" => decoders::decoders(&ledger),
        "routes" => routes::routes(&ledger),
        "locking" => locking::locking(&ledger),
        "diodes" => diodes::diodes(&ledger),
        "gaps" => gaps::gaps(&ledger),
        "tracks" => tracks::tracks(&ledger),
        "power" => power::power(&ledger),
        "commissioning" => commissioning::commissioning(&ledger, &system),
        "faults" => commissioning::faults(&ledger, &system),
        "chains" => strips::chains(&ledger),
        "harness" => harness::harness(&ledger),
        "purchases" => parts::purchases(&ledger),
        "reasons" => reasons::reasons(&ledger),
        "index" => index::index(&ledger),
    }
}
