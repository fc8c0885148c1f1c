//! What of a plan the running panel needs: levers by their numbers and the machines they move.

use std::collections::BTreeMap;

use network::MachineId;
use plan::model::{LeverNumber, Plan};

/// The levers and machines of one layout. It does not change while the panel runs.
#[derive(Clone, Debug)]
pub struct Railroad {
    layout: String,
    levers: BTreeMap<LeverNumber, Lever>,
    machines: Vec<Machine>,
}

/// One control on the panel.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Lever {
    /// The number on the panel.
    pub number: LeverNumber,
    /// What the description calls it, and with it the drawings.
    pub id: String,
    /// What the plate calls it.
    pub name: String,
    /// What it moves, in natural order.
    pub machines: Vec<MachineId>,
}

/// One motor under the benchwork.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Machine {
    /// What the wiring sheets call it.
    pub name: String,
    /// The lever that moves it; none where the plan gave it none.
    pub lever: Option<LeverNumber>,
}

/// Two levers of the plan carry one number, so nobody could say which of them is meant.
#[derive(Clone, Copy, Debug, PartialEq, Eq, thiserror::Error)]
#[error("two levers carry the number {number}; `throwbar check` shows both")]
pub struct NumberTwice {
    /// The number.
    pub number: LeverNumber,
}

impl Railroad {
    /// The railroad that a plan describes.
    ///
    /// # Errors
    /// When two levers carry one number.
    pub fn new(plan: &Plan) -> Result<Self, NumberTwice> {
        let mut machines: Vec<Machine> = (plan.network.machines.iter())
            .map(|machine| Machine { name: machine.name.clone(), lever: None })
            .collect();
        let mut levers = BTreeMap::new();
        for planned in &plan.levers {
            let number = planned.number.value;
            let lever = plan.network.lever(planned.lever);
            for id in &lever.machines {
                if let Some(machine) = machines.get_mut(id.index()) {
                    machine.lever = Some(number);
                }
            }
            let entry = Lever {
                number,
                id: lever.id.clone(),
                name: lever.name.clone(),
                machines: lever.machines.clone(),
            };
            if levers.insert(number, entry).is_some() {
                return Err(NumberTwice { number });
            }
        }
        Ok(Self { layout: plan.network.described.layout.name.clone(), levers, machines })
    }

    /// The layout's name.
    pub fn layout(&self) -> &str {
        &self.layout
    }

    /// Every lever, by number.
    pub fn levers(&self) -> impl Iterator<Item = &Lever> {
        self.levers.values()
    }

    /// The lever of this number.
    pub fn lever(&self, number: LeverNumber) -> Option<&Lever> {
        self.levers.get(&number)
    }

    /// Every machine with its id.
    pub fn machines(&self) -> impl Iterator<Item = (MachineId, &Machine)> {
        self.machines.iter().enumerate().map(|(index, machine)| (MachineId::at(index), machine))
    }

    /// The machine of this id.
    pub fn machine(&self, id: MachineId) -> Option<&Machine> {
        self.machines.get(id.index())
    }

    /// The machine of this name.
    pub fn machine_named(&self, name: &str) -> Option<MachineId> {
        self.machines().find(|(_, machine)| machine.name == name).map(|(id, _)| id)
    }
}
