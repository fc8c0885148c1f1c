//! `show wiring`: every conductor, the terminals and the joints between modules.

use crate::{SCHEMA, because};
use plan::model::{Core, CoreAt, ModuleJoint, Plan, TerminalStrip, Wire};
use serde::Serialize;

/// `show wiring`: every conductor and where it ends.
#[derive(Debug, Serialize)]
pub struct WiringAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Every conductor, wire by wire.
    pub runs: Vec<RunRow>,
    /// The terminals of each place that has any.
    pub terminal_strips: Vec<TerminalStripRow>,
    /// Where wires pass from module to module.
    pub joints: Vec<ModuleJointRow>,
}

/// One conductor of a wire.
#[derive(Debug, Serialize)]
pub struct RunRow {
    /// What stands on its labels.
    pub id: String,
    /// The place where it starts; none where no place is written.
    pub from: Option<String>,
    /// The place where it ends.
    pub to: Option<String>,
    /// Its size, or that it is a ready-made cable.
    pub conductor: String,
    /// Its colour, or `any`.
    pub colour: String,
    /// How long to cut it; none where that is not known.
    pub length_m: Option<f64>,
    /// What stands on the label at each end.
    pub label: [String; 2],
    /// The wire that it belongs to.
    pub wire: String,
    /// The words that this wire is known by.
    pub key: String,
    /// What kind of wire.
    pub kind: &'static str,
    /// What it does.
    pub does: &'static str,
    /// What it is fastened to where it starts.
    pub from_what: String,
    /// What it serves.
    pub to_what: String,
    /// The terminal it ends at, as `bay 3 · 4`.
    pub terminal: Option<String>,
    /// Its pin at every joint between modules.
    pub pin: Option<u16>,
    /// The places it passes.
    pub way: Vec<String>,
    /// Whether it is there already.
    pub existing: bool,
    /// Why there is such a wire, this long, this thick, of this colour and called so.
    pub because: Vec<String>,
}

/// The terminals of one place.
#[derive(Debug, Serialize)]
pub struct TerminalStripRow {
    /// The place, which stands on it.
    pub at: String,
    /// Every position from 1 on, with the conductor at it.
    pub positions: Vec<TerminalRow>,
    /// Why it is there.
    pub because: Vec<String>,
}

/// One terminal.
#[derive(Debug, Serialize)]
pub struct TerminalRow {
    /// Counted from 1.
    pub position: usize,
    /// The conductor that ends there; none on a free one.
    pub run: Option<String>,
    /// What it serves.
    pub to: Option<String>,
}

/// A joint between two modules.
#[derive(Debug, Serialize)]
pub struct ModuleJointRow {
    /// What stands on its plugs: `bay 2 – bay 3`.
    pub id: String,
    /// The places of the bench run.
    pub places: [String; 2],
    /// Their modules.
    pub modules: [String; 2],
    /// The plugs it takes, by number.
    pub plugs: Vec<u16>,
    /// Every pin in use.
    pub pins: Vec<PinRow>,
    /// Why it is there.
    pub because: Vec<String>,
}

/// One pin.
#[derive(Debug, Serialize)]
pub struct PinRow {
    /// Its number, the same at every joint.
    pub pin: u16,
    /// The conductor on it.
    pub run: String,
    /// What it means.
    pub means: String,
}

/// Answers `show wiring`.
pub fn wiring(plan: &Plan) -> WiringAnswer {
    let runs = plan.wires.iter().flat_map(|wire| wire.cores.iter().map(|core| run(plan, wire, core)));
    WiringAnswer {
        schema: SCHEMA,
        runs: runs.collect(),
        terminal_strips: plan.terminal_strips.iter().map(|strip| terminal_strip(plan, strip)).collect(),
        joints: plan.module_joints.iter().map(|joint| module_joint(plan, joint)).collect(),
    }
}

fn run(plan: &Plan, wire: &Wire, core: &Core) -> RunRow {
    let [from, to] = &wire.ends;
    let reasons = [
        because(&wire.why),
        because(&wire.length),
        because(&wire.conductor),
        because(&core.colour),
        because(&wire.id),
    ];
    RunRow {
        id: core.id.clone(),
        from: from.at.clone(),
        to: to.at.clone(),
        conductor: wire.conductor.value.to_string(),
        colour: core.colour.value.clone(),
        length_m: wire.length.value.map(measure::Length::value),
        label: core.labels.clone(),
        wire: wire.id.value.clone(),
        key: wire.key.clone(),
        kind: wire.kind.word(),
        does: core.job.words(),
        from_what: from.what.clone(),
        to_what: to.what.clone(),
        terminal: core.terminal.map(|at| at.words(&plan.terminal_strips)),
        pin: core.pin,
        way: wire.way.clone(),
        existing: wire.existing,
        because: reasons.into_iter().flatten().collect(),
    }
}

fn at(plan: &Plan, at: CoreAt) -> (&Wire, &Core) {
    let wire = &plan.wires[at.wire];
    (wire, &wire.cores[at.core])
}

fn terminal_strip(plan: &Plan, strip: &TerminalStrip) -> TerminalStripRow {
    let positions = (1..).zip(&strip.positions).map(|(position, core)| {
        let found = core.map(|core| at(plan, core));
        TerminalRow {
            position,
            run: found.map(|(_, core)| core.id.clone()),
            to: found.map(|(wire, core)| format!("{}, {}", wire.ends[1].what, core.job.words())),
        }
    });
    TerminalStripRow { at: strip.at.clone(), positions: positions.collect(), because: because(&strip.why) }
}

fn module_joint(plan: &Plan, joint: &ModuleJoint) -> ModuleJointRow {
    let pins = joint.pins.iter().map(|&(pin, core)| {
        let (wire, core) = at(plan, core);
        PinRow { pin, run: core.id.clone(), means: format!("{}, {}", wire.key, core.job.words()) }
    });
    ModuleJointRow {
        id: joint.words(),
        places: joint.places.clone(),
        modules: joint.modules.clone(),
        plugs: joint.plugs.clone(),
        pins: pins.collect(),
        because: because(&joint.why),
    }
}
