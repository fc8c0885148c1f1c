//! Two plans held against each other, one kind of thing after the other.

use super::{Action, Item, Thing, because_of_time, seconds_of};
use crate::kept::Kept;
use crate::model::{Decoder, Plan, PlannedAddress, PlannedLever, Strip};
use crate::reason::{ALIKE_AS_BUILT, BUILT_OTHERWISE, BUILT_STILL, DESCRIBED_NEW};
use description::record::{Entries, Record, WireBuilt};
use network::{LeverId, MachineId};
use notice::{Because, Decided, natural};
use std::collections::{BTreeMap, BTreeSet};

/// Two plans and their records.
pub(super) struct Comparison<'a> {
    old: &'a Plan,
    new: &'a Plan,
    built: &'a Record,
    next: &'a Record,
    /// What of the built record is what of the new network.
    kept: Kept<'a>,
    items: Vec<Decided<Item>>,
}

/// What changes about a thing that is in both plans.
struct Change {
    action: Action,
    was: Option<String>,
    now: Option<String>,
    /// The new plan's own reason, where it has one.
    why: Option<Because>,
    is_lead: bool,
}

impl Change {
    fn new(action: Action, was: impl Into<String>, now: impl Into<String>) -> Self {
        Self { action, was: Some(was.into()), now: Some(now.into()), why: None, is_lead: false }
    }

    fn because<T>(mut self, decided: &Decided<T>) -> Self {
        self.why = decided.because().next().cloned();
        self
    }

    fn lead(mut self) -> Self {
        self.is_lead = true;
        self
    }
}

impl<'a> Comparison<'a> {
    pub(super) fn new(old: &'a Plan, built: &'a Record, new: &'a Plan, next: &'a Record) -> Self {
        Self { old, new, built, next, kept: Kept::of(&new.network, built), items: Vec::new() }
    }

    /// Everything that stays or changes, in no order yet.
    pub(super) fn items(mut self) -> Vec<Decided<Item>> {
        self.levers();
        self.machines();
        self.decoders();
        self.strips();
        self.wires();
        self.accessories();
        self.items
    }

    fn push(&mut self, thing: Thing, name: &str, at: Option<&str>, change: Change) {
        let Change { action, was, now, why, is_lead } = change;
        let called = format!("{} {name}", thing.word());
        let first = match action {
            Action::Keep => Because::new(&ALIKE_AS_BUILT, [called.into()]),
            Action::Add => Because::new(&DESCRIBED_NEW, [called.into()]),
            Action::Remove => Because::new(&BUILT_STILL, [called.into()]),
            Action::Move | Action::Relabel | Action::Reprogram => {
                let words = |text: &Option<String>| text.clone().unwrap_or_else(|| "nowhere".to_owned());
                Because::new(&BUILT_OTHERWISE, [called.into(), words(&was).into(), words(&now).into()])
            }
        };
        let seconds = seconds_of(&self.new.network.described.work, action, thing, is_lead);
        let at = at.map(str::to_owned);
        let item = Item { action, thing, name: name.to_owned(), at, was, now, seconds };
        let mut decided = Decided::new(item, first);
        if let Some(why) = why {
            decided = decided.and(why);
        }
        if action != Action::Keep {
            decided = decided.and(because_of_time(action, thing, is_lead, seconds));
        }
        self.items.push(decided);
    }

    /// Adds the changes of a thing that is in both plans; when there are none, it stays.
    fn push_all(&mut self, thing: Thing, name: &str, at: Option<&str>, changes: Vec<Change>) {
        if changes.is_empty() {
            let change = Change { action: Action::Keep, was: None, now: None, why: None, is_lead: false };
            self.push(thing, name, at, change);
        }
        for change in changes {
            self.push(thing, name, at, change);
        }
    }

