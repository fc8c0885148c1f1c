//! What panels say to one another over a broker, as JSON, and on which topics.
//!
//! ```text
//! TOPIC/lease/MACHINE    who drives a machine                  kept by the broker
//! TOPIC/machine/MACHINE  how it is, by whoever drives it       kept
//! TOPIC/server/ID        a panel's server, and what it holds   kept; its last will says that it is gone
//! TOPIC/ask/MACHINE      throw it                              one second
//! TOPIC/answer/ID        done, or why not, to the one who asked
//! TOPIC/stop             everything is to stop
//! ```
//!
//! Strictly read: a payload that lacks a member, or has one of another kind or out of its range, says nothing. Members that are not known are left alone, so
//! that a later version may say more.

use network::Position;
use serde::{Deserialize, Serialize};

use super::lease::{EPOCH_MAX, LeaseSaid, Terms};
use crate::{HeldBy, Said, Stands};

/// The longest payload that is looked at, in bytes.
pub const PAYLOAD_MAX: usize = 256 * 1024;

const HEX: &[u8; 16] = b"0123456789ABCDEF";

/// The longest id of a server or of an ask.
const ID_MAX: usize = 64;

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub(super) enum PositionSaid {
    Normal,
    Reverse,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum StateSaid {
    Unknown,
    At,
    Moving,
    Sent,
    Overdue,
}

/// How a machine is.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct MachineSaid {
    pub(super) server: String,
    pub(super) epoch: u64,
    state: StateSaid,
    position: Option<PositionSaid>,
}

/// A panel's server.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct ServerSaid {
    pub(super) server: String,
    pub(super) name: String,
    pub(super) here: bool,
    /// A number of the stop that its people asked for and have not taken back.
    pub(super) stop: Option<u64>,
    pub(super) holds: Vec<HoldSaid>,
}

/// A machine that a panel holds.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct HoldSaid {
    pub(super) machine: String,
    held_by: HeldBySaid,
    pub(super) note: String,
    pub(super) by: String,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
enum HeldBySaid {
    Lock,
    Route,
}

/// That a machine is to be thrown.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct AskSaid {
    /// One throw of a lever is one ask, however many machines it moves.
    pub(super) ask: String,
    pub(super) server: String,
    pub(super) position: PositionSaid,
    /// Which renewal of the lease the one who asks heard last: an ask that was under way for long is not done.
    pub(super) epoch: u64,
    pub(super) serial: u64,
    pub(super) by: String,
}

/// What came of an ask.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct AnswerSaid {
    pub(super) ask: String,
    pub(super) machine: String,
    pub(super) done: bool,
    /// Why not, in words.
    pub(super) says: String,
}

/// That everything is to stop.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub(super) struct StopSaid {
    pub(super) server: String,
    pub(super) name: String,
    pub(super) stop: u64,
}

/// What a payload says, on the topic it came on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Heard {
    Lease(String, LeaseSaid),
    Machine(String, MachineSaid),
    Server(ServerSaid),
    Ask(String, AskSaid),
    Answer(AnswerSaid),
    Stop(StopSaid),
}

/// What a message says; none where it says nothing that can be read.
pub(super) fn read(root: &str, topic: &str, payload: &[u8], terms: Terms) -> Option<Heard> {
    let rest = topic.strip_prefix(root)?.strip_prefix('/')?;
    if payload.len() > PAYLOAD_MAX {
        return None;
    }
    if rest == "stop" {
        let said: StopSaid = serde_json::from_slice(payload).ok()?;
        return is_id(&said.server).then_some(Heard::Stop(said));
    }
    let (kind, level) = rest.split_once('/')?;
    let name = name_of(level)?;
    Some(match kind {
        "lease" => {
            let said: LeaseSaid = serde_json::from_slice(payload).ok()?;
            let is_fit = said.epoch <= EPOCH_MAX && said.length_ms <= terms.length.0 && is_id(&said.server);
            Heard::Lease(name, is_fit.then_some(said)?)
        }
        "machine" => {
            let said: MachineSaid = serde_json::from_slice(payload).ok()?;
            said.stands()?;
            Heard::Machine(name, (said.epoch <= EPOCH_MAX && is_id(&said.server)).then_some(said)?)
        }
        "server" => {
            let said: ServerSaid = serde_json::from_slice(payload).ok()?;
            Heard::Server((is_id(&said.server) && said.server == name).then_some(said)?)
        }
        "ask" => {
            let said: AskSaid = serde_json::from_slice(payload).ok()?;
            Heard::Ask(name, (is_id(&said.server) && is_id(&said.ask)).then_some(said)?)
        }
        "answer" => Heard::Answer(serde_json::from_slice(payload).ok()?),
        _ => return None,
    })
}

