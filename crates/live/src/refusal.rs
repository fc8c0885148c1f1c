//! Why something that was asked for is not done. Each sentence is for a visitor: it names what is in the way, and what to do.

use network::{MachineId, Network, Position, Why};
use plan::model::LeverNumber;

use crate::{Railroad, RouteId, Said};

/// Why an event was not accepted.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Refusal {
    /// No lever carries the number.
    #[error("There is no lever {0} on this railroad.")]
    LeverUnknown(LeverNumber),
    /// A link spoke of a machine that the plan does not have.
    #[error("A report came from a machine that is not on this railroad.")]
    MachineUnknown,
    /// No route has that id.
    #[error("There is no such route on this railroad. Choose where from and where to again.")]
    RouteUnknown,
    /// A set route holds the lever.
    #[error("Lever {lever} is held by the route {route}, set{}. Release that route first, then throw lever {lever}.", by_whom(.by))]
    LeverHeld {
        /// The lever.
        lever: LeverNumber,
        /// The route.
        route: String,
        /// Who set it.
        by: Said,
    },
    /// Someone locked the lever.
    #[error("Lever {lever} is locked{}{}. Ask whether that is over; then unlock it.", by_whom(.by), noted(.note))]
    LeverLocked {
        /// The lever.
        lever: LeverNumber,
        /// Why it is locked.
        note: Said,
        /// Who locked it.
        by: Said,
    },
    /// Another route is set that cannot stand beside this one.
    #[error("The route {route} cannot be set while {other} is set: {why}. Release {other} first.")]
    RouteInTheWay {
        /// The route that was asked for.
        route: String,
        /// The one that is set.
        other: String,
        /// What both want.
        why: String,
    },
    /// The route needs a locked lever thrown.
    #[error("The route {route} needs lever {lever} {}, and lever {lever} is locked{}. Ask whether that is over; then unlock it, or choose another way.", position.word(), noted(.note))]
    RouteNeedsLocked {
        /// The route.
        route: String,
        /// The lever.
        lever: LeverNumber,
        /// How the route needs it.
        position: Position,
        /// Why it is locked.
        note: Said,
    },
    /// The route is set already.
    #[error("The route {0} is set already.")]
    RouteSetAlready(String),
    /// The route is not set, so it cannot be released.
    #[error("The route {0} is not set, so there is nothing to release.")]
    RouteNotSet(String),
    /// No lever, or no single position of one, makes the route.
    #[error(
        "The route {0} cannot be set from this panel: it needs one lever in two positions, or points that no lever moves."
    )]
    RouteWithoutLevers(String),
    /// Everything is stopped.
    #[error("Everything is stopped{}. When all is clear, press “Let it go on”, then try again.", by_whom(.by))]
    Stopped {
        /// Who stopped it.
        by: Said,
    },
    /// Nothing is stopped.
    #[error("Nothing is stopped, so nothing has to be let go on.")]
    NotStopped,
    /// The lever is locked already.
    #[error("Lever {lever} is locked already{}.", noted(.note))]
    LockedAlready {
        /// The lever.
        lever: LeverNumber,
        /// Why.
        note: Said,
    },
    /// The lever is not locked.
    #[error("Lever {0} is not locked.")]
    NotLocked(LeverNumber),
    /// A lock says why.
    #[error("Say why lever {0} is locked, so that whoever finds it knows when to unlock it.")]
    NoteMissing(LeverNumber),
    /// A finding says who found it.
    #[error("Type your name first, so that whoever comes after you knows whom to ask.")]
    FinderMissing,
    /// A step that is left out says why.
    #[error("Write why this step is left out, so that whoever comes after you knows.")]
    SkipNoteMissing,
    /// Nobody has thrown a lever yet.
    #[error("There is no throw to undo.")]
    NothingToUndo,
    /// Nobody knows where the lever stood before.
    #[error(
        "Where lever {0} stood before its last throw is not known, so it cannot be put back. Throw it to where you want it."
    )]
    UndoNotKnown(LeverNumber),
    /// The machines cannot be reached.
    #[error(
        "The {link} is out of touch, so no points would move. Nothing was thrown; try again when it is back."
    )]
    LinkDown {
        /// Its name.
        link: Said,
    },
    /// The machines are shared with other panels, and cannot be thrown from here now.
    #[error("Lever {lever} is out of touch: {why}. Nothing was thrown; try again in a while.")]
    OutOfTouch {
        /// The lever.
        lever: LeverNumber,
        /// Why.
        why: Said,
    },
    /// Another panel holds the lever.
    #[error("Lever {lever} is {hold}. Ask there whether that is over, and for it to be let go.")]
    HeldElsewhere {
        /// The lever.
        lever: LeverNumber,
        /// How it is held, in words.
        hold: String,
    },
    /// Nothing moves the machines.
    #[error(
        "No link of this layout moves lever {0}. Name it under `moves` of a [link.*] of the description."
    )]
    LinkMissing(LeverNumber),
    /// The supply is still busy with the throw before.
    #[error("The supply of the coils is still busy with the throw before. Try again in a moment.")]
    SupplyBusy,
}