    fn add(&mut self, thing: Thing, name: &str, at: Option<&str>, now: String) {
        let change = Change { action: Action::Add, was: None, now: Some(now), why: None, is_lead: false };
        self.push(thing, name, at, change);
    }

    fn remove(&mut self, thing: Thing, name: &str, at: Option<&str>, was: String) {
        let change = Change { action: Action::Remove, was: Some(was), now: None, why: None, is_lead: false };
        self.push(thing, name, at, change);
    }

    fn levers(&mut self) {
        let (old, new) = (self.old, self.new);
        let by_id: BTreeMap<&str, &PlannedLever> =
            old.levers.iter().map(|lever| (old.network.lever(lever.lever).id.as_str(), lever)).collect();
        let mut met: BTreeSet<LeverId> = BTreeSet::new();
        for id in self.built.levers.keys() {
            let Some(&was) = by_id.get(id.as_str()) else { continue };
            let now = self.kept.lever_now(id);
            let now = now.and_then(|lever| new.levers.iter().find(|planned| planned.lever == lever));
            let (was_at, was_stands) = stands(old, was);
            let Some(now) = now else {
                let words = format!("number {}{}", was.number.value, on(was_stands.as_deref()));
                self.remove(Thing::Lever, id, was_at.as_deref(), words);
                continue;
            };
            met.insert(now.lever);
            let (at, stands) = stands(new, now);
            let name = &new.network.lever(now.lever).id;
            let mut changes = Vec::new();
            if stands != was_stands {
                let words = |stands: Option<String>| stands.unwrap_or_else(|| "no panel".to_owned());
                changes
                    .push(Change::new(Action::Move, words(was_stands), words(stands)).because(&now.address));
            }
            if was.number.value != now.number.value {
                let number = |number: u16| format!("number {number}");
                let change = Change::new(Action::Relabel, number(was.number.value), number(now.number.value));
                changes.push(change.because(&now.number));
            }
            let (was_name, now_name) =
                (&old.network.lever(was.lever).name, &new.network.lever(now.lever).name);
            if was_name != now_name {
                changes.push(Change::new(Action::Relabel, was_name, now_name));
            }
            self.push_all(Thing::Lever, name, at.as_deref(), changes);
        }
        for lever in new.levers.iter().filter(|lever| !met.contains(&lever.lever)) {
            let (at, stands) = stands(new, lever);
            let words = format!("number {}{}", lever.number.value, on(stands.as_deref()));
            self.add(Thing::Lever, &new.network.lever(lever.lever).id, at.as_deref(), words);
        }
    }

