//! A modelled layout, down to the bits on the rails: a command becomes a packet, the packet a signal, the signal is read by
//! a decoder with a decoder's tolerances, and the machines at its address take their travel time and then report.
//!
//! ```text
//! send ─ Packet ─ Bits ─ Wave ─▶ Receiver ─ Decoded ─▶ outputs at that address ─▶ machines ─▶ reports
//! ```
//!
//! A machine that is sent elsewhere while it travels turns round and reports only once, at the end. Machines that arrive
//! at one moment report in the order in which they were sent. Faults can be put into machines; see [`Fault`].
//!
//! # What happens to it when the panel restarts
//!
//! Points stay where they are when a computer stops, so the modelled layout holds the positions that the journal says
//! were confirmed. A machine that had been sent and had not yet reported has its command already, and its motor does
//! not stop because the panel did: so it starts its travel afresh on reopening and reports in due time. Until then the
//! panel shows it as on its way, never as arrived. The panel itself sends nothing again on reopening: a real machine must
//! not move because a computer was started.

use std::collections::{BTreeMap, BTreeSet, VecDeque};

use network::{MachineId, Position};
use packet::{
    Basic, BinaryAddress, Bits, Decoded, Kind, LocoStop, NormalIs, Ns, Packet, Preamble, Receiver, Seen, Wave,
};

use crate::{Event, Moment, Railroad, Reach, State, Wait};

/// How long a modelled machine travels from one position to the other: a brisk stall motor (common practice, no source).
pub const TRAVEL: Wait = Wait(900);

/// How the modelled layout is wired: bit 1 is normal.
const NORMAL: NormalIs = NormalIs::One;

/// Something wrong with a modelled machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// It does not move, whatever it is told.
    Stuck,
    /// It moves and does not report.
    FeedbackLost,
    /// It moves to the other position than it is told, and reports where it is.
    WrongWayRound,
    /// It takes this long.
    Slow(Wait),
    /// The output of the decoder that it is wired to is dead: nothing at that address moves.
    OutputDead,
}

/// The modelled layout.
#[derive(Clone, Debug)]
pub struct Simulator {
    /// What each machine answers to, and whether its commands are turned round.
    addresses: BTreeMap<MachineId, (BinaryAddress, bool)>,
    /// Machines that move the other way round than they are told, by the record.
    inverted: BTreeSet<MachineId>,
    /// What each address moves.
    outputs: BTreeMap<BinaryAddress, Vec<MachineId>>,
    faults: BTreeMap<MachineId, Fault>,
    /// Where each machine truly stands, whatever it reports.
    stands: BTreeMap<MachineId, Position>,
    /// Machines on their way, in the order in which they arrive.
    travelling: VecDeque<Travel>,
    rails: Rails,
    trains_stopped: bool,
}

#[derive(Clone, Copy, Debug)]
struct Travel {
    machine: MachineId,
    to: Position,
    arrives: Moment,
}

/// The signal on the rails, and the decoder's ear on it.
#[derive(Clone, Debug)]
struct Rails {
    receiver: Receiver,
    at: Ns,
    level: bool,
    packets: u64,
}

impl Simulator {
    /// The layout of a railroad, every machine at rest and sound.
    pub fn new(railroad: &Railroad) -> Self {
        let scheme = railroad.plan().scheme();
        let mut addresses = BTreeMap::new();
        let mut outputs: BTreeMap<BinaryAddress, Vec<MachineId>> = BTreeMap::new();
        for lever in railroad.levers() {
            let address = lever.address.binary(scheme);
            let is_modelled =
                |machine: &MachineId| railroad.link_of(*machine).is_some_and(Reach::is_simulated);
            let modelled = lever.machines.iter().copied().filter(is_modelled);
            addresses.extend(modelled.clone().map(|machine| (machine, (address, lever.turned))));
            outputs.entry(address).or_default().extend(modelled);
        }
        Self {
            addresses,
            inverted: railroad.machines().filter(|(_, machine)| machine.inverted).map(|(id, _)| id).collect(),
            outputs,
            faults: BTreeMap::new(),
            stands: BTreeMap::new(),
            travelling: VecDeque::new(),
            rails: Rails { receiver: Receiver::new(0), at: 0, level: false, packets: 0 },
            trains_stopped: false,
        }
    }

    /// The layout as it stands when the panel is opened with this state at this moment.
    pub fn holding(railroad: &Railroad, state: &State, at: Moment) -> Self {
        let mut simulator = Self::new(railroad);
        for (machine, _) in railroad.machines() {
            let standing = state.standing(machine);
            simulator.stands.extend(standing.confirmed.map(|at| (machine, at)));
            let is_modelled = simulator.addresses.contains_key(&machine);
            if let (true, Some(_), Some(to)) = (is_modelled, standing.waiting_since, standing.commanded) {
                let turned = simulator.addresses.get(&machine).is_some_and(|&(_, turned)| turned);
                simulator.start(machine, if turned { to.other() } else { to }, at);
            }
        }
        simulator.trains_stopped = state.stopped().is_some();
        simulator
    }

