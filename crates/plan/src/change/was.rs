//! What is built, as far as a work order asks: read from the plan that it was built from, or from the as-built record alone.
//!
//! The record says less than a plan: of a machine not which motor it is, of a strip neither part nor place. What it does not
//! say is taken to be as it is wanted, so it makes no work.

use crate::model::{Plan, PlannedAccessory, PlannedAddress, PlannedLever};
use description::Drive;
use description::record::{DecoderBuilt, LeverBuilt, MachineBuilt, Record};
use network::MachineId;
use std::collections::{BTreeMap, BTreeSet};

/// A fact about something built.
#[derive(Clone, Debug)]
pub(super) enum Known<T> {
    /// It is this.
    Is(T),
    /// Nobody wrote it down.
    Untold,
}

impl<T: PartialEq> Known<T> {
    /// What it was, where that is known to be another than now.
    pub(super) fn unless(&self, now: &T) -> Option<&T> {
        match self {
            Self::Is(was) if was != now => Some(was),
            Self::Is(_) | Self::Untold => None,
        }
    }
}

impl<T> Known<T> {
    fn from_option(fact: Option<T>) -> Self {
        fact.map_or(Self::Untold, Self::Is)
    }
}

/// A lever that is built.
pub(super) struct LeverWas {
    pub(super) id: String,
    pub(super) number: u16,
    pub(super) name: Known<String>,
    /// The place of its panel.
    pub(super) at: Option<String>,
    /// Which panel and pair; none where it stands on no panel.
    pub(super) stands: Known<Option<String>>,
}

/// A machine that is built.
pub(super) struct MachineWas {
    pub(super) name: String,
    pub(super) motor: Known<String>,
    pub(super) at: Known<Option<String>>,
    /// The output that drives it.
    pub(super) lead: Option<String>,
    pub(super) address: Option<u16>,
}

/// A decoder that is built.
pub(super) struct DecoderWas {
    pub(super) id: String,
    pub(super) part: String,
    pub(super) at: Option<String>,
    pub(super) first: u16,
    /// What its label says: which number each output has.
    pub(super) label: String,
}

/// A strip that is built.
pub(super) struct StripWas {
    pub(super) panel: String,
    pub(super) part: Known<String>,
    pub(super) at: Known<Option<String>>,
    pub(super) first: u16,
    /// The cab-bus address of its chain; 0 where it has none.
    pub(super) cab: u16,
}

/// All of it.
#[derive(Default)]
pub(super) struct Was {
    pub(super) levers: Vec<LeverWas>,
    pub(super) machines: Vec<MachineWas>,
    pub(super) decoders: Vec<DecoderWas>,
    pub(super) strips: Vec<StripWas>,
    /// The places of signals and lights, by kind and id.
    pub(super) accessory_places: BTreeMap<String, String>,
    /// The outputs that drive signals and lights, likewise; one that is not here is not known.
    pub(super) accessory_leads: BTreeMap<String, Option<String>>,
}

impl Was {
    /// What is built from a plan, as its record says.
    pub(super) fn of_plan(plan: &Plan, built: &Record) -> Self {
        let network = &plan.network;
        let by_id: BTreeMap<&str, &PlannedLever> =
            plan.levers.iter().map(|lever| (network.lever(lever.lever).id.as_str(), lever)).collect();
        let levers = built.levers.keys().filter_map(|id| by_id.get_key_value(id.as_str()));
        let levers = levers.map(|(id, lever)| {
            let (at, stands) = stands(plan, lever);
            LeverWas {
                id: (*id).to_owned(),
                number: lever.number.value,
                name: Known::Is(network.lever(lever.lever).name.clone()),
                at,
                stands: Known::Is(stands),
            }
        });
        let driven = driven(plan);
        let machines = network.machines.iter().enumerate().map(|(index, machine)| {
            let address = driven.get(&MachineId::at(index)).copied();
            MachineWas {
                name: machine.name.clone(),
                motor: Known::Is(machine.motor.clone()),
                at: Known::Is(network.joint(machine.joint).at.clone()),
                lead: lead(plan, address),
                address: address.map(|planned| planned.address.number()),
            }
        });
        let decoders = plan.decoders.iter().enumerate().map(|(index, decoder)| DecoderWas {
            id: decoder.id.clone(),
            part: decoder.part.clone(),
            at: decoder.at.as_ref().map(|at| at.value.clone()),
            first: decoder.first.value.number(),
            label: label(plan, index),
        });
        let strips = plan.strips.iter().map(|strip| StripWas {
            panel: strip.panel.clone(),
            part: Known::Is(strip.part.clone()),
            at: Known::Is(strip.at.clone()),
            first: strip.first.value.number(),
            cab: cab(plan, strip.chain),
        });
        let accessories = &network.accessories;
        Self {
            levers: levers.collect(),
            machines: machines.collect(),
            decoders: decoders.collect(),
            strips: strips.collect(),
            accessory_leads: accessory_leads(plan),
            accessory_places: accessories
                .iter()
                .filter_map(|one| Some((one.key(), one.at.clone()?)))
                .collect(),
        }
    }