    fn machines(&mut self) {
        let (old, new) = (self.old, self.new);
        let (was_driven, now_driven) = (driven(old), driven(new));
        let mut met: BTreeSet<MachineId> = BTreeSet::new();
        let place = |plan: &'a Plan, machine: MachineId| {
            plan.network.joint(plan.network.machine(machine).joint).at.as_deref()
        };
        for (index, machine) in old.network.machines.iter().enumerate() {
            let was = MachineId::at(index);
            let was_lead = lead(old, was_driven.get(&was).copied());
            let Some(now) = self.kept.machine_now(&machine.name) else {
                let words = format!("`{}`{}", machine.motor, on(was_lead.as_deref()));
                self.remove(Thing::Machine, &machine.name, place(old, was), words);
                continue;
            };
            met.insert(now);
            let described = new.network.machine(now);
            let (was_at, at) = (place(old, was), place(new, now));
            let now_lead = lead(new, now_driven.get(&now).copied());
            if machine.motor != described.motor {
                self.remove(Thing::Machine, &described.name, was_at, format!("`{}`", machine.motor));
                let words = format!("`{}`{}", described.motor, on(now_lead.as_deref()));
                self.add(Thing::Machine, &described.name, at, words);
                continue;
            }
            let mut changes = Vec::new();
            let words = |text: Option<&str>| text.unwrap_or("no place").to_owned();
            if was_at != at {
                changes.push(Change::new(Action::Move, words(was_at), words(at)));
            }
            if was_lead != now_lead {
                let change = Change::new(
                    Action::Move,
                    was_lead.unwrap_or_else(|| "no output".to_owned()),
                    now_lead.unwrap_or_else(|| "no output".to_owned()),
                );
                changes.push(change.lead());
            } else if was_lead.is_none()
                && let (Some(was), Some(now)) = (was_driven.get(&was), now_driven.get(&now))
                && was.address != now.address
            {
                // Nothing but its own address tells it what it is: it has its decoder inside.
                let address = |planned: &PlannedAddress| format!("address {}", planned.address.number());
                changes.push(Change::new(Action::Reprogram, address(was), address(now)));
            }
            if machine.name != described.name {
                changes.push(Change::new(Action::Relabel, &machine.name, &described.name));
            }
            self.push_all(Thing::Machine, &described.name, at, changes);
        }
        for (index, machine) in new.network.machines.iter().enumerate() {
            let now = MachineId::at(index);
            if !met.contains(&now) {
                let lead = lead(new, now_driven.get(&now).copied());
                let words = format!("`{}`{}", machine.motor, on(lead.as_deref()));
                self.add(Thing::Machine, &machine.name, place(new, now), words);
            }
        }
    }

    fn decoders(&mut self) {
        let (old, new) = (self.old, self.new);
        let place = |decoder: &'a Decoder| decoder.at.as_ref().map(|at| at.value.as_str());
        let words =
            |decoder: &Decoder| format!("`{}`, first address {}", decoder.part, decoder.first.value.number());
        for (index, was) in old.decoders.iter().enumerate() {
            let found = new.decoders.iter().position(|now| now.id == was.id);
            let Some(now_index) = found else {
                self.remove(Thing::Decoder, &was.id, place(was), words(was));
                continue;
            };
            let now = &new.decoders[now_index];
            if was.part != now.part {
                self.remove(Thing::Decoder, &was.id, place(was), words(was));
                self.add(Thing::Decoder, &now.id, place(now), words(now));
                continue;
            }
            let mut changes = Vec::new();
            if place(was) != place(now) {
                let place = |at: Option<&str>| at.unwrap_or("no place").to_owned();
                changes.push(Change::new(Action::Move, place(self::place(was)), place(self::place(now))));
            }
            let first = |decoder: &Decoder| format!("first address {}", decoder.first.value.number());
            if was.first.value != now.first.value {
                changes.push(Change::new(Action::Reprogram, first(was), first(now)).because(&now.first));
            }
            let (was_label, now_label) = (label(old, index), label(new, now_index));
            if was_label != now_label {
                changes.push(Change::new(Action::Relabel, was_label, now_label));
            }
            self.push_all(Thing::Decoder, &now.id, place(now), changes);
        }
        for now in new.decoders.iter().filter(|now| old.decoders.iter().all(|was| was.id != now.id)) {
            self.add(Thing::Decoder, &now.id, place(now), words(now));
        }
    }

    fn strips(&mut self) {
        let (old, new) = (self.old, self.new);
        let cab = |plan: &Plan, strip: &Strip| {
            let chain = plan.chains.iter().find(|chain| chain.number == strip.chain);
            chain.map_or(0, |chain| chain.cab.value)
        };
        let words = |plan: &Plan, strip: &Strip| {
            format!("start {}, cab-bus address {}", strip.first.value.number(), cab(plan, strip))
        };
        let mut met: BTreeSet<&str> = BTreeSet::new();
        for was in &old.strips {
            let panel = new.strips_built.get(&was.panel).unwrap_or(&was.panel);
            let Some(now) = new.strips.iter().find(|strip| strip.panel == *panel) else {
                self.remove(Thing::Strip, &was.panel, was.at.as_deref(), words(old, was));
                continue;
            };
            met.insert(&now.panel);
            if was.part != now.part {
                self.remove(Thing::Strip, &was.panel, was.at.as_deref(), format!("`{}`", was.part));
                self.add(
                    Thing::Strip,
                    &now.panel,
                    now.at.as_deref(),
                    format!("`{}`, {}", now.part, words(new, now)),
                );
                continue;
            }
            let mut changes = Vec::new();
            if was.at != now.at {
                let place = |at: &Option<String>| at.clone().unwrap_or_else(|| "no place".to_owned());
                changes.push(Change::new(Action::Move, place(&was.at), place(&now.at)));
            }
            if words(old, was) != words(new, now) {
                let change = Change::new(Action::Reprogram, words(old, was), words(new, now));
                changes.push(change.because(&now.first));
            }
            if was.panel != now.panel {
                changes.push(Change::new(Action::Relabel, &was.panel, &now.panel));
            }
            self.push_all(Thing::Strip, &now.panel, now.at.as_deref(), changes);
        }
        for now in new.strips.iter().filter(|now| !met.contains(now.panel.as_str())) {
            self.add(Thing::Strip, &now.panel, now.at.as_deref(), words(new, now));
        }
    }

    fn wires(&mut self) {
        let (built, next) = (self.built, self.next);
        let was = by_id(&built.wires);
        let now = by_id(&next.wires);
        let words = |about: &str, wire: &WireBuilt| format!("{about}, {}", ends(wire));
        for (id, (about, wire)) in &was {
            let at = wire.from.as_deref().or(wire.to.as_deref());
            // The same wire for the same thing stays, whatever the thing is called now.
            let Some((about_now, wire_now)) = now.get(id) else {
                match next.wires.get(*about).map(|entry| &entry.value) {
                    // Another id at the same ends is another label.
                    Some(other) if ends(other) == ends(wire) && !was.contains_key(other.id.as_str()) => {
                        let change = Change::new(Action::Relabel, *id, &other.id);
                        self.push_all(Thing::Wire, &other.id, at, vec![change]);
                    }
                    _ => self.remove(Thing::Wire, id, at, words(about, wire)),
                }
                continue;
            };
            let mut changes = Vec::new();
            if ends(wire) != ends(wire_now) {
                changes.push(Change::new(Action::Move, ends(wire), ends(wire_now)));
            }
            if about != about_now {
                changes.push(Change::new(Action::Relabel, *about, *about_now));
            }
            self.push_all(Thing::Wire, id, wire_now.from.as_deref().or(wire_now.to.as_deref()), changes);
        }
        for (id, (about, wire)) in now.iter().filter(|(id, _)| !was.contains_key(*id)) {
            let relabelled = built.wires.get(*about).is_some_and(|entry| {
                ends(&entry.value) == ends(wire) && !now.contains_key(entry.value.id.as_str())
            });
            if !relabelled {
                self.add(Thing::Wire, id, wire.from.as_deref().or(wire.to.as_deref()), words(about, wire));
            }
        }
    }

    fn accessories(&mut self) {
        let (built, next) = (self.built, self.next);
        let place = |plan: &'a Plan, name: &str| {
            let mut all = plan.network.accessories.iter();
            all.find(|accessory| accessory.key() == name).and_then(|accessory| accessory.at.as_deref())
        };
        let (old, new) = (self.old, self.new);
        let (at_old, at_new) = (|name: &str| place(old, name), |name: &str| place(new, name));
        let words = |address: u16| format!("address {address}");
        let number = |number: u16| format!("number {number}");
        for (name, was) in &built.accessories {
            match next.accessories.get(name) {
                None => self.remove(Thing::Accessory, name, at_old(name), words(was.value.address)),
                Some(now) if now.value == was.value => {
                    self.push_all(Thing::Accessory, name, at_new(name), Vec::new());
                }
                Some(now) => {
                    let (was, now) = (&was.value, &now.value);
                    let mut changes = Vec::new();
                    if was.address != now.address {
                        changes.push(Change::new(Action::Reprogram, words(was.address), words(now.address)));
                    }
                    // A record from before there were numbers has no plate to change.
                    if let (Some(was), Some(now)) = (was.number, now.number)
                        && was != now
                    {
                        changes.push(Change::new(Action::Relabel, number(was), number(now)));
                    }
                    self.push_all(Thing::Accessory, name, at_new(name), changes);
                }
            }
        }
        for (name, now) in next.accessories.iter().filter(|(name, _)| !built.accessories.contains_key(*name))
        {
            self.add(Thing::Accessory, name, at_new(name), words(now.value.address));
        }
    }
}

