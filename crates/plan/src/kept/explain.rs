//! Where a finished plan and the as-built record differ, row by row. Nothing here decides: each row of the record is held
//! against what the plan has for the same thing, and where they differ the cause is looked for in the description.

use super::Kept;
use crate::model::{Plan, PlannedLever};
use description::Role;
use description::record::{DecoderBuilt, LeverBuilt, Retired, StripBuilt};
use network::{LeverId, Network};
use notice::{Diagnostic, Span, code, natural, quoted};
use std::collections::BTreeMap;

/// Everything in the record that the plan does not have as it is built.
pub(crate) fn explain(plan: &Plan, kept: &Kept<'_>) -> Vec<Diagnostic> {
    let levers: BTreeMap<LeverId, &PlannedLever> =
        plan.levers.iter().map(|lever| (lever.lever, lever)).collect();
    let mut explainer = Explainer { plan, network: &plan.network, kept, levers, notes: Vec::new() };
    explainer.levers();
    explainer.notes.extend(super::accessory::explain_accessories(plan, kept));
    explainer.strips();
    explainer.decoders();
    explainer.machines();
    explainer.retired();
    explainer.findings();
    explainer.notes.extend(super::wires::explain_wires(plan, kept));
    explainer.notes
}

struct Explainer<'a> {
    plan: &'a Plan,
    network: &'a Network,
    kept: &'a Kept<'a>,
    levers: BTreeMap<LeverId, &'a PlannedLever>,
    notes: Vec<Diagnostic>,
}

