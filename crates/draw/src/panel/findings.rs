//! What of a fascia cannot be had as it is described: too small for what stands on it, holes or nuts too near, a hole off its
//! edge.
//!
//! These are found by drawing it, so they are found here and not among the rules of the plan. One finding a panel: what
//! follows from a panel that is too small is not held against the user again.

use super::fit::{Fitting, SCALE_LEAST};
use super::parts::{facts, fixing_holds, fixing_places, outline};
use crate::fonts::Fonts;
use crate::sheet::{HOLE_GAP_MIN, MM, NUT_GAP_MIN, Um};
use notice::{Diagnostic, Outcome, Span, code};
use plan::model::{Fascia, Plan};

/// Checks every fascia of a plan by laying it out, and its sheets of labels.
pub fn check_panels(plan: Plan) -> Outcome<Plan> {
    let mut found = crate::labels::findings(&plan);
    if !plan.fascias.is_empty() {
        let fonts = Fonts::read();
        found.extend(plan.fascias.iter().flat_map(|fascia| check(&plan, fascia, &fonts)));
    }
    Outcome::new(plan, found)
}

fn check(plan: &Plan, fascia: &Fascia, fonts: &Fonts) -> Vec<Diagnostic> {
    let facts = facts(plan, fascia);
    let outline = outline(facts);
    let sides = [facts.width, facts.height].into_iter().flatten();
    let least = sides.map(|side| super::parts::um(side.value)).min().unwrap_or(Um::MAX);
    let size_span = facts.width.or(facts.height).map_or(fascia.span, |size| size.span);
    let (fitting, territory) = Fitting::of(plan, fascia, outline, fonts);
    if fitting.largest_hole() >= least {
        // The rule about holes that are too large has said it.
        return Vec::new();
    }
    let fitted = fitting.fit(territory);
    let fixing_span = facts.holes.or(facts.margin).map_or(fascia.span, |size| size.span);
    if !fixing_holds(&outline) {
        return vec![off_panel(fascia, fixing_span, outline.margin, outline.fixing)];
    }
    if !fixings_apart(&fixing_places(&outline, fitted.width, fitted.height), outline.fixing) {
        return vec![too_small(fascia, size_span, "its fixing holes run into one another", None)];
    }
    if fitted.crowded.is_empty() {
        return Vec::new();
    }
    let least = fitting.least_size(&fitted.territory);
    if fitted.scale < SCALE_LEAST {
        return vec![too_small(fascia, size_span, "its diagram does not fit inside the margin", least)];
    }
    let (code, what, gap) = if fitting.holes_alone_fit(&fitted) {
        (code::NUTS_TOO_NEAR, "nuts", NUT_GAP_MIN)
    } else {
        (code::HOLES_TOO_NEAR, "holes", HOLE_GAP_MIN)
    };
    let (count, all) = (fitted.crowded.len(), fascia.devices.len());
    let first = fitted.crowded.first().map_or("", |&index| fascia.devices[index].id.as_str());
    let message = format!(
        "panel `{}` has no room for {count} of its {all} buttons and lamps ({first} is the first) with {} mm between {what}",
        fascia.panel,
        gap / MM
    );
    vec![Diagnostic::error(code, size_span, message).help(size_help(least))]
}

fn size_help(least: Option<(Um, Um)>) -> String {
    match least {
        Some((width, height)) => {
            format!("give it width = \"{} mm\" and height = \"{} mm\"", width / MM, height / MM)
        }
        None => "name parts with smaller nuts, or let it control less".to_owned(),
    }
}

fn too_small(fascia: &Fascia, span: Span, why: &str, least: Option<(Um, Um)>) -> Diagnostic {
    let message = format!("panel `{}` is too small for what stands on it: {why}", fascia.panel);
    Diagnostic::error(code::PANEL_TOO_SMALL, span, message).help(size_help(least))
}

fn off_panel(fascia: &Fascia, span: Span, margin: Um, fixing: Um) -> Diagnostic {
    let mm = |um: Um| um / 100;
    let tenths = |um: Um| format!("{}.{} mm", mm(um) / 10, mm(um) % 10);
    let message = format!(
        "the holes of {} that panel `{}` is fixed by leave less than {} mm of its edge",
        tenths(fixing),
        fascia.panel,
        HOLE_GAP_MIN / MM
    );
    Diagnostic::error(code::HOLE_OFF_PANEL, span, message).help(format!(
        "they stand in the middle of its margin of {}: write margin = \"{} mm\" or more, or smaller `holes`",
        tenths(margin),
        (fixing + 2 * HOLE_GAP_MIN + MM - 1) / MM
    ))
}

fn fixings_apart(places: &[crate::scene::Xy], fixing: Um) -> bool {
    let least = (fixing + HOLE_GAP_MIN).pow(2);
    let apart = |a: &crate::scene::Xy, b: &crate::scene::Xy| (a.x - b.x).pow(2) + (a.y - b.y).pow(2) >= least;
    places.iter().enumerate().all(|(index, a)| places[index + 1..].iter().all(|b| apart(a, b)))
}
