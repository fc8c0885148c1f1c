//! The railroad as a graph: tracks, the joints between them, the moves a joint allows, and the machines that decide
//! which.
//!
//! ```text
//!            port 1 through
//!           ╱
//! port 0 ──●        joint of three ports, two moves: 0–1 needs the machine normal, 0–2 needs it reverse
//!  points   ╲
//!            port 2 diverging
//! ```
//!
//! A track has exactly two ends, each at one port of one joint. A move runs through a joint from one port to another
//! and needs some machines in certain positions. An `[end.*]` is a joint of one port and no moves.

use crate::between::{Prefer, Wish};
use description::{AccessoryKind, Description, EndKind, FrogFeed, Hand, Pins};
use measure::{Current, Length};
use notice::{Span, Spanned};

macro_rules! index {
    ($(#[$doc:meta])* $name:ident) => {
        $(#[$doc])*
        #[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
        pub struct $name(u32);

        impl $name {
            /// The id of the thing at this place in its list.
            pub fn at(index: usize) -> Self {
                Self(u32::try_from(index).unwrap_or(u32::MAX))
            }

            /// Its place in its list.
            pub fn index(self) -> usize {
                self.0 as usize
            }
        }
    };
}

index!(
    /// A track in [`Network::tracks`].
    TrackId
);
index!(
    /// A joint in [`Network::joints`].
    JointId
);
index!(
    /// A machine in [`Network::machines`].
    MachineId
);
index!(
    /// A lever in [`Network::levers`].
    LeverId
);
index!(
    /// A line in [`Network::lines`].
    LineId
);

index!(
    /// A signal or light in [`Network::accessories`].
    AccessoryId
);

/// How a machine stands, and how a lever does.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Position {
    /// The usual position: through, unless the description says otherwise.
    Normal,
    /// The other one.
    Reverse,
}

impl Position {
    /// The word for it, as JSON and sheets have it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Normal => "normal",
            Self::Reverse => "reverse",
        }
    }

    /// The other position.
    #[must_use]
    pub fn other(self) -> Self {
        match self {
            Self::Normal => Self::Reverse,
            Self::Reverse => Self::Normal,
        }
    }
}

/// One port of one joint: where an end of a track lies.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Port {
    /// The joint.
    pub joint: JointId,
    /// Which of its ports, counted from 0 in the order of [`JointKind`].
    pub port: u8,
}

/// A piece of track with two ends.
#[derive(Clone, Debug)]
pub struct Track {
    /// Its name.
    pub name: String,
    /// Where it is named first, or described.
    pub span: Span,
    /// Where its ends lie.
    pub ends: [Port; 2],
    /// Whether routes begin and end here.
    pub stop: bool,
    /// How long it is.
    pub length: Option<Length>,
    /// Its power district.
    pub district: Option<String>,
}

/// What a joint is, with its ports in order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum JointKind {
    /// A track stops. Port: 0 the track.
    End {
        /// How.
        is: EndKind,
        /// On which side of the drawing.
        side: Option<Hand>,
    },
    /// Ports: 0 points, 1 through, 2 diverging. One machine.
    Turnout {
        /// The way the diverging leg leaves, seen from the points.
        hand: Hand,
    },
    /// Ports: 0 points, 1 left, 2 right. One machine.
    Wye,
    /// Ports: 0 points, 1 through, 2 left, 3 right. Two machines, L and R.
    Threeway,
    /// Ports: 0 `one[0]`, 1 `one[1]`, 2 `other[0]`, 3 `other[1]`. Machines A (on `one`, points toward port 0) and B (on
    /// `other`, points toward port 3). The crossing move runs 0–3.
    Crossover {
        /// The way the crossing move leaves line `one`, seen from the points of A, where the user says it.
        hand: Option<Hand>,
    },
    /// Ports as a crossover; the crossing moves run 0–3 and 2–1. Machines A, B, C, D.
    Scissors,
    /// Ports: 0 a, 1 b, 2 c, 3 d. Straight moves 0–1 and 2–3, slip moves 0–3 and, on a double slip, 2–1.
    Slip {
        /// Whether both slip moves exist.
        double: bool,
    },
    /// Ports as a slip, no slip moves, no machine.
    Crossing,
    /// Ports: the approaches, then the stalls. No machine. A move runs from each approach to each stall and none between
    /// two approaches or two stalls: who goes from stall to stall comes out on an approach first. The bridge is no stop
    /// of its own: a route runs over it from approach to stall. Whoever wants trains to wait at it makes the approach a
    /// stop. The pit cuts the rails, and the bridge takes the polarity of the track it is lined up with.
    Turntable {
        /// How many of the ports are approaches.
        approach_count: u8,
    },
}

