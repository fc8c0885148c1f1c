//! The gap plan: the diagram with every gap numbered, the reversing sections with what feeds them, and a row for each gap.

use network::Piece;
use plan::model::{Plan, ReversingSection};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::diagram;
use crate::drawings::drawing;
use crate::ledger::Ledger;

/// The plan: `(drawing, parts, sections, gaps, fewest, proven)`; no drawing where nothing is cut.
pub(crate) fn gaps(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    if plan.gaps.is_empty() {
        return dict! { "gaps" => Array::new(), "sections" => Array::new(), "drawing" => Value::None, "parts" => Array::new() };
    }
    let drawn = draw::gap_plan(plan);
    let layout = &plan.network.described.layout.name;
    let rows = plan.gaps.iter().zip(&drawn.gaps).map(|(gap, drawn)| {
        let sections = gap.sections.iter().map(|section| (section + 1).into_value());
        dict! {
            "number" => drawn.number,
            "track" => ledger.words(&gap.track),
            "end" => ledger.words(&gap.end),
            "sections" => sections.collect::<Array>(),
            "why" => ledger.reasons(gap.why.because()),
        }
        .into_value()
    });
    let sections = plan.reversing.iter().enumerate().map(|(index, section)| {
        let ends = plan.gaps.iter().zip(&drawn.gaps).filter(|(gap, _)| gap.sections.contains(&index));
        let numbers = ends.map(|(_, drawn)| drawn.number.into_value()).collect();
        one_section(ledger, index, section, numbers).into_value()
    });
    // A large plan is cut as the diagram is; a part without a gap tells nothing.
    let parts = diagram::parts(&drawn.scene);
    let parts = parts.into_iter().map(|part| part.scene);
    let parts = parts.filter(|part| part.words.iter().any(|words| words.tag.class == "gap-name"));
    let alt = format!("Gap plan of {layout}: {} gaps; each stands in the table too", plan.gaps.len());
    dict! {
        "gaps" => rows.collect::<Array>(),
        "sections" => sections.collect::<Array>(),
        "fewest" => plan.gaps_fewest,
        "proven" => plan.gaps_fewest == plan.reversing.len(),
        "parts" => parts.map(|part| drawing(ledger, part, &alt).into_value()).collect::<Array>(),
        "drawing" => drawing(ledger, drawn.scene, &alt),
    }
}

/// A reversing section: `(number, tracks, length, shortest, train, fits, district, gaps)`; `fits` is none where a length is
/// missing.
fn one_section(ledger: &Ledger<'_>, index: usize, section: &ReversingSection, gaps: Array) -> Dict {
    let layout = &ledger.plan.network.described.layout;
    let train = layout.longest_train.as_ref().map(|train| train.value);
    let fits = section.shortest.zip(train).map(|(way, train)| way.value() > train.value());
    let tracks = &section.tracks.value;
    dict! {
        "number" => index + 1,
        "name" => ledger.words(&section.name),
        "tracks" => tracks.iter().map(|&track| ledger.track(track)).collect::<Array>(),
        "length" => section.length.map(|length| length.print(layout.units)),
        "shortest" => section.shortest.map(|way| way.print(layout.units)),
        "train" => train.map(|train| train.print(layout.units)),
        "fits" => fits,
        "district" => ledger.words_if(district(ledger.plan, section)),
        "gaps" => gaps,
    }
}

/// The district that a section is fed from, where the description says so.
fn district<'a>(plan: &'a Plan, section: &ReversingSection) -> Option<&'a str> {
    let Piece::Track(track) = section.piece else { return None };
    plan.districts.get(track.index())?.as_ref().map(|district| district.value.as_str())
}
