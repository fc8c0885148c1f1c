//! Which link moves which machine, and whether it can tell that the machine moved.
//!
//! A layout without `[link.*]` has one link, to the modelled layout. Several links of kind `simulator` are one modelled layout. A machine that no
//! link moves is moved by nothing, and throws of it are refused.

use description::LinkKind;
use network::MachineId;
use plan::model::Plan;

use crate::link;

/// One link, and what it moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reach {
    /// What people and the log call it.
    pub name: String,
    /// Its place among the links of the description; none for the modelled layout.
    pub described: Option<usize>,
    /// What it moves.
    pub machines: Vec<MachineId>,
    /// Whether it says where machines stand. One that cannot leaves every throw unproven.
    pub reports: bool,
}

impl Reach {
    /// Whether it leads to the modelled layout.
    pub fn is_simulated(&self) -> bool {
        self.described.is_none()
    }
}

/// Every link of a plan that moves something, in the order of the description.
pub(crate) fn reaches(plan: &Plan) -> Vec<Reach> {
    let network = &plan.network;
    let modelled =
        |machines| Reach { name: link::SIMULATOR.to_owned(), described: None, machines, reports: true };
    if network.links.is_empty() {
        return vec![modelled((0..network.machines.len()).map(MachineId::at).collect())];
    }
    let mut reaches: Vec<Reach> = Vec::new();
    for moved in &network.links {
        let Some(described) = network.described.links.get(moved.described) else { continue };
        let machines = moved.machines.clone();
        let reports = match &described.kind {
            LinkKind::Simulator => {
                match reaches.iter_mut().find(|reach| reach.is_simulated()) {
                    Some(reach) => reach.machines.extend(machines),
                    None => reaches.push(modelled(machines)),
                }
                continue;
            }
            LinkKind::LayoutBus { .. } | LinkKind::Broker { .. } => true,
            LinkKind::Bytes(bytes) => bytes.confirm.is_some(),
        };
        let name = format!("link {}", described.id.value);
        reaches.push(Reach { name, described: Some(moved.described), machines, reports });
    }
    reaches
}