impl JointKind {
    /// Whether it has points and two legs.
    pub fn has_two_legs(self) -> bool {
        matches!(self, Self::Turnout { .. } | Self::Wye)
    }
}

/// How a move runs through its joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum MoveShape {
    /// Along the straight of the joint (the left leg of a wye).
    Straight,
    /// Along a curved leg.
    Diverging,
}

/// A way through a joint.
#[derive(Clone, Debug)]
pub struct Move {
    /// The two ports; a move may be driven either way.
    pub ports: [u8; 2],
    /// The machines it depends on, each in the position it needs.
    pub needs: Vec<(MachineId, Position)>,
    /// Straight or curved.
    pub shape: MoveShape,
}

impl Move {
    /// The port at its other end from this one; none when it does not touch this one.
    pub fn from(&self, port: u8) -> Option<u8> {
        match self.ports {
            [a, b] if a == port => Some(b),
            [a, b] if b == port => Some(a),
            _ => None,
        }
    }
}

/// A place where tracks meet or stop.
#[derive(Clone, Debug)]
pub struct Joint {
    /// What the builder calls it.
    pub id: String,
    /// What the plate and the tables call it.
    pub name: String,
    /// Where its id is written.
    pub span: Span,
    /// What it is.
    pub kind: JointKind,
    /// The track at each port.
    pub tracks: Vec<TrackId>,
    /// The ways through it.
    pub moves: Vec<Move>,
    /// Its machines.
    pub machines: Vec<MachineId>,
    /// The place it stands at.
    pub at: Option<String>,
    /// How its frogs are fed, where the user says it.
    pub frog_feed: Option<FrogFeed>,
    /// What the user pinned on it.
    pub pins: Pins,
}

/// Something that moves points: one motor.
#[derive(Clone, Debug)]
pub struct Machine {
    /// Its name: `1`, `4A`, `6W`.
    pub name: String,
    /// The joint it belongs to.
    pub joint: JointId,
    /// The part that it is, a key of [`Description::parts`].
    pub motor: String,
    /// The lever that moves it.
    pub lever: LeverId,
}

/// One control: it moves one machine or several together, all normal or all reverse.
#[derive(Clone, Debug)]
pub struct Lever {
    /// What the user calls it, or the joint's id.
    pub id: String,
    /// What plates and tables call it.
    pub name: String,
    /// Where it comes from in the text.
    pub span: Span,
    /// Its machines, in natural order.
    pub machines: Vec<MachineId>,
    /// What the user pinned.
    pub pins: Pins,
}

/// A signal or a light: it has an accessory address and moves no points.
#[derive(Clone, Debug)]
pub struct Accessory {
    /// Whether it is a signal or a light.
    pub kind: AccessoryKind,
    /// What the user calls it.
    pub id: String,
    /// What plates and tables call it.
    pub name: String,
    /// Where its id is written.
    pub span: Span,
    /// The track that a signal stands on.
    pub on: Option<TrackId>,
    /// What a signal guards.
    pub guards: Option<Guarded>,
    /// The place it stands at; where a signal has none written, that of what it guards, or of its track.
    pub at: Option<String>,
    /// The part that its lamps are, a key of the parts library.
    pub part: String,
    /// The current that it draws while it is on.
    pub draw: Option<Current>,
    /// What the user pinned.
    pub pins: Pins,
}