fn on(stands: Option<&str>) -> String {
    stands.map_or_else(String::new, |stands| format!(" on {stands}"))
}

fn place(decoder: &Decoder) -> Option<&str> {
    decoder.at.as_ref().map(|at| at.value.as_str())
}

/// Where a lever's control is: the place of its panel, and which panel and pair.
fn stands(plan: &Plan, lever: &PlannedLever) -> (Option<String>, Option<String>) {
    if let Some(control) = lever.control
        && let Some(strip) = plan.strips.get(control.strip)
    {
        return (strip.at.clone(), Some(format!("pair {} of {}", control.pair, strip.panel)));
    }
    match plan.fascia_of(lever.lever) {
        Some(fascia) => (fascia.at.clone(), Some(fascia.panel.clone())),
        None => (None, None),
    }
}

/// The address that each machine answers.
fn driven(plan: &Plan) -> BTreeMap<MachineId, &PlannedAddress> {
    let machines =
        plan.addresses.iter().flat_map(|address| address.machines.iter().map(move |m| (*m, address)));
    machines.collect()
}

/// The output that drives a machine; none where no decoder of the plan does.
fn lead(plan: &Plan, address: Option<&PlannedAddress>) -> Option<String> {
    let address = address?;
    let decoder = plan.decoders.get(address.decoder?)?;
    let output = address.address.number().checked_sub(decoder.first.value.number())? + 1;
    Some(format!("output {output} of {}", decoder.id))
}

