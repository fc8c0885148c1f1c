//! Plans made by hand: levers with the machines they move and nothing else, for nothing else matters here.

use live::Railroad;
use network::{JointId, Lever, LeverId, Machine, MachineId, Network};
use notice::{Because, Decided, Rule, Span};
use packet::UserAddress;
use plan::model::{Plan, PlannedLever};

static BY_HAND: Rule = Rule { name: "by-hand", sentence: "{} is written in the test" };

/// A railroad with these levers, each with its number and its machines' names.
pub(crate) fn railroad(levers: &[(u16, &[&str])]) -> Railroad {
    Railroad::new(plan(levers)).unwrap()
}

pub(crate) fn plan(levers: &[(u16, &[&str])]) -> Plan {
    let mut network = Network::default();
    let mut planned = Vec::new();
    for (index, &(number, names)) in levers.iter().enumerate() {
        let id = LeverId::at(index);
        let machines = names.iter().map(|&name| {
            let joint = JointId::at(index);
            network.machines.push(Machine { name: name.into(), joint, motor: "stall".into(), lever: id });
            MachineId::at(network.machines.len() - 1)
        });
        let lever = Lever {
            id: number.to_string(),
            name: format!("lever {number}"),
            span: Span::default(),
            machines: machines.collect(),
            pins: description::Pins::default(),
        };
        network.levers.push(lever);
        planned.push(PlannedLever {
            lever: id,
            number: Decided::new(number, Because::new(&BY_HAND, [number.into()])),
            line: None,
            control: None,
            address: Decided::new(UserAddress::new(number).unwrap(), Because::new(&BY_HAND, [number.into()])),
        });
    }
    network.described.layout.name = "Tern Harbor Terminal".into();
    // Everything else is as in the plan of a layout without anything.
    Plan { network, levers: planned, ..plan::make(Network::default()).value }
}