impl Accessory {
    /// Kind and id, as the as-built record and the tables have it: `light depot`, `signal S1`.
    pub fn key(&self) -> String {
        format!("{} {}", self.kind.word(), self.id)
    }
}

/// What a signal guards.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Guarded {
    /// All of a joint.
    Joint(JointId),
    /// What a lever moves.
    Lever(LeverId),
    /// One machine.
    Machine(MachineId),
}

/// A named run, with the way it takes.
#[derive(Clone, Debug)]
pub struct Line {
    /// Its name.
    pub name: String,
    /// Where its name is written.
    pub span: Span,
    /// Its tracks, from its start on.
    pub tracks: Vec<TrackId>,
    /// The ports it enters and leaves by at each joint between two of its tracks: one fewer than `tracks`.
    pub passes: Vec<Pass>,
}

/// A route that the user names, its names resolved.
#[derive(Clone, Debug)]
pub struct Wanted {
    /// Its name.
    pub name: String,
    /// Where its name is written.
    pub span: Span,
    /// What it is to do.
    pub wish: Wish,
    /// Which one of the routes that do it.
    pub prefer: Prefer,
}

/// Something that the user pins of the track diagram.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Nudge {
    /// What.
    pub what: Nudged,
    /// Where it is written.
    pub span: Span,
}

/// What a nudge asks of the track diagram.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Nudged {
    /// The diverging leg of this turnout, or the right leg of this wye, is drawn straight on from the points.
    Straight(JointId),
    /// The first joint stands to the left of the second.
    LeftOf(JointId, JointId),
    /// The track lies so many levels above the first line.
    Level(TrackId, i16),
}

/// A panel with what it controls.
#[derive(Clone, Debug)]
pub struct Panel {
    /// The index of its table in [`Description::panels`].
    pub described: usize,
    /// What it controls, in order; none when the user leaves the choice to the tool.
    pub controls: Option<Vec<Control>>,
}

/// A link with what it moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct MachineLink {
    /// The index of its table in [`Description::links`].
    pub described: usize,
    /// The machines that it moves, each under one link only.
    pub machines: Vec<MachineId>,
}

/// One entry of a panel's `controls`.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Control {
    /// What is controlled.
    pub what: Controlled,
    /// Where it is written.
    pub span: Span,
}

/// What one entry of a panel's `controls` names.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Controlled {
    /// Every lever along a line, in the order of the line.
    Line(LineId),
    /// One lever.
    Lever(LeverId),
    /// A signal or a light.
    Accessory(AccessoryId),
}

/// One way through one joint, in the direction it is driven.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Pass {
    /// The joint.
    pub joint: JointId,
    /// The port of arrival.
    pub enter: u8,
    /// The port of departure.
    pub leave: u8,
    /// The index of the move in [`Joint::moves`].
    pub move_index: u16,
}

/// The whole railroad, names resolved.
///
/// Every index in it is good: whatever was wrong in the description has been left out, with a diagnostic.
#[derive(Clone, Debug, Default)]
pub struct Network {
    /// Tracks, in natural order of their names.
    pub tracks: Vec<Track>,
    /// Joints, ends among them, in natural order of their ids.
    pub joints: Vec<Joint>,
    /// Machines, in natural order.
    pub machines: Vec<Machine>,
    /// Levers, in natural order of their ids.
    pub levers: Vec<Lever>,
    /// Signals, then lights, each in natural order of their ids.
    pub accessories: Vec<Accessory>,
    /// Named lines, in the order of the file.
    pub lines: Vec<Line>,
    /// Named routes, in the order of the file.
    pub wanted: Vec<Wanted>,
    /// What is pinned of the track diagram.
    pub nudges: Vec<Nudge>,
    /// Panels, in the order of the file.
    pub panels: Vec<Panel>,
    /// Links, in the order of the file.
    pub links: Vec<MachineLink>,
    /// Buses, in the order of the file; one with errors is left out.
    pub buses: Vec<crate::bus::Bus>,
    /// What else the description says, names of places and parts among it.
    pub described: Description,
}

