//! What is spoken over a wire, without the wire: machines become addresses and text on the way out, and text becomes events on the way in.
//!
//! Whoever holds the socket tells it that the wire is there or gone, hands it what came in, and takes what is to go out. Nothing that is to go
//! out outlives the connection it was meant for: a command is never sent late.

use std::collections::BTreeMap;

use description::{Bytes, LinkKind};
use network::{MachineId, Position};
use packet::{BinaryAddress, Direction, NormalIs, UserAddress};

use super::bytes::{At, Counting, RowReader, fill, words};
use super::{Heard, LayoutBus, NodeId};
use crate::{Event, Moment, Railroad, Reach, Said};

/// The most bytes that wait for the wire; past it the wire is too slow to be of use and is closed.
pub const BYTES_WAITING_MAX: usize = 64 * 1024;

/// What one link speaks.
#[derive(Clone, Debug)]
pub struct Wire {
    name: Said,
    counting: Counting,
    /// What each machine answers to, and whether its commands are turned round.
    addresses: BTreeMap<MachineId, (UserAddress, bool)>,
    at_address: BTreeMap<BinaryAddress, Vec<MachineId>>,
    tongue: Tongue,
}

#[derive(Clone, Debug)]
enum Tongue {
    Bus(Box<LayoutBus>),
    Bytes { wording: Box<Bytes>, reader: RowReader, out: Vec<u8>, is_connected: bool },
}

impl Wire {
    /// What a link of the railroad speaks; none where it speaks over no wire.
    pub fn of(railroad: &Railroad, reach: &Reach) -> Option<Self> {
        let plan = railroad.plan();
        let counting = Counting { scheme: plan.scheme(), normal_is: plan.normal_is() };
        let mut addresses = BTreeMap::new();
        let mut at_address: BTreeMap<BinaryAddress, Vec<MachineId>> = BTreeMap::new();
        for &machine in &reach.machines {
            let lever = railroad.machine(machine).and_then(|machine| railroad.lever(machine.lever?));
            let Some((address, turned)) = lever.map(|lever| (lever.address, lever.turned)) else { continue };
            addresses.insert(machine, (address, turned));
            at_address.entry(address.binary(counting.scheme)).or_default().push(machine);
        }
        let tongue = match &plan.network.described.links.get(reach.described?)?.kind {
            LinkKind::LayoutBus { node, .. } => {
                let outputs = at_address.keys().copied();
                Tongue::Bus(Box::new(LayoutBus::new(NodeId::read(&node.value)?, outputs)))
            }
            LinkKind::Bytes(wording) => Tongue::Bytes {
                wording: Box::new(wording.clone()),
                reader: RowReader::default(),
                out: Vec::new(),
                is_connected: false,
            },
            LinkKind::Simulator | LinkKind::Broker { .. } => return None,
        };
        Some(Self { name: Said::whole(&reach.name), counting, addresses, at_address, tongue })
    }

    /// What people and the log call the link.
    pub fn name(&self) -> &Said {
        &self.name
    }

    /// The wire is there.
    pub fn connected(&mut self, at: Moment) {
        match &mut self.tongue {
            Tongue::Bus(bus) => bus.connected(at),
            Tongue::Bytes { reader, out, is_connected, .. } => {
                *reader = RowReader::default();
                out.clear();
                *is_connected = true;
            }
        }
    }

    /// The wire is gone, and with it all that waited to go out.
    pub fn disconnected(&mut self) {
        match &mut self.tongue {
            Tongue::Bus(bus) => bus.disconnected(),
            Tongue::Bytes { out, is_connected, .. } => {
                out.clear();
                *is_connected = false;
            }
        }
    }

    /// Whether throws are taken.
    pub fn is_ready(&self) -> bool {
        match &self.tongue {
            Tongue::Bus(bus) => bus.is_present(),
            Tongue::Bytes { is_connected, .. } => *is_connected,
        }
    }

    /// Whether more waited to go out than a wire of use takes: it should be closed.
    pub fn is_overflowed(&self) -> bool {
        match &self.tongue {
            Tongue::Bus(bus) => bus.is_overflowed(),
            Tongue::Bytes { out, .. } => out.len() > BYTES_WAITING_MAX,
        }
    }

