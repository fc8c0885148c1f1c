//! The sheets of a binder: what each is called, what it is for, what it prints, and which of them a layout has.
//!
//! The list is in the order of the binder. Its titles are what the sheets, the contents and `--sheets` call them.

use commission::fault::System;
use plan::model::Plan;

use crate::typeset::Options;

/// One kind of sheet.
pub(crate) struct Kind {
    /// Its title.
    pub(crate) title: &'static str,
    /// Where what it prints stands in the tree of values; a branch within another is named behind a dot. None where it prints the
    /// same for every layout, or belongs to one change or one record alone.
    pub(crate) branches: &'static [&'static str],
    /// What it is looked at for, as the sheet on how to use the binder says it.
    pub(crate) asked: &'static str,
}

/// What the title of each bus's sheet begins with.
pub(crate) const EACH_BUS: &str = "Bus";
/// What the title of each panel's sheet begins with.
pub(crate) const EACH_PANEL: &str = "Panel";
/// The sheet that a binder for one place begins with.
pub(crate) const AT: &str = "What is here";

const fn kind(title: &'static str, branches: &'static [&'static str], asked: &'static str) -> Kind {
    Kind { title, branches, asked }
}

/// Every kind of sheet, in the order of the binder.
pub(crate) const KINDS: [Kind; 34] = [
    kind("Cover", &["counts"], ""),
    kind(AT, &[], ""),
    kind("Safety first", &[], "what can hurt someone, and where power is cut"),
    kind("How to use this binder", &[], ""),
    kind("Change order", &[], "what to do so that what is built becomes what this binder says"),
    kind("Track diagram", &["drawings.diagram", "drawings.parts"], "where every lever and track is"),
    kind(EACH_PANEL, &["panels"], "what a panel looks like, what its levers lead to, how to work it"),
    kind("Levers", &["levers"], "number, name, place and address of a lever"),
    kind("Addresses by board", &["boards"], "what answers an address, and what is still free"),
    kind("Decoders", &["decoders"], "what is screwed to a decoder, and how it is programmed"),
    kind("Routes", &["routes"], "how the levers have to stand for a train to get from one stop to another"),
    kind("Locking table", &["locking"], "which routes keep each other out"),
    kind("Diode matrix", &["diodes"], "routes set with one push and no program in between"),
    kind("Gap plan", &["gaps"], "where both rails are cut"),
    kind("Tracks", &["tracks"], "what lies at the ends of a track"),
    kind("Wires by place", &["harness.places"], "a wire: where from, where to, how long, which colours"),
    kind("Terminals", &["harness.terminals"], "what ends at a position of a terminal strip"),
    kind("Connectors between modules", &["harness.joints"], "what a pin carries where modules come apart"),
    kind(EACH_BUS, &["power"], "what a bus loses on its way, and whether a coin trips its breaker"),
    kind("Supplies and fuses", &["power"], "which supply and which fuse"),
    kind("What a meter reads", &["power"], "what is a good reading, and what it means when it is not"),
    kind("Resistors of lamps", &["power.lamps"], "what stands before a lamp"),
    kind("Setting up the strips", &["chains"], "how a strip of buttons gets its addresses"),
    kind("Commissioning", &["commissioning"], "in which order to power up and try things"),
    kind("Fault finding", &["faults"], "what is wrong when something does not do what it should"),
    kind("Labels", &["drawings.labels"], "labels for decoders, terminals and both ends of every wire"),
    kind("Number plates", &["drawings.plates"], "numbers to cut out and to fix beside levers"),
    kind("Fascia map", &["drawings.map"], "a small diagram to fix beside levers"),
    kind("Parts and wire", &["purchases"], "what to buy"),
    kind("Notes", &[], "what was found on the railroad"),
    kind("Change history", &[], "what is built, what was found out, and what is out of use for good"),
    kind("Glossary", &["glossary"], "what a word means here"),
    kind("Why it is so", &["reasons"], "why a number, an address or a place was chosen"),
    kind("Index", &["index"], "every page that speaks of a lever, machine, track, place or address"),
];

/// What a binder for one place is made of, as far as something of each is at the place.
const OF_A_PLACE: [&str; 13] = [
    AT,
    "Safety first",
    "Change order",
    EACH_PANEL,
    "Decoders",
    "Wires by place",
    "Terminals",
    "Connectors between modules",
    "What a meter reads",
    "Setting up the strips",
    "Commissioning",
    "Fault finding",
    "Labels",
];

/// The titles of the sheets that the binder of this plan has, in its order, whichever of them are wished for.
pub fn sheet_titles(plan: &Plan, options: &Options<'_>) -> Vec<String> {
    let mut titles = Vec::new();
    for kind in &KINDS {
        match kind.title {
            EACH_BUS => {
                titles.extend(plan.network.buses.iter().map(|bus| format!("{EACH_BUS} {}", bus.name)));
            }
            EACH_PANEL => {
                titles.extend(panels(plan).into_iter().map(|panel| format!("{EACH_PANEL} {panel}")));
            }
            title if is_there(plan, options, title) => titles.push(title.to_owned()),
            _ => {}
        }
    }
    titles
}

fn is_there(plan: &Plan, options: &Options<'_>, title: &str) -> bool {
    match title {
        AT => options.at.is_some(),
        "Change order" => options.change.is_some(),
        "Number plates" => !plan.levers.is_empty(),
        "Terminals" => !plan.terminal_strips.is_empty(),
        "Connectors between modules" => plan.module_joints.iter().any(|joint| !joint.pins.is_empty()),
        "Supplies and fuses" | "What a meter reads" => !plan.buses.is_empty(),
        "Resistors of lamps" => !plan::lamp_resistors(plan).is_empty(),
        "Setting up the strips" => !plan.chains.is_empty(),
        "Change history" => options.record.is_some(),
        _ => true,
    }
}

/// The names of the panels that have a face, in the order of the plan: strips, then fascias.
pub(crate) fn panels(plan: &Plan) -> Vec<&str> {
    let strips = plan.strips.iter().map(|strip| strip.panel.as_str());
    strips.chain(plan.fascias.iter().map(|fascia| fascia.panel.as_str())).collect()
}

/// The title that is meant by these words: as it is, but for capitals, hyphens and spaces. None where no sheet is called so.
pub fn sheet_called<'a>(titles: &'a [String], written: &str) -> Option<&'a str> {
    let plain = |text: &str| -> String {
        let letters =
            text.trim().chars().map(|letter| if matches!(letter, '-' | '_') { ' ' } else { letter });
        letters.flat_map(char::to_lowercase).collect()
    };
    titles.iter().map(String::as_str).find(|title| plain(title) == plain(written))
}