impl Refusal {
    /// A word for programs; it never changes.
    pub fn code(&self) -> &'static str {
        match self {
            Self::LeverUnknown(_) => "lever-unknown",
            Self::MachineUnknown => "machine-unknown",
            Self::RouteUnknown => "route-unknown",
            Self::LeverHeld { .. } => "lever-held",
            Self::LeverLocked { .. } => "lever-locked",
            Self::RouteInTheWay { .. } => "route-in-the-way",
            Self::RouteNeedsLocked { .. } => "route-needs-locked",
            Self::RouteSetAlready(_) => "route-set-already",
            Self::RouteNotSet(_) => "route-not-set",
            Self::RouteWithoutLevers(_) => "route-without-levers",
            Self::Stopped { .. } => "stopped",
            Self::NotStopped => "not-stopped",
            Self::LockedAlready { .. } => "locked-already",
            Self::NotLocked(_) => "not-locked",
            Self::NoteMissing(_) => "note-missing",
            Self::FinderMissing => "finder-missing",
            Self::SkipNoteMissing => "skip-note-missing",
            Self::NothingToUndo => "nothing-to-undo",
            Self::UndoNotKnown(_) => "undo-not-known",
            Self::LinkDown { .. } => "link-down",
            Self::OutOfTouch { .. } => "lever-out-of-touch",
            Self::HeldElsewhere { .. } => "held-elsewhere",
            Self::LinkMissing(_) => "link-missing",
            Self::SupplyBusy => "supply-busy",
        }
    }
}

fn by_whom(by: &Said) -> String {
    if by.is_empty() { String::new() } else { format!(" by {by}") }
}

fn noted(note: &Said) -> String {
    if note.is_empty() { String::new() } else { format!(": “{note}”") }
}

/// What two routes both want, in the words of the panel: the first thing that the locking names.
pub(crate) fn shared(railroad: &Railroad, a: RouteId, b: RouteId) -> Option<String> {
    let plan = railroad.plan();
    let (a, b) = (plan.routes.get(a.index())?, plan.routes.get(b.index())?);
    let network = &plan.network;
    let why = *network::reasons(network, a, b).first()?;
    Some(match why {
        Why::Opposed(machine) => format!("both need {}, in different positions", lever(railroad, machine)),
        Why::Machine(machine) => format!("both run over {}", lever(railroad, machine)),
        Why::Track(track) => format!("both run over {}", network.track(track).name),
        Why::Crossing(joint) => format!("their tracks cross at {}", joint_name(network, joint)),
    })
}

fn lever(railroad: &Railroad, machine: MachineId) -> String {
    match railroad.machine(machine) {
        Some(machine) => machine.lever.map_or_else(|| machine.name.clone(), |lever| format!("lever {lever}")),
        None => "the same points".to_owned(),
    }
}

fn joint_name(network: &Network, joint: network::JointId) -> &str {
    network.joints.get(joint.index()).map_or("one place", |joint| joint.name.as_str())
}