    /// When time matters next.
    pub fn next_due(&self) -> Option<Moment> {
        match &self.tongue {
            Tongue::Bus(bus) => bus.next_due(),
            Tongue::Bytes { .. } => None,
        }
    }

    /// Time has passed.
    pub fn tick(&mut self, at: Moment) {
        match &mut self.tongue {
            Tongue::Bus(bus) => bus.tick(at),
            Tongue::Bytes { .. } => {}
        }
    }

    /// Throws a machine: false when nothing will go out.
    pub fn throw(&mut self, machine: MachineId, position: Position) -> bool {
        let Some(&(address, turned)) = self.addresses.get(&machine) else { return false };
        let position = if turned { position.other() } else { position };
        let counting = self.counting;
        match &mut self.tongue {
            Tongue::Bus(bus) => {
                bus.throw(address.binary(counting.scheme), direction(position, counting.normal_is))
            }
            Tongue::Bytes { wording, out, is_connected, .. } => {
                if *is_connected {
                    out.extend(fill(&wording.throw.value, At { address, position }, counting));
                }
                *is_connected
            }
        }
    }

    /// Asks for the emergency stop, or frees everything again: false when the link is not ready or has no words for it.
    pub fn stop(&mut self, stop: bool) -> bool {
        match &mut self.tongue {
            Tongue::Bus(bus) => bus.stop(stop),
            Tongue::Bytes { wording, out, is_connected, .. } => {
                let template = if stop { &wording.stop } else { &wording.free };
                let Some(template) = template.as_ref().filter(|_| *is_connected) else { return false };
                out.extend(words(&template.value));
                true
            }
        }
    }

    /// What is to go out now. It is gone from here then.
    pub fn take(&mut self) -> Vec<u8> {
        match &mut self.tongue {
            Tongue::Bus(bus) => bus.take_text().into_bytes(),
            Tongue::Bytes { out, .. } => std::mem::take(out),
        }
    }

    /// What came in says. Whatever cannot be read says nothing.
    ///
    /// A stop of another node stops this panel too; that it frees everything again does not, because people here have to look first.
    pub fn read(&mut self, bytes: &[u8], at: Moment) -> Vec<Event> {
        let counting = self.counting;
        let mut events = Vec::new();
        let addresses = &self.addresses;
        let mut stands = |address: BinaryAddress, position: Position, of: &BTreeMap<_, Vec<MachineId>>| {
            let machines = of.get(&address).into_iter().flatten();
            events.extend(machines.map(|&machine| {
                let turned = addresses.get(&machine).is_some_and(|&(_, turned)| turned);
                Event::Confirmed { machine, position: if turned { position.other() } else { position } }
            }));
        };
        match &mut self.tongue {
            Tongue::Bus(bus) => {
                let mut is_stopped = false;
                for heard in bus.read(bytes, at) {
                    match heard {
                        Heard::Stands(address, stood) => {
                            let position = position(stood, counting.normal_is);
                            stands(address, position, &self.at_address);
                        }
                        Heard::Stopped => is_stopped = true,
                        // Where the machine then stands, its own feedback says.
                        Heard::ThrownElsewhere(..) | Heard::Freed => {}
                    }
                }
                if is_stopped {
                    events.push(Event::Stop { by: self.name.clone() });
                }
            }
            Tongue::Bytes { wording, reader, .. } => {
                let Some(confirm) = &wording.confirm else { return events };
                for heard in reader.read(bytes, &confirm.value, counting) {
                    stands(heard.address.binary(counting.scheme), heard.position, &self.at_address);
                }
            }
        }
        events
    }
}

fn direction(position: Position, normal_is: NormalIs) -> Direction {
    let position = match position {
        Position::Normal => packet::Position::Normal,
        Position::Reverse => packet::Position::Reverse,
    };
    Direction::of(position, normal_is)
}

fn position(direction: Direction, normal_is: NormalIs) -> Position {
    match direction.position(normal_is) {
        packet::Position::Normal => Position::Normal,
        packet::Position::Reverse => Position::Reverse,
    }
}
