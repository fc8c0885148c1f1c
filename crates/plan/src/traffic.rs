//! What was heard on the rails, held against the plan: commands that nothing answers, or something else does; one address thrown to and
//! fro, as by two places that command it; commands to all; and the way of counting that would explain them.
//!
//! Nothing is decided here. An address is remembered once, so a capture of any length takes the same room.

use crate::model::Plan;
use packet::{BinaryAddress, Decoded, Kind, NormalIs, Ns, Position, Scheme};
use std::collections::{BTreeMap, BTreeSet};

/// Two commands to one address within this long, to different positions, are not one operator's: a machine has hardly moved.
///
/// Common practice, no source: a stall motor takes 1 to 3 s from side to side.
pub const TURNED_WITHIN: Ns = 1_000_000_000;

/// What does not go with the plan. Each is told once of an address.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Conflict {
    /// Nothing in the plan answers.
    Unanswered {
        /// The address that is commanded.
        address: u16,
    },
    /// Nothing in the plan answers, and `taken` of the description says that something else does.
    Taken {
        /// The address that is commanded.
        address: u16,
        /// The first address of that stretch.
        first: u16,
        /// The last one.
        last: u16,
    },
    /// Thrown to the other position right after the first.
    Turned {
        /// The address.
        address: u16,
        /// Where it is thrown to now.
        to: Position,
        /// How long after.
        after: Ns,
    },
    /// Thrown to one position, to the other, and back.
    Fought {
        /// The address.
        address: u16,
        /// From the first turn to this one.
        within: Ns,
    },
    /// A command to every accessory decoder.
    Broadcast {
        /// Whether it stops them; else it throws.
        stops: bool,
        /// How many addresses of the plan hear it.
        addresses: usize,
    },
    /// Another way of counting fits more of the addresses than the one they are counted in.
    OtherScheme {
        /// The one that the addresses are counted in.
        own: Scheme,
        /// How many of the addresses it fits.
        own_fits: usize,
        /// The one that fits most.
        other: Scheme,
        /// How many that one fits.
        other_fits: usize,
        /// How many different addresses were commanded.
        commanded: usize,
        /// One that shows it, as it is counted, and as the other counts it.
        sample: (u16, u16),
    },
}

/// What was commanded so far.
#[derive(Clone, Debug)]
pub struct Traffic {
    scheme: Scheme,
    normal: NormalIs,
    planned: BTreeSet<u16>,
    taken: Vec<(u16, u16)>,
    /// Every address that was commanded, and when it was first.
    commanded: BTreeMap<BinaryAddress, Ns>,
    thrown: BTreeMap<BinaryAddress, Thrown>,
    broadcast: [bool; 2],
}

/// The last command to an address.
#[derive(Clone, Copy, Debug)]
struct Thrown {
    position: Position,
    at: Ns,
    /// When it was last turned to the other position too soon.
    turned: Option<Ns>,
    told: [bool; 2],
}

impl Traffic {
    /// Nothing has been heard yet, and this is planned; packets are counted and read so.
    pub fn new(plan: &Plan, scheme: Scheme, normal: NormalIs) -> Self {
        let system = &plan.network.described.system;
        let others = plan.accessories.iter().filter_map(|planned| planned.address.as_ref());
        let others = others.map(|address| address.value.number());
        Self {
            scheme,
            normal,
            planned: plan.addresses.iter().map(|row| row.address.number()).chain(others).collect(),
            taken: system.taken.iter().map(|range| range.value).collect(),
            commanded: BTreeMap::new(),
            thrown: BTreeMap::new(),
            broadcast: [false; 2],
        }
    }

