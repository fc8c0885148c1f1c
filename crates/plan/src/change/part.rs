//! Two plans held against each other, one kind of thing after the other.

use super::was::{
    DecoderWas, Known, MachineWas, StripWas, Was, accessory_leads, cab, driven, label, lead, stands,
};
use super::{Action, Item, Thing, because_of_time, seconds_of};
use crate::kept::Kept;
use crate::model::{Decoder, Plan, Strip};
use crate::reason::{ALIKE_AS_BUILT, BUILT_OTHERWISE, BUILT_STILL, DESCRIBED_NEW};
use description::record::{Entries, Record, WireBuilt};
use network::{LeverId, MachineId};
use notice::{Because, Decided, natural};
use std::collections::{BTreeMap, BTreeSet};

/// What is built beside a plan, and the records of both.
pub(super) struct Comparison<'a> {
    was: &'a Was,
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
    pub(super) fn new(was: &'a Was, built: &'a Record, new: &'a Plan, next: &'a Record) -> Self {
        Self { was, new, built, next, kept: Kept::of(&new.network, built), items: Vec::new() }
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
        let new = self.new;
        let mut met: BTreeSet<LeverId> = BTreeSet::new();
        for was in &self.was.levers {
            let now = self.kept.lever_now(&was.id);
            let now = now.and_then(|lever| new.levers.iter().find(|planned| planned.lever == lever));
            let Some(now) = now else {
                let stands = match &was.stands {
                    Known::Is(stands) => stands.as_deref(),
                    Known::Untold => None,
                };
                let words = format!("number {}{}", was.number, on(stands));
                self.remove(Thing::Lever, &was.id, was.at.as_deref(), words);
                continue;
            };
            met.insert(now.lever);
            let (at, stands) = stands(new, now);
            let lever = new.network.lever(now.lever);
            let mut changes = Vec::new();
            if let Some(was_stands) = was.stands.unless(&stands) {
                let words = |stands: &Option<String>| stands.clone().unwrap_or_else(|| "no panel".to_owned());
                let change = Change::new(Action::Move, words(was_stands), words(&stands));
                changes.push(change.because(&now.address));
            }
            if was.number != now.number.value {
                let number = |number: u16| format!("number {number}");
                let change = Change::new(Action::Relabel, number(was.number), number(now.number.value));
                changes.push(change.because(&now.number));
            }
            if let Some(was_name) = was.name.unless(&lever.name) {
                changes.push(Change::new(Action::Relabel, was_name, &lever.name));
            }
            self.push_all(Thing::Lever, &lever.id, at.as_deref(), changes);
        }
        for lever in new.levers.iter().filter(|lever| !met.contains(&lever.lever)) {
            let (at, stands) = stands(new, lever);
            let words = format!("number {}{}", lever.number.value, on(stands.as_deref()));
            self.add(Thing::Lever, &new.network.lever(lever.lever).id, at.as_deref(), words);
        }
    }

    fn machines(&mut self) {
        let new = self.new;
        let now_driven = driven(new);
        let mut met: BTreeSet<MachineId> = BTreeSet::new();
        for was in &self.was.machines {
            let was_at = match &was.at {
                Known::Is(at) => at.as_deref(),
                Known::Untold => None,
            };
            let Some(now) = self.kept.machine_now(&was.name) else {
                self.remove(Thing::Machine, &was.name, was_at, machine_words(was));
                continue;
            };
            met.insert(now);
            let described = new.network.machine(now);
            let at = &new.network.joint(described.joint).at;
            let now_lead = lead(new, now_driven.get(&now).copied());
            if was.motor.unless(&described.motor).is_some() {
                self.remove(Thing::Machine, &described.name, was_at, motor_words(was));
                let words = format!("`{}`{}", described.motor, on(now_lead.as_deref()));
                self.add(Thing::Machine, &described.name, at.as_deref(), words);
                continue;
            }
            let mut changes = Vec::new();
            if let Some(was_at) = was.at.unless(at) {
                changes.push(Change::new(
                    Action::Move,
                    place_words(was_at.as_deref()),
                    place_words(at.as_deref()),
                ));
            }
            if was.lead != now_lead {
                let words = |lead: &Option<String>| lead.clone().unwrap_or_else(|| "no output".to_owned());
                changes.push(Change::new(Action::Move, words(&was.lead), words(&now_lead)).lead());
            } else if was.lead.is_none()
                && let (Some(was), Some(now)) = (was.address, now_driven.get(&now))
                && was != now.address.number()
            {
                // Nothing but its own address tells it what it is: it has its decoder inside.
                let address = |address: u16| format!("address {address}");
                changes.push(Change::new(Action::Reprogram, address(was), address(now.address.number())));
            }
            if was.name != described.name {
                changes.push(Change::new(Action::Relabel, &was.name, &described.name));
            }
            self.push_all(Thing::Machine, &described.name, at.as_deref(), changes);
        }
        for (index, machine) in new.network.machines.iter().enumerate() {
            let now = MachineId::at(index);
            if !met.contains(&now) {
                let lead = lead(new, now_driven.get(&now).copied());
                let words = format!("`{}`{}", machine.motor, on(lead.as_deref()));
                let at = new.network.joint(machine.joint).at.as_deref();
                self.add(Thing::Machine, &machine.name, at, words);
            }
        }
    }

    fn decoders(&mut self) {
        let new = self.new;
        let words =
            |decoder: &Decoder| format!("`{}`, first address {}", decoder.part, decoder.first.value.number());
        let was_words = |was: &DecoderWas| format!("`{}`, first address {}", was.part, was.first);
        for was in &self.was.decoders {
            let found = new.decoders.iter().position(|now| now.id == was.id);
            let Some(index) = found else {
                self.remove(Thing::Decoder, &was.id, was.at.as_deref(), was_words(was));
                continue;
            };
            let now = &new.decoders[index];
            if was.part != now.part {
                self.remove(Thing::Decoder, &was.id, was.at.as_deref(), was_words(was));
                self.add(Thing::Decoder, &now.id, place(now), words(now));
                continue;
            }
            let mut changes = Vec::new();
            if was.at.as_deref() != place(now) {
                let change =
                    Change::new(Action::Move, place_words(was.at.as_deref()), place_words(place(now)));
                changes.push(change);
            }
            let first = |first: u16| format!("first address {first}");
            if was.first != now.first.value.number() {
                let change =
                    Change::new(Action::Reprogram, first(was.first), first(now.first.value.number()));
                changes.push(change.because(&now.first));
            }
            let label = label(new, index);
            if was.label != label {
                changes.push(Change::new(Action::Relabel, &was.label, label));
            }
            self.push_all(Thing::Decoder, &now.id, place(now), changes);
        }
        let is_met = |now: &Decoder| self.was.decoders.iter().any(|was| was.id == now.id);
        let met: Vec<bool> = new.decoders.iter().map(is_met).collect();
        for (now, _) in new.decoders.iter().zip(met).filter(|(_, is_met)| !is_met) {
            self.add(Thing::Decoder, &now.id, place(now), words(now));
        }
    }

    fn strips(&mut self) {
        let new = self.new;
        let set = |first: u16, cab: u16| format!("start {first}, cab-bus address {cab}");
        let words = |strip: &Strip| set(strip.first.value.number(), cab(new, strip.chain));
        let was_words = |was: &StripWas| set(was.first, was.cab);
        let mut met: BTreeSet<&str> = BTreeSet::new();
        for was in &self.was.strips {
            let was_at = match &was.at {
                Known::Is(at) => at.as_deref(),
                Known::Untold => None,
            };
            let panel = new.strips_built.get(&was.panel).unwrap_or(&was.panel);
            let Some(now) = new.strips.iter().find(|strip| strip.panel == *panel) else {
                self.remove(Thing::Strip, &was.panel, was_at, was_words(was));
                continue;
            };
            met.insert(&now.panel);
            if let Some(part) = was.part.unless(&now.part) {
                self.remove(Thing::Strip, &was.panel, was_at, format!("`{part}`"));
                let words = format!("`{}`, {}", now.part, words(now));
                self.add(Thing::Strip, &now.panel, now.at.as_deref(), words);
                continue;
            }
            let mut changes = Vec::new();
            if let Some(was_at) = was.at.unless(&now.at) {
                changes.push(Change::new(
                    Action::Move,
                    place_words(was_at.as_deref()),
                    place_words(now.at.as_deref()),
                ));
            }
            if was_words(was) != words(now) {
                let change = Change::new(Action::Reprogram, was_words(was), words(now));
                changes.push(change.because(&now.first));
            }
            if was.panel != now.panel {
                changes.push(Change::new(Action::Relabel, &was.panel, &now.panel));
            }
            self.push_all(Thing::Strip, &now.panel, now.at.as_deref(), changes);
        }
        for now in new.strips.iter().filter(|now| !met.contains(now.panel.as_str())) {
            self.add(Thing::Strip, &now.panel, now.at.as_deref(), words(now));
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
        let (was, new) = (self.was, self.new);
        let at_old = |name: &str| was.accessory_places.get(name).map(String::as_str);
        let at_new = |name: &str| {
            let mut all = new.network.accessories.iter();
            all.find(|accessory| accessory.key() == name).and_then(|accessory| accessory.at.as_deref())
        };
        let leads = accessory_leads(new);
        let words = |address: u16| format!("address {address}");
        let number = |number: u16| format!("number {number}");
        for (name, was) in &built.accessories {
            match next.accessories.get(name) {
                None => self.remove(Thing::Accessory, name, at_old(name), words(was.value.address)),
                Some(now) => {
                    let (was, now) = (&was.value, &now.value);
                    let mut changes = Vec::new();
                    let was_lead = self.was.accessory_leads.get(name).cloned().flatten();
                    let now_lead = leads.get(name).cloned().flatten();
                    if was_lead.is_some() && was_lead != now_lead {
                        let lead = |lead: Option<String>| lead.unwrap_or_else(|| "no output".to_owned());
                        changes.push(Change::new(Action::Move, lead(was_lead), lead(now_lead)).lead());
                    } else if was_lead.is_none() && was.address != now.address {
                        // Nothing but its own address tells it what it is.
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
            let lead = leads.get(name).cloned().flatten();
            let words = format!("{}{}", words(now.value.address), on(lead.as_deref()));
            self.add(Thing::Accessory, name, at_new(name), words);
        }
    }
}

fn on(stands: Option<&str>) -> String {
    stands.map_or_else(String::new, |stands| format!(" on {stands}"))
}

fn place(decoder: &Decoder) -> Option<&str> {
    decoder.at.as_ref().map(|at| at.value.as_str())
}

fn place_words(at: Option<&str>) -> String {
    at.unwrap_or("no place").to_owned()
}

/// A machine that is taken out: its motor and what drives it, as far as they are known.
fn machine_words(was: &MachineWas) -> String {
    match (&was.motor, &was.lead, was.address) {
        (Known::Is(motor), lead, _) => format!("`{motor}`{}", on(lead.as_deref())),
        (Known::Untold, Some(lead), _) => lead.clone(),
        (Known::Untold, None, Some(address)) => format!("address {address}"),
        (Known::Untold, None, None) => "no output".to_owned(),
    }
}

fn motor_words(was: &MachineWas) -> String {
    match &was.motor {
        Known::Is(motor) => format!("`{motor}`"),
        Known::Untold => String::new(),
    }
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
