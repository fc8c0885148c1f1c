//! What is wrong with packets one after another, though each is whole: too close, too few, or of a form nothing should send.

use crate::wave::{Ns, SPACING};
use crate::{Bytes, Decoded, Kind, Received, Recipient, Seen, Warning};

/// How long after a reset a packet to addresses 112 to 127 is for the programming track.
///
/// # Source
/// NMRA S-9.2.3 (July 2012), section C: 20 ms.
const PROGRAMMING: Ns = 20_000_000;

/// A command that comes again after this long is another command.
///
/// Common practice, no source.
const AGAIN: Ns = 1_000_000_000;

/// How many different commands are remembered at once.
const COMMANDS_MAX: usize = 64;

/// How many packets are looked back on for their spacing. More cannot begin within 5 ms: the shortest lasts 4.5 ms.
const RECENT: usize = 2;

/// What is wrong with packets one after another.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TrafficFault {
    /// The error byte is wrong.
    Checksum {
        /// What it has to be.
        expected: u8,
    },
    /// Less than 5 ms after another packet to the same decoder.
    Close {
        /// From the end bit of that to the start bit of this.
        after: Ns,
    },
    /// A write to a variable that came once only: a decoder waits for a second.
    LoneWrite,
    /// An accessory command that came once only.
    LoneCommand,
    /// The obsolete form of a write to a variable.
    LegacyCvWrite,
    /// To an address from 100 to 111 within 20 ms of a reset.
    AfterReset,
    /// Half bits that a station may not send so.
    Uneven {
        /// How many.
        count: u32,
        /// How long the worst lasts.
        worst: Ns,
    },
}

/// A packet with what it means and what is wrong with it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Watched {
    /// What it means.
    pub decoded: Decoded,
    /// Where it was seen, as far as the packets before tell.
    pub seen: Seen,
}

#[derive(Clone, Copy, Debug)]
struct Command {
    bytes: Bytes,
    first: Ns,
    last: Ns,
    times: u32,
    writes: bool,
    recipient: Recipient,
}

/// Looks at packets one after another.
#[derive(Clone, Debug)]
pub struct Watch {
    recent: [Option<(Recipient, Ns)>; RECENT],
    commands: [Option<Command>; COMMANDS_MAX],
    reset: Option<Ns>,
}

impl Default for Watch {
    fn default() -> Self {
        Self { recent: [None; RECENT], commands: [None; COMMANDS_MAX], reset: None }
    }
}

impl Watch {
    /// Nothing has been seen yet.
    pub fn new() -> Self {
        Self::default()
    }

    /// A packet has come. Says what it means, and tells of every fault when it began.
    pub fn packet(&mut self, received: &Received, to: &mut impl FnMut(Ns, TrafficFault)) -> Watched {
        let seen = self.seen(received);
        let decoded = Decoded::new(received.bytes, seen);
        let at = received.start_bit;
        if received.uneven > 0 {
            to(at, TrafficFault::Uneven { count: received.uneven, worst: received.worst });
        }
        if !decoded.checksum_ok() {
            // Nobody acts on it, so nothing else about it matters.
            to(at, TrafficFault::Checksum { expected: received.bytes.checksum() });
            return Watched { decoded, seen };
        }
        if decoded.warning() == Some(Warning::LegacyCvWrite) {
            to(at, TrafficFault::LegacyCvWrite);
        }
        self.spacing(&decoded, received, to);
        self.repeats(&decoded, received, to);
        self.resets(&decoded, received, to);
        Watched { decoded, seen }
    }

    /// Nothing more comes: tells of what came once only.
    pub fn finish(&mut self, to: &mut impl FnMut(Ns, TrafficFault)) {
        for held in &mut self.commands {
            if let Some(command) = held.take() {
                Self::lone(&command, to);
            }
        }
    }

    fn seen(&self, received: &Received) -> Seen {
        let near = self.reset.is_some_and(|ended| received.start_bit <= ended.saturating_add(PROGRAMMING));
        let first = received.bytes.as_slice().first().copied().unwrap_or_default();
        if near && (112..=127).contains(&first) { Seen::Programming } else { Seen::Main }
    }