/// What the label of a decoder says: which number each output has.
fn label(plan: &Plan, decoder: usize) -> String {
    let first = plan.decoders[decoder].first.value.number();
    let numbers = plan.numbers();
    let mut outputs: Vec<(u16, u16)> = plan
        .addresses
        .iter()
        .filter(|address| address.decoder == Some(decoder))
        .map(|address| {
            let output = address.address.number().saturating_sub(first) + 1;
            (output, numbers.get(&address.lever).copied().unwrap_or_default())
        })
        .collect();
    outputs.sort_unstable();
    let words: Vec<String> = outputs.iter().map(|(output, number)| format!("{output}: {number}")).collect();
    format!("outputs {}", words.join(", "))
}

fn by_id(wires: &Entries<WireBuilt>) -> BTreeMap<&str, (&str, &WireBuilt)> {
    let mut list: Vec<_> = wires.iter().collect();
    list.sort_by(|a, b| natural(a.0, b.0));
    list.into_iter().map(|(about, wire)| (wire.value.id.as_str(), (about.as_str(), &wire.value))).collect()
}

/// Where a wire goes, and what it passes there.
fn ends(wire: &WireBuilt) -> String {
    let place = |place: &Option<String>| place.clone().unwrap_or_else(|| "?".to_owned());
    let numbers = |what: &str, numbers: &[u16]| {
        let numbers: Vec<String> = numbers.iter().map(ToString::to_string).collect();
        if numbers.is_empty() { String::new() } else { format!(", {what} {}", numbers.join(" ")) }
    };
    let (terminals, pins) = (numbers("terminal", &wire.terminals), numbers("pin", &wire.pins));
    format!("{} to {}{terminals}{pins}", place(&wire.from), place(&wire.to))
}