/// Which sheets are printed: those wished for, or those of one place, or all.
pub(crate) fn chosen(plan: &Plan, options: &Options<'_>) -> Vec<String> {
    let all = sheet_titles(plan, options);
    let of_place = |title: &String| OF_A_PLACE.iter().any(|kind| is_of_kind(title, kind));
    match (options.sheets, options.at) {
        (Some(wished), _) => all.into_iter().filter(|title| wished.contains(title)).collect(),
        (None, Some(_)) => all.into_iter().filter(of_place).collect(),
        (None, None) => all,
    }
}

/// Whether a sheet of this title is of this kind; parts of a sheet count as the sheet.
pub(crate) fn is_of_kind(title: &str, kind: &str) -> bool {
    let of_each = (kind == EACH_BUS || kind == EACH_PANEL) && title.starts_with(&format!("{kind} "));
    title == kind || of_each || title.starts_with(&format!("{kind},"))
}

/// The names of all places that something is at, in natural order.
pub fn places(plan: &Plan) -> Vec<String> {
    let joints = plan.network.joints.iter().filter_map(|joint| joint.at.as_deref());
    let decoders = plan.decoders.iter().filter_map(|decoder| decoder.at.as_ref().map(|at| at.value.as_str()));
    let strips = plan.strips.iter().filter_map(|strip| strip.at.as_deref());
    let fascias = plan.fascias.iter().filter_map(|fascia| fascia.at.as_deref());
    let wires = plan.wires.iter().flat_map(|wire| &wire.ends).filter_map(|end| end.at.as_deref());
    let points = plan.buses.iter().flat_map(|bus| &bus.points).map(|point| point.place.as_str());
    let system = System::of(plan);
    let checks = system.checks.iter().filter_map(|check| check.at.as_deref());
    let all = joints.chain(decoders).chain(strips).chain(fascias).chain(wires).chain(points).chain(checks);
    let mut names: Vec<String> =
        all.collect::<std::collections::BTreeSet<_>>().into_iter().map(str::to_owned).collect();
    names.sort_by(|one, other| notice::natural(one, other));
    names
}