    /// Takes a command for one machine. All machines at its address answer it, as they do under a real benchwork.
    pub fn send(&mut self, machine: MachineId, to: Position, at: Moment) {
        let Some(&(address, turned)) = self.addresses.get(&machine) else { return };
        let to = match if turned { to.other() } else { to } {
            Position::Normal => packet::Position::Normal,
            Position::Reverse => packet::Position::Reverse,
        };
        self.put_on_rails(Packet::Basic(Basic::throw(address, to, NORMAL)), at);
    }

    /// Stops all trains.
    pub fn stop_trains(&mut self, at: Moment) {
        let stop = LocoStop { cut_off: true, forward: false, direction_optional: true };
        self.put_on_rails(Packet::LocoStop(stop), at);
    }

    /// Lets trains run again.
    pub fn let_trains_run(&mut self) {
        self.trains_stopped = false;
    }

    /// Whether all trains have been told to stop.
    pub fn trains_stopped(&self) -> bool {
        self.trains_stopped
    }

    /// How many packets decoders have read.
    pub fn packets_read(&self) -> u64 {
        self.rails.packets
    }

    /// Puts a fault into a machine, or mends it.
    pub fn spoil(&mut self, machine: MachineId, fault: Option<Fault>) {
        match fault {
            Some(fault) => drop(self.faults.insert(machine, fault)),
            None => drop(self.faults.remove(&machine)),
        }
    }

    /// Someone moves points by hand.
    pub fn move_by_hand(&mut self, machine: MachineId, to: Position, at: Moment) {
        self.travel(machine, to, at);
    }

    /// Where a machine truly stands; none while it travels, or where it has never moved.
    pub fn stands(&self, machine: MachineId) -> Option<Position> {
        let travels = self.travelling.iter().any(|travel| travel.machine == machine);
        self.stands.get(&machine).copied().filter(|_| !travels)
    }

    /// When the next machine arrives.
    pub fn next_due(&self) -> Option<Moment> {
        self.travelling.front().map(|travel| travel.arrives)
    }

    /// The reports of all machines that have arrived by this moment, in order.
    pub fn reports(&mut self, at: Moment) -> Vec<Event> {
        let arrived = self.travelling.partition_point(|travel| travel.arrives <= at);
        let mut reports = Vec::new();
        for Travel { machine, to, .. } in self.travelling.drain(..arrived) {
            self.stands.insert(machine, to);
            if self.faults.get(&machine) != Some(&Fault::FeedbackLost) {
                reports.push(Event::Confirmed { machine, position: to });
            }
        }
        reports
    }

    fn put_on_rails(&mut self, packet: Packet, at: Moment) {
        for heard in self.rails.carry(packet) {
            if let Kind::LocoStop(_) = heard.kind {
                self.trains_stopped = true;
            }
            let Kind::Basic(basic) = heard.kind else { continue };
            let to = match basic.direction.position(NORMAL) {
                packet::Position::Normal => Position::Normal,
                packet::Position::Reverse => Position::Reverse,
            };
            if basic.active {
                let machines = self.outputs.get(&basic.address).cloned().unwrap_or_default();
                if machines.iter().any(|machine| self.faults.get(machine) == Some(&Fault::OutputDead)) {
                    continue;
                }
                for machine in machines {
                    self.start(machine, to, at);
                }
            }
        }
    }

    /// A decoder's output starts a machine.
    fn start(&mut self, machine: MachineId, told: Position, at: Moment) {
        let to = if self.inverted.contains(&machine) { told.other() } else { told };
        let (to, takes) = match self.faults.get(&machine) {
            Some(Fault::Stuck) => return,
            Some(Fault::WrongWayRound) => (to.other(), TRAVEL),
            Some(Fault::Slow(takes)) => (to, *takes),
            // A motor on its way goes on without the output that started it.
            Some(Fault::FeedbackLost | Fault::OutputDead) | None => (to, TRAVEL),
        };
        let on_its_way = self.travelling.iter().any(|travel| travel.machine == machine && travel.to == to);
        if !on_its_way {
            self.travel(machine, to, at.after(takes));
        }
    }

    fn travel(&mut self, machine: MachineId, to: Position, arrives: Moment) {
        self.travelling.retain(|travel| travel.machine != machine);
        let place = self.travelling.partition_point(|travel| travel.arrives <= arrives);
        self.travelling.insert(place, Travel { machine, to, arrives });
    }
}

impl Rails {
    /// Puts a packet on the rails half bit by half bit, and gives what a decoder reads of it.
    fn carry(&mut self, packet: Packet) -> Vec<Decoded> {
        let mut heard = Vec::new();
        let mut hear = |event| {
            if let packet::Event::Packet(received) = event {
                let decoded = Decoded::new(received.bytes, Seen::Main);
                // A decoder ignores a packet whose error byte is wrong.
                if decoded.checksum_ok() {
                    heard.push(decoded);
                }
            }
        };
        if self.at == 0 {
            self.receiver.edge(self.at, self.level, &mut hear);
        }
        for half in Bits::new(packet.encode(), Preamble::STANDARD).flat_map(|bit| Wave::NOMINAL.halves(bit)) {
            self.at += half;
            self.level = !self.level;
            self.receiver.edge(self.at, self.level, &mut hear);
        }
        self.packets += heard.len() as u64;
        heard
    }
}