    fn resets(&mut self, decoded: &Decoded, received: &Received, to: &mut impl FnMut(Ns, TrafficFault)) {
        match decoded.kind {
            Kind::Reset | Kind::ServiceDirect { .. } | Kind::ServiceRegister { .. } => {
                self.reset = Some(received.ended);
            }
            Kind::MultiFunction { address: crate::LocoAddress::Short(100..=111), .. } => {
                let near =
                    self.reset.is_some_and(|ended| received.start_bit < ended.saturating_add(PROGRAMMING));
                if near {
                    to(received.start_bit, TrafficFault::AfterReset);
                }
            }
            Kind::Idle
            | Kind::LocoStop(_)
            | Kind::Basic(_)
            | Kind::Extended(_)
            | Kind::AccessoryCv(_)
            | Kind::LegacyCv { .. }
            | Kind::AccessoryNothing(_)
            | Kind::AccessoryReserved(_)
            | Kind::MultiFunction { .. }
            | Kind::Reserved => {}
        }
    }

    fn spacing(&mut self, decoded: &Decoded, received: &Received, to: &mut impl FnMut(Ns, TrafficFault)) {
        let recipient = Recipient::of(decoded.kind);
        // Resets and what a programming track carries come back to back by their own standard.
        let all = recipient == Recipient::All;
        let nearest = self
            .recent
            .iter()
            .flatten()
            .filter(|(other, _)| !all && *other != Recipient::All && other.meets(recipient))
            .map(|(_, ended)| received.start_bit.saturating_sub(*ended))
            .min();
        if let Some(after) = nearest.filter(|after| *after < SPACING) {
            to(received.start_bit, TrafficFault::Close { after });
        }
        self.recent.rotate_right(1);
        if let Some(newest) = self.recent.first_mut() {
            *newest = Some((recipient, received.ended));
        }
    }

    /// Counts commands, and tells of those that came once only when they are forgotten.
    fn repeats(&mut self, decoded: &Decoded, received: &Received, to: &mut impl FnMut(Ns, TrafficFault)) {
        let at = received.start_bit;
        let recipient = Recipient::of(decoded.kind);
        let writes = match decoded.kind {
            Kind::Basic(_) | Kind::Extended(_) => false,
            Kind::AccessoryCv(access) => access.action.writes(),
            Kind::Idle
            | Kind::Reset
            | Kind::LocoStop(_)
            | Kind::LegacyCv { .. }
            | Kind::AccessoryNothing(_)
            | Kind::AccessoryReserved(_)
            | Kind::MultiFunction { .. }
            | Kind::ServiceDirect { .. }
            | Kind::ServiceRegister { .. }
            | Kind::Reserved => return,
        };
        for held in &mut self.commands {
            let Some(command) = held else { continue };
            let same = command.bytes == received.bytes;
            // A decoder remembers a write for as long as nothing else is sent to it.
            let old = !command.writes && at.saturating_sub(command.last) > AGAIN;
            // Any other packet to the same decoder makes it forget a write that came once.
            let broken = command.writes && !same && command.recipient.meets(recipient);
            if same && !old {
                command.times += 1;
                command.last = at;
                return;
            }
            if old || broken {
                Self::lone(command, to);
                *held = None;
            }
        }
        let command = Command { bytes: received.bytes, first: at, last: at, times: 1, writes, recipient };
        let free = self.commands.iter().position(Option::is_none);
        let oldest = || {
            let held = self.commands.iter().enumerate();
            held.min_by_key(|(_, held)| held.map(|command| command.last)).map(|(index, _)| index)
        };
        if let Some(place) = free.or_else(oldest).and_then(|index| self.commands.get_mut(index)) {
            if let Some(forgotten) = place {
                Self::lone(forgotten, to);
            }
            *place = Some(command);
        }
    }

    fn lone(command: &Command, to: &mut impl FnMut(Ns, TrafficFault)) {
        if command.times == 1 {
            to(
                command.first,
                if command.writes { TrafficFault::LoneWrite } else { TrafficFault::LoneCommand },
            );
        }
    }
}