    /// A packet with a right error byte was heard. Tells what does not go with the plan.
    pub fn hear(&mut self, at: Ns, decoded: &Decoded, to: &mut impl FnMut(Conflict)) {
        match decoded.kind {
            Kind::Basic(basic) if basic.address.is_broadcast_board() => self.broadcast(!basic.active, to),
            Kind::Extended(extended) if extended.is_broadcast() => self.broadcast(extended.aspect == 0, to),
            Kind::Basic(basic) => {
                self.command(at, basic.address, to);
                if basic.active {
                    self.throw(at, basic.address, basic.direction.position(self.normal), to);
                }
            }
            Kind::Extended(extended) => self.command(at, extended.address, to),
            // A variable may be asked for anywhere while a decoder is looked for.
            Kind::AccessoryCv(_)
            | Kind::LegacyCv { .. }
            | Kind::AccessoryNothing(_)
            | Kind::AccessoryReserved(_)
            | Kind::Idle
            | Kind::Reset
            | Kind::LocoStop(_)
            | Kind::MultiFunction { .. }
            | Kind::ServiceDirect { .. }
            | Kind::ServiceRegister { .. }
            | Kind::Reserved => {}
        }
    }

    fn broadcast(&mut self, stops: bool, to: &mut impl FnMut(Conflict)) {
        let [stopped, thrown] = &mut self.broadcast;
        let told = if stops { stopped } else { thrown };
        if !std::mem::replace(told, true) {
            to(Conflict::Broadcast { stops, addresses: self.planned.len() });
        }
    }

    fn command(&mut self, at: Ns, address: BinaryAddress, to: &mut impl FnMut(Conflict)) {
        if self.commanded.contains_key(&address) {
            return;
        }
        self.commanded.insert(address, at);
        let number = address.user(self.scheme).number();
        if self.planned.contains(&number) {
            return;
        }
        let taken = self.taken.iter().find(|(first, last)| (*first..=*last).contains(&number));
        to(match taken {
            Some(&(first, last)) => Conflict::Taken { address: number, first, last },
            None => Conflict::Unanswered { address: number },
        });
    }

    fn throw(&mut self, at: Ns, address: BinaryAddress, to: Position, tell: &mut impl FnMut(Conflict)) {
        let fresh = Thrown { position: to, at, turned: None, told: [false; 2] };
        let thrown = self.thrown.entry(address).or_insert(fresh);
        let number = address.user(self.scheme).number();
        let after = at.saturating_sub(thrown.at);
        if thrown.position != to {
            let [turned, fought] = &mut thrown.told;
            let before = thrown.turned.take().map(|turned| at.saturating_sub(turned));
            if after <= TURNED_WITHIN {
                if let Some(within) = before.filter(|within| *within <= TURNED_WITHIN) {
                    if !std::mem::replace(fought, true) {
                        tell(Conflict::Fought { address: number, within });
                    }
                } else if !std::mem::replace(turned, true) {
                    tell(Conflict::Turned { address: number, to, after });
                }
                thrown.turned = Some(at);
            }
        }
        thrown.position = to;
        thrown.at = at;
    }

    /// Nothing more comes: whether another way of counting fits more of what was commanded, and when that was first seen.
    pub fn finish(&self) -> Option<(Ns, Conflict)> {
        let fits = |scheme: Scheme| {
            let hit = |address: &&BinaryAddress| self.planned.contains(&address.user(scheme).number());
            self.commanded.keys().filter(hit).count()
        };
        let own_fits = fits(self.scheme);
        // Of equals the usual one: the last of the greatest is taken, so they are tried from behind.
        let others = Scheme::ALL.into_iter().rev().filter(|scheme| *scheme != self.scheme);
        let (other_fits, other) =
            others.map(|scheme| (fits(scheme), scheme)).max_by_key(|(fits, _)| *fits)?;
        if other_fits <= own_fits {
            return None;
        }
        let numbers =
            |address: BinaryAddress| (address.user(self.scheme).number(), address.user(other).number());
        let (sample, at) = self.commanded.iter().find_map(|(&address, &at)| {
            let (own, other) = numbers(address);
            let shows = !self.planned.contains(&own) && self.planned.contains(&other);
            shows.then_some(((own, other), at))
        })?;
        let commanded = self.commanded.len();
        let own = self.scheme;
        Some((at, Conflict::OtherScheme { own, own_fits, other, other_fits, commanded, sample }))
    }
}
