//! The whole book as one tree of values: what `sys.inputs` holds when the templates are set.
//!
//! Each sheet's branch is made in the module of that sheet; this one only puts them side by side. The templates name
//! the branches as they are named here.

use plan::model::Plan;
use typst::foundations::{Array, Dict, IntoValue, dict};

use crate::ledger::Ledger;
use crate::paper::Paper;
use crate::typeset::Options;
use crate::{
    boards, change, codes, commissioning, cover, decoders, diodes, drawings, gaps, glossary, harness,
    history, index, levers, locking, narrow, panels, parts, power, reasons, routes, sheets, strips, tracks,
};

/// Everything that the templates print.
pub(crate) fn values(plan: &Plan, options: &Options<'_>) -> Dict {
    let paper = options.paper.unwrap_or_else(|| Paper::of(plan.network.described.layout.units));
    let ledger = Ledger::of(plan);
    let mut values = printed(&ledger, paper, options);
    values.insert("glossary".into(), glossary::glossary(&values).into_value());
    let guide = sheets::KINDS.iter().filter(|kind| !kind.asked.is_empty());
    let guide = guide.map(|kind| dict! { "title" => kind.title, "asked" => kind.asked }.into_value());
    values.insert("guide".into(), guide.collect::<Array>().into_value());
    let titles = sheets::chosen(plan, options);
    let titles = titles.iter().map(|title| ledger.words(title)).collect::<Array>();
    values.insert("sheets".into(), titles.into_value());
    values.insert("whole".into(), (options.sheets.is_none() && options.at.is_none()).into_value());
    values.insert("at".into(), ledger.words_if(options.at));
    values.insert("codes".into(), codes::codes(options.live.as_ref()));
    if let Some(at) = options.at {
        narrow::narrow(&mut values, &ledger.words(at));
    }
    values
}

/// What each sheet prints.
fn printed(ledger: &Ledger<'_>, paper: Paper, options: &Options<'_>) -> Dict {
    let system = commission::fault::System::of(ledger.plan);
    dict! {
        "paper" => paper.name(),
        "tall" => ledger.has_tall_rows(),
        "layout" => cover::layout(ledger),
        "counts" => cover::counts(ledger),
        "change" => change::change(ledger, options.change),
        "drawings" => drawings::drawings(ledger, paper, options.at),
        "panels" => panels::panels(ledger),
        "levers" => levers::levers(ledger),
        "boards" => boards::boards(ledger),
        "decoders" => decoders::decoders(ledger),
        "routes" => routes::routes(ledger),
        "locking" => locking::locking(ledger),
        "diodes" => diodes::diodes(ledger),
        "gaps" => gaps::gaps(ledger),
        "tracks" => tracks::tracks(ledger),
        "power" => power::power(ledger),
        "commissioning" => commissioning::commissioning(ledger, &system),
        "faults" => commissioning::faults(ledger, &system),
        "chains" => strips::chains(ledger),
        "harness" => harness::harness(ledger),
        "purchases" => parts::purchases(ledger),
        "history" => history::history(ledger, options.record),
        "reasons" => reasons::reasons(ledger),
        "index" => index::index(ledger),
    }
}