    /// What a record says is built. Strips are taken to have as many pairs, and to stand, as they do in the new plan.
    pub(super) fn of_record(built: &Record, new: &Plan) -> Self {
        let strips = built.strips.iter().map(|(panel, strip)| StripWas {
            panel: panel.clone(),
            part: Known::Untold,
            at: Known::Untold,
            first: strip.value.first_address,
            cab: strip.value.cab.unwrap_or_default(),
        });
        let levers = built.levers.iter().map(|(id, lever)| {
            let (at, stands) = stands_built(built, &lever.value, new);
            LeverWas { id: id.clone(), number: lever.value.number, name: Known::Untold, at, stands }
        });
        let machines = built.machines.iter().map(|(name, machine)| {
            // The wire to a motor ends where the motor is.
            let wire = built.wires.get(&format!("machine {name} motor"));
            MachineWas {
                name: name.clone(),
                motor: Known::Untold,
                at: Known::from_option(wire.map(|wire| wire.value.to.clone())),
                lead: lead_built(built, &machine.value),
                address: machine.value.address,
            }
        });
        let decoders = built.decoders.iter().map(|(id, decoder)| DecoderWas {
            id: id.clone(),
            part: decoder.value.part.clone(),
            at: decoder.value.at.clone(),
            first: decoder.value.first_address,
            label: label_built(built, id, &decoder.value, drives_lamps(new, &decoder.value.part)),
        });
        Self {
            levers: levers.collect(),
            machines: machines.collect(),
            decoders: decoders.collect(),
            strips: strips.collect(),
            accessory_places: place_of_lamps(built),
            accessory_leads: accessory_leads_built(built, new),
        }
    }
}

/// Where a lever's control is: the place of its panel, and which panel and pair.
pub(super) fn stands(plan: &Plan, lever: &PlannedLever) -> (Option<String>, Option<String>) {
    if let Some(control) = lever.control
        && let Some(strip) = plan.strips.get(control.strip)
    {
        return (strip.at.clone(), Some(pair_of(control.pair, &strip.panel)));
    }
    match plan.fascia_of(lever.lever) {
        Some(fascia) => (fascia.at.clone(), Some(fascia.panel.clone())),
        None => (None, None),
    }
}

/// The same by the record: the pair of a strip that has the lever's address.
fn stands_built(built: &Record, lever: &LeverBuilt, new: &Plan) -> (Option<String>, Known<Option<String>>) {
    let found = built.strips.iter().find_map(|(panel, strip)| {
        let now = new.strips_built.get(panel).unwrap_or(panel);
        let now = new.strips.iter().find(|strip| strip.panel == *now)?;
        let pair = lever.address?.checked_sub(strip.value.first_address)? + 1;
        (pair <= now.pair_count).then(|| (now.at.clone(), Known::Is(Some(pair_of(pair, &now.panel)))))
    });
    found.unwrap_or((None, Known::Untold))
}

fn pair_of(pair: u16, panel: &str) -> String {
    format!("pair {pair} of {panel}")
}

/// The cab-bus address of a chain; 0 where it has none.
pub(super) fn cab(plan: &Plan, chain: u16) -> u16 {
    plan.chains.iter().find(|other| other.number == chain).map_or(0, |chain| chain.cab.value)
}

/// The address that each machine answers.
pub(super) fn driven(plan: &Plan) -> BTreeMap<MachineId, &PlannedAddress> {
    let machines =
        plan.addresses.iter().flat_map(|address| address.machines.iter().map(move |m| (*m, address)));
    machines.collect()
}