impl Network {
    /// The track of this id.
    pub fn track(&self, id: TrackId) -> &Track {
        &self.tracks[id.index()]
    }

    /// The joint of this id.
    pub fn joint(&self, id: JointId) -> &Joint {
        &self.joints[id.index()]
    }

    /// The machine of this id.
    pub fn machine(&self, id: MachineId) -> &Machine {
        &self.machines[id.index()]
    }

    /// The lever of this id.
    pub fn lever(&self, id: LeverId) -> &Lever {
        &self.levers[id.index()]
    }

    /// The signal or light of this id.
    pub fn accessory(&self, id: AccessoryId) -> &Accessory {
        &self.accessories[id.index()]
    }

    /// The line of this id.
    pub fn line(&self, id: LineId) -> &Line {
        &self.lines[id.index()]
    }

    /// The ids of all tracks where routes begin and end, in natural order.
    pub fn stops(&self) -> impl Iterator<Item = TrackId> {
        self.tracks.iter().enumerate().filter(|(_, track)| track.stop).map(|(index, _)| TrackId::at(index))
    }

    /// The track at the end of this name, or else the track of this name.
    pub fn end_or_track(&self, name: &str) -> Option<TrackId> {
        let end = self
            .joints
            .iter()
            .find(|joint| joint.id == name && matches!(joint.kind, JointKind::End { .. }))
            .map(|joint| joint.tracks[0]);
        end.or_else(|| self.tracks.iter().position(|track| track.name == name).map(TrackId::at))
    }

    /// The port at the other end of a track from this port of it.
    ///
    /// A track that joins a joint to itself has two different ports there; the one not asked about is returned.
    pub fn across(&self, from: Port) -> Port {
        let track = self.track(self.joint(from.joint).tracks[from.port as usize]);
        if track.ends[0] == from { track.ends[1] } else { track.ends[0] }
    }

    /// The machines that a way through a joint needs, in the order a train meets them, each with its position.
    pub fn met(&self, pass: Pass) -> Vec<(MachineId, Position)> {
        let joint = self.joint(pass.joint);
        let mut met = joint.moves[pass.move_index as usize].needs.clone();
        // A way needs at most one machine at the port where it enters; whatever else it needs lies further on.
        let at_entry = |machine: MachineId| {
            joint.machines.iter().position(|&other| other == machine).is_some_and(|index| {
                match joint.kind {
                    // 0 is E, at b and d; 1 is W, at a and c.
                    JointKind::Slip { .. } => usize::from(pass.enter % 2) != index,
                    JointKind::Crossover { .. } => usize::from(pass.enter / 2) == index,
                    JointKind::Scissors => [0, 3, 2, 1].get(usize::from(pass.enter)) == Some(&index),
                    JointKind::End { .. }
                    | JointKind::Turnout { .. }
                    | JointKind::Wye
                    | JointKind::Threeway
                    | JointKind::Crossing
                    | JointKind::Turntable { .. } => false,
                }
            })
        };
        met.sort_by_key(|&(machine, _)| !at_entry(machine));
        met
    }

    /// The first pinned number or address among a lever and its machines' joints, with the place it is written.
    pub fn pin<T>(&self, lever: LeverId, which: impl Fn(&Pins) -> Option<Spanned<T>>) -> Option<Spanned<T>> {
        let lever = self.lever(lever);
        which(&lever.pins).or_else(|| {
            lever.machines.iter().find_map(|&machine| which(&self.joint(self.machine(machine).joint).pins))
        })
    }
}