/// What is published: plain data, which always can be written.
pub(super) fn write(said: &impl Serialize) -> Vec<u8> {
    serde_json::to_vec(said).unwrap_or_default()
}

fn is_id(text: &str) -> bool {
    let is_plain = |letter: u8| letter.is_ascii_alphanumeric() || letter == b'-' || letter == b'_';
    !text.is_empty() && text.len() <= ID_MAX && text.bytes().all(is_plain)
}

/// A name as one level of a topic: what may not stand in one is written as `%` and its bytes in hexadecimal.
///
/// # Source
/// MQTT 5, sections 4.7.1 and 1.5.4 (from memory): `/`, `+` and `#` part topics and match them, and null is in none.
pub fn level_of(name: &str) -> String {
    let mut level = String::new();
    for letter in name.chars() {
        if matches!(letter, '/' | '+' | '#' | '%') || letter.is_control() {
            let mut bytes = [0; 4];
            for byte in letter.encode_utf8(&mut bytes).bytes() {
                level.push('%');
                level.extend([byte >> 4, byte & 0xF].map(|digit| char::from(HEX[usize::from(digit)])));
            }
        } else {
            level.push(letter);
        }
    }
    level
}

fn name_of(level: &str) -> Option<String> {
    let mut bytes = Vec::new();
    let mut rest = level.as_bytes();
    while let Some((first, after)) = rest.split_first() {
        rest = after;
        if *first == b'%' {
            let (digits, after) = rest.split_at_checked(2)?;
            bytes.push(u8::from_str_radix(std::str::from_utf8(digits).ok()?, 16).ok()?);
            rest = after;
        } else if *first == b'/' {
            return None;
        } else {
            bytes.push(*first);
        }
    }
    String::from_utf8(bytes).ok().filter(|name| !name.is_empty())
}

impl MachineSaid {
    pub(super) fn new(server: &str, epoch: u64, stands: Stands) -> Self {
        let (state, position) = match stands {
            Stands::Unknown => (StateSaid::Unknown, None),
            Stands::At(position) => (StateSaid::At, Some(position)),
            Stands::Moving(to) => (StateSaid::Moving, Some(to)),
            Stands::Sent(to) => (StateSaid::Sent, Some(to)),
            Stands::Overdue(to) => (StateSaid::Overdue, Some(to)),
        };
        Self { server: server.to_owned(), epoch, state, position: position.map(PositionSaid::from) }
    }

    /// None where state and position do not go together.
    pub(super) fn stands(&self) -> Option<Stands> {
        Some(match (self.state, self.position.map(Position::from)) {
            (StateSaid::Unknown, None) => Stands::Unknown,
            (StateSaid::At, Some(position)) => Stands::At(position),
            (StateSaid::Moving, Some(to)) => Stands::Moving(to),
            (StateSaid::Sent, Some(to)) => Stands::Sent(to),
            (StateSaid::Overdue, Some(to)) => Stands::Overdue(to),
            (StateSaid::Unknown, Some(_))
            | (StateSaid::At | StateSaid::Moving | StateSaid::Sent | StateSaid::Overdue, None) => {
                return None;
            }
        })
    }
}

impl HoldSaid {
    pub(super) fn new(machine: &str, held_by: HeldBy, note: &Said, by: &Said) -> Self {
        let held_by = match held_by {
            HeldBy::Lock => HeldBySaid::Lock,
            HeldBy::Route => HeldBySaid::Route,
        };
        Self { machine: machine.to_owned(), held_by, note: note.to_string(), by: by.to_string() }
    }

    pub(super) fn held_by(&self) -> HeldBy {
        match self.held_by {
            HeldBySaid::Lock => HeldBy::Lock,
            HeldBySaid::Route => HeldBy::Route,
        }
    }
}

impl From<Position> for PositionSaid {
    fn from(position: Position) -> Self {
        match position {
            Position::Normal => Self::Normal,
            Position::Reverse => Self::Reverse,
        }
    }
}

impl From<PositionSaid> for Position {
    fn from(said: PositionSaid) -> Self {
        match said {
            PositionSaid::Normal => Self::Normal,
            PositionSaid::Reverse => Self::Reverse,
        }
    }
}