/// The output that drives a machine; none where no decoder of the plan does.
pub(super) fn lead(plan: &Plan, address: Option<&PlannedAddress>) -> Option<String> {
    let address = address?;
    let decoder = plan.decoders.get(address.decoder?)?;
    output_of(address.address.number(), decoder.first.value.number(), &decoder.id)
}

fn lead_built(built: &Record, machine: &MachineBuilt) -> Option<String> {
    let id = machine.decoder.as_ref()?;
    output_of(machine.address?, built.decoders.get(id)?.value.first_address, id)
}

fn output_of(address: u16, first: u16, decoder: &str) -> Option<String> {
    Some(format!("output {} of {decoder}", address.checked_sub(first)? + 1))
}

/// What the label of a decoder says: which number each output has.
pub(super) fn label(plan: &Plan, decoder: usize) -> String {
    let first = plan.decoders[decoder].first.value.number();
    let numbers = plan.numbers();
    let used = plan.addresses.iter().filter(|address| address.decoder == Some(decoder));
    let outputs = used.map(|address| {
        let number = numbers.get(&address.lever).copied().unwrap_or_default();
        (address.address.number().saturating_sub(first) + 1, number)
    });
    let others = plan.accessories_of(decoder).filter_map(|planned| {
        let (_, output) = plan.output_of(planned)?;
        Some((output, planned.number.value))
    });
    label_of(&outputs.chain(others).collect())
}

/// The output that drives each signal and light, by kind and id.
pub(super) fn accessory_leads(plan: &Plan) -> BTreeMap<String, Option<String>> {
    let lead = |planned: &PlannedAccessory| {
        plan.output_of(planned).map(|(decoder, output)| format!("output {output} of {}", decoder.id))
    };
    let key = |planned: &PlannedAccessory| plan.network.accessory(planned.accessory).key();
    plan.accessories.iter().map(|planned| (key(planned), lead(planned))).collect()
}

/// The same by the record, which does not say who drives a signal or light: a decoder of lamps that has its address does.
fn accessory_leads_built(built: &Record, new: &Plan) -> BTreeMap<String, Option<String>> {
    let lead = |address: u16| {
        built.decoders.iter().filter(|(_, row)| drives_lamps(new, &row.value.part)).find_map(|(id, row)| {
            let first = row.value.first_address;
            let block = first..first.saturating_add(row.value.outputs);
            block.contains(&address).then(|| output_of(address, first, id))
        })
    };
    let leads = built.accessories.iter();
    leads.filter_map(|(key, row)| Some((key.clone(), lead(row.value.address)?))).collect()
}

/// The wire to the lamps of a signal or light ends where it stands.
fn place_of_lamps(built: &Record) -> BTreeMap<String, String> {
    let place = |key: &String| built.wires.get(&format!("{key} lamps"))?.value.to.clone();
    built.accessories.keys().filter_map(|key| Some((key.clone(), place(key)?))).collect()
}

/// Whether a decoder part drives lamps.
fn drives_lamps(plan: &Plan, part: &str) -> bool {
    plan.network.described.parts.get(part).is_some_and(|part| part.drives.contains(&Drive::Lamp))
}

fn label_built(built: &Record, decoder: &str, row: &DecoderBuilt, drives_lamps: bool) -> String {
    let first = row.first_address;

    let number = |machine: &String| {
        let mut levers = built.levers.values();
        levers.find(|lever| lever.value.moves.contains(machine)).map_or(0, |lever| lever.value.number)
    };
    let machines = built.machines.iter().filter(|(_, one)| one.value.decoder.as_deref() == Some(decoder));
    let outputs = machines
        .filter_map(|(name, machine)| Some((machine.value.address?.saturating_sub(first) + 1, number(name))));
    // The record does not say who drives a signal or light: a decoder of lamps that has its address does.
    let block = first..first.saturating_add(row.outputs);
    let others =
        built.accessories.values().filter(|other| drives_lamps && block.contains(&other.value.address));
    let others =
        others.map(|other| (other.value.address - first + 1, other.value.number.unwrap_or_default()));
    label_of(&outputs.chain(others).collect())
}

fn label_of(outputs: &BTreeSet<(u16, u16)>) -> String {
    let words: Vec<String> = outputs.iter().map(|(output, number)| format!("{output}: {number}")).collect();
    format!("outputs {}", words.join(", "))
}