impl Explainer<'_> {
    fn levers(&mut self) {
        for (id, entry) in &self.kept.record.levers {
            let built = &entry.value;
            let Some(now) = self.kept.lever_now(id) else {
                let says = format!("lever `{id}` is built with {}, and is described no more", has(built));
                self.gone(entry.span, &says, &format!("{} {} out of use", has(built), stay(built)));
                continue;
            };
            let Some(&planned) = self.levers.get(&now) else { continue };
            let lever = self.network.lever(now);
            if lever.id != *id {
                self.renamed(entry.span, lever.span, &format!("lever `{id}`"), &lever.id);
            } else if let Some(note) = self.moves_differ(id, built, now, entry.span) {
                self.notes.push(note);
            }
            let number = planned.number.value;
            if number != built.number {
                let pin = self.network.pin(now, |pins| pins.number);
                let heir = self.kept.pinned_numbers.get(&built.number);
                let what = Differing { lever: now, key: "number", built: built.number, now: number };
                self.differs(&what, entry.span, pin.map(|pin| pin.span), heir.copied());
            }
            let address = planned.address.value.number();
            if let Some(was) = built.address.filter(|was| *was != address)
                && !self.plan.unplaced.contains(&now)
            {
                let pin = self.network.pin(now, |pins| pins.address).filter(|pin| pin.value == address);
                let heir = self.kept.pinned_addresses.get(&was);
                let what = Differing { lever: now, key: "address", built: was, now: address };
                match self.moved_by_pin(now, was).filter(|_| pin.is_none()) {
                    Some((pin, decoder)) => self.pinned_away(&what, &decoder, pin, entry.span),
                    None => self.differs(&what, entry.span, pin.map(|pin| pin.span), heir.copied()),
                }
            }
        }
    }

    /// The pin to a decoder that a lever has followed away from the address it is built with, and that decoder.
    fn moved_by_pin(&self, lever: LeverId, was: u16) -> Option<(Span, String)> {
        let pin = self.network.pin(lever, |pins| pins.decoder.clone())?;
        let index = self.plan.decoders.iter().position(|decoder| decoder.id == pin.value)?;
        let drives = self.plan.addresses.iter().any(|row| row.lever == lever && row.decoder == Some(index));
        let decoder = &self.plan.decoders[index];
        let first = decoder.first.value.number();
        let held = (first..first.saturating_add(decoder.outputs)).contains(&was);
        (drives && !held).then_some((pin.span, pin.value))
    }

    /// A lever is pinned to a decoder that does not have the address it is built with.
    fn pinned_away(&mut self, what: &Differing, decoder: &str, pin: Span, span: Span) {
        let Differing { lever, built, now, .. } = *what;
        let id = &self.network.lever(lever).id;
        let says = format!(
            "lever `{id}` is built with address {built}, and pinned to decoder {decoder}, where it gets {now}"
        );
        self.notes.push(
            Diagnostic::warning(code::RECORD_PINNED_OVER, pin, says)
                .help(format!("the pin wins; delete it if {built} is to stay, or `throwbar plan --keep` once {now} is built"))
                .related(span, format!("built with {built}")),
        );
    }

    fn gone(&mut self, span: Span, says: &str, stays: &str) {
        let help = format!(
            "`throwbar plan --keep` notes that {stays}; if it is there all the same, put it back into layout.toml"
        );
        self.notes.push(Diagnostic::warning(code::RECORD_GONE, span, says).help(help));
    }

    fn renamed(&mut self, span: Span, now: Span, what: &str, name: &str) {
        let says = format!("{what} is called `{name}` now, and keeps what it has");
        self.notes.push(
            Diagnostic::warning(code::RECORD_RENAMED, span, says)
                .help("`throwbar plan --keep` writes its new name; if it is another thing, delete this row")
                .related(now, format!("`{name}` takes its place")),
        );
    }

    /// The machines of a lever are others than it is built with.
    fn moves_differ(&self, id: &str, built: &LeverBuilt, now: LeverId, span: Span) -> Option<Diagnostic> {
        let machines = &self.network.lever(now).machines;
        let same = built.moves.len() == machines.len()
            && built
                .moves
                .iter()
                .all(|name| self.kept.machine_now(name).is_some_and(|machine| machines.contains(&machine)));
        if same {
            return None;
        }
        let mut names: Vec<&str> =
            machines.iter().map(|machine| self.network.machine(*machine).name.as_str()).collect();
        names.sort_by(|a, b| natural(a, b));
        let says = format!(
            "lever `{id}` is built to move {}, and is described to move {}",
            built.moves.join(", "),
            names.join(", ")
        );
        Some(
            Diagnostic::warning(code::RECORD_DIFFERS, span, says)
                .help("build it as described, then `throwbar plan --keep`")
                .related(self.network.lever(now).span, "described here"),
        )
    }

    /// A number or an address is another than the built one.
    fn differs(&mut self, what: &Differing, span: Span, pin: Option<Span>, heir: Option<LeverId>) {
        let Differing { lever, key, built, now } = *what;
        let id = &self.network.lever(lever).id;
        if let Some(pin) = pin {
            let says = format!("lever `{id}` is built with {key} {built}, and pinned to {now}");
            self.notes.push(
                Diagnostic::warning(code::RECORD_PINNED_OVER, pin, says)
                    .help(format!("the pin wins; delete it if {built} is to stay, or `throwbar plan --keep` once {now} is built"))
                    .related(span, format!("built with {built}")),
            );
            return;
        }
        let mut other = None;
        let cause = match heir.filter(|heir| *heir != lever) {
            Some(heir) => {
                let heir = self.network.lever(heir);
                other = Some((heir.span, format!("`{}` has it now", heir.id)));
                format!("which `{}` is pinned to", heir.id)
            }
            None if key == "number" => self.heir_of_number(built, &mut other),
            None => self.cause_of_address(lever, built, &mut other),
        };
        let says = format!("lever `{id}` is built with {key} {built}, {cause}; it gets {now}");
        let mut note = Diagnostic::warning(code::RECORD_DIFFERS, span, says).help(format!(
            "build {now}, then `throwbar plan --keep`; or change what stands in the way of {built}"
        ));
        if let Some((span, words)) = other {
            note = note.related(span, words);
        }
        self.notes.push(note);
    }

    fn heir_of_number(&self, number: u16, other: &mut Option<(Span, String)>) -> String {
        let heir = self.plan.levers.iter().find(|lever| lever.number.value == number);
        self.taken_over(heir, other)
    }

    fn taken_over(&self, heir: Option<&PlannedLever>, other: &mut Option<(Span, String)>) -> String {
        match heir {
            Some(heir) => {
                let heir = self.network.lever(heir.lever);
                *other = Some((heir.span, format!("`{}` has it now", heir.id)));
                format!("which goes to `{}`", heir.id)
            }
            None => "which it cannot keep".to_owned(),
        }
    }

    /// Why a lever cannot keep its address.
    fn cause_of_address(&self, lever: LeverId, address: u16, other: &mut Option<(Span, String)>) -> String {
        let system = &self.network.described.system;
        let taken = system.taken.iter().find(|taken| (taken.value.0..=taken.value.1).contains(&address));
        if let Some(taken) = taken {
            *other = Some((taken.span, "taken here".to_owned()));
            return "which something else has taken".to_owned();
        }
        if address > system.last_address {
            return format!("which is past the last address {}", system.last_address);
        }
        let heir = self
            .plan
            .levers
            .iter()
            .find(|heir| heir.address.value.number() == address && heir.lever != lever);
        if heir.is_some() {
            return self.taken_over(heir, other);
        }
        let control = self.levers.get(&lever).and_then(|planned| planned.control);
        if let Some(strip) = control.and_then(|control| self.plan.strips.get(control.strip)) {
            *other = Some((strip.span, format!("it starts at {}", strip.first.value.number())));
            return format!("which no pair of strip `{}` commands", strip.panel);
        }
        "which it cannot keep".to_owned()
    }

    fn strips(&mut self) {
        for (name, entry) in &self.kept.record.strips {
            let built = &entry.value;
            let Some((now, panel)) = self.strip_now(name) else {
                let says = format!(
                    "strip `{name}` is built from address {} on, and is described no more",
                    built.first_address
                );
                let help = "take it down, then `throwbar plan --keep`; if it is there all the same, put it back into layout.toml";
                self.notes.push(Diagnostic::warning(code::RECORD_GONE, entry.span, says).help(help));
                continue;
            };
            if panel != *name {
                self.renamed(entry.span, now, &format!("strip `{name}`"), &panel);
            }
            self.strip_differs(entry.span, &panel, built);
        }
    }

    /// Where the strip stands that a strip of the record is now, and its panel.
    fn strip_now(&self, name: &str) -> Option<(Span, String)> {
        let panel = self.plan.strips_built.get(name)?;
        let strip = self.plan.strips.iter().find(|strip| strip.panel == *panel)?;
        Some((strip.span, panel.clone()))
    }

    fn strip_differs(&mut self, span: Span, panel: &str, built: &StripBuilt) {
        let Some(strip) = self.plan.strips.iter().find(|strip| strip.panel == panel) else { return };
        let first = strip.first.value.number();
        let described = self.network.described.panels.iter().find(|described| described.id.value == panel);
        if first != built.first_address {
            let pin = described.and_then(|panel| panel.start).filter(|start| start.value == first);
            let was = built.first_address;
            self.notes.push(match pin {
                Some(pin) => {
                    let says = format!("strip `{panel}` is built to start at {was}, and pinned to {first}");
                    Diagnostic::warning(code::RECORD_PINNED_OVER, pin.span, says)
                        .help(format!("the pin wins; delete it if {was} is to stay, or `throwbar plan --keep` once {first} is set"))
                        .related(span, format!("built to start at {was}"))
                }
                None => {
                    let says = format!("strip `{panel}` is built to start at {was}, and has to start at {first}");
                    Diagnostic::warning(code::RECORD_DIFFERS, span, says)
                        .help(format!("set it to {first}, then `throwbar plan --keep`; or change its chain, `taken` or `last_address` so that {was} is free"))
                        .related(strip.span, "the strip")
                }
            });
        }
        let cab =
            self.plan.chains.iter().find(|chain| chain.number == strip.chain).map(|chain| chain.cab.value);
        if strip.chain != built.chain || built.cab.is_some() && cab != built.cab {
            let cab =
                |cab: Option<u16>| cab.map_or_else(String::new, |cab| format!(" with cab-bus address {cab}"));
            let now = self.plan.chains.iter().find(|chain| chain.number == strip.chain);
            let says = format!(
                "strip `{panel}` is built on chain {}{}, and planned on chain {}{}",
                built.chain,
                cab(built.cab),
                strip.chain,
                cab(now.map(|chain| chain.cab.value))
            );
            self.notes.push(
                Diagnostic::warning(code::RECORD_DIFFERS, span, says)
                    .help("connect it as planned, then `throwbar plan --keep`")
                    .related(strip.span, "the strip"),
            );
        }
    }

    fn decoders(&mut self) {
        for (id, entry) in &self.kept.record.decoders {
            let built = &entry.value;
            let now = self.plan.decoders.iter().find(|decoder| decoder.id == *id);
            let cause = self.cause_of_decoder(built);
            let Some(now) = now else {
                let why = cause.map_or_else(String::new, |cause| format!(": {cause}"));
                let says = format!("decoder `{id}`, {}, has no place in the plan{why}", words(built));
                self.gone(entry.span, &says, &format!("`{id}` is retired"));
                continue;
            };
            let planned = DecoderBuilt {
                part: now.part.clone(),
                at: now.at.as_ref().map(|at| at.value.clone()),
                first_address: now.first.value.number(),
                outputs: now.outputs,
            };
            if planned != *built {
                let why = cause.map_or_else(String::new, |cause| format!(", as {cause}"));
                let says = format!(
                    "decoder `{id}` is built as {}, and planned as {}{why}",
                    words(built),
                    words(&planned)
                );
                self.notes.push(
                    Diagnostic::warning(code::RECORD_DIFFERS, entry.span, says)
                        .help("build it as planned, then `throwbar plan --keep`"),
                );
            }
        }
    }

    /// What the description no longer has of a decoder.
    fn cause_of_decoder(&self, built: &DecoderBuilt) -> Option<String> {
        let described = &self.network.described;
        match described.parts.get(&built.part) {
            None => return Some(format!("there is no part `{}` any more", built.part)),
            Some(part) if part.role != Role::Decoder => {
                return Some(format!("part `{}` is no decoder any more", built.part));
            }
            Some(_) => {}
        }
        let at = built.at.as_deref()?;
        let in_joints = self.network.joints.iter().any(|joint| joint.at.as_deref() == Some(at));
        let in_places = described.places.iter().any(|place| place.id.value == at);
        let runs = described.bench.iter().flat_map(|bench| &bench.runs);
        let on_bench = runs.flat_map(|run| [&run.from, &run.to]).any(|place| place.value == at);
        (!in_joints && !in_places && !on_bench).then(|| format!("there is no place `{at}` any more"))
    }

    fn machines(&mut self) {
        for (name, entry) in &self.kept.record.machines {
            let of_lever = |moves: &[String]| moves.iter().any(|moved| moved == name);
            let lever = self.kept.record.levers.iter().find(|(_, lever)| of_lever(&lever.value.moves));
            let Some(machine) = self.kept.machine_now(name) else {
                // A lever that is gone takes its machines with it: one cause, said once.
                if lever.is_none_or(|(id, _)| self.kept.lever_now(id).is_some()) {
                    let says = format!("machine `{name}` is built, and is described no more");
                    let help = "take it out, then `throwbar plan --keep`; if it is there all the same, put it back into layout.toml";
                    self.notes.push(Diagnostic::warning(code::RECORD_GONE, entry.span, says).help(help));
                }
                continue;
            };
            let now = self.network.machine(machine);
            let lever_renamed = lever
                .and_then(|(id, _)| Some((id, self.network.lever(self.kept.lever_now(id)?))))
                .is_some_and(|(id, lever)| lever.id != *id && lever.machines.contains(&machine));
            if now.name != *name && !lever_renamed {
                let span = self.network.joint(now.joint).span;
                self.renamed(entry.span, span, &format!("machine `{name}`"), &now.name);
            }
        }
    }

    /// What is retired, and pinned all the same.
    fn retired(&mut self) {
        for (retired, entry) in &self.kept.record.retired {
            let pinned = match retired {
                Retired::Number(number) => {
                    let lever = self.kept.pinned_numbers.get(number);
                    lever.and_then(|lever| Some((*lever, self.network.pin(*lever, |pins| pins.number)?)))
                }
                Retired::Address(address) => {
                    let lever = self.kept.pinned_addresses.get(address);
                    lever.and_then(|lever| Some((*lever, self.network.pin(*lever, |pins| pins.address)?)))
                }
                Retired::Wire(_) | Retired::Decoder(_) => None,
            };
            let Some((lever, pin)) = pinned else { continue };
            let (id, what) = (&self.network.lever(lever).id, retired.words());
            let says =
                format!("lever `{id}` is pinned to {what}, which is retired: it was of {}", entry.value);
            self.notes.push(
                Diagnostic::warning(code::RECORD_PINNED_OVER, pin.span, says)
                    .help(format!(
                        "the pin wins; delete the row {} of the record once nothing answers to it",
                        quoted(&what)
                    ))
                    .related(entry.span, "retired here"),
            );
        }
    }

    fn findings(&mut self) {
        for (about, entry) in &self.kept.record.findings {
            let Some(name) = about.strip_prefix("machine ") else { continue };
            let is_known = self.kept.machine_now(name).is_some()
                || self.network.machines.iter().any(|machine| machine.name == name);
            if !is_known {
                let says = format!("this was found out about machine `{name}`, and there is no such machine");
                self.notes.push(
                    Diagnostic::warning(code::RECORD_GONE, entry.span, says)
                        .help("delete the row, or write the name that the machine has now"),
                );
            }
        }
    }
}

/// A number or an address of a lever that is not what is built.
struct Differing {
    lever: LeverId,
    key: &'static str,
    built: u16,
    now: u16,
}

fn has(built: &LeverBuilt) -> String {
    match built.address {
        Some(address) => format!("number {} and address {address}", built.number),
        None => format!("number {}", built.number),
    }
}

fn stay(built: &LeverBuilt) -> &'static str {
    if built.address.is_some() { "stay" } else { "stays" }
}

fn words(decoder: &DecoderBuilt) -> String {
    let at = decoder.at.as_ref().map_or_else(String::new, |at| format!(" at {at}"));
    let DecoderBuilt { part, first_address, outputs, .. } = decoder;
    format!("`{part}`{at} with {outputs} outputs from {first_address} on")
}
