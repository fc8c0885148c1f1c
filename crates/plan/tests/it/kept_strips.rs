//! The fewest changes where strips have to move: small railroads with strips are edited at random, and the plan beside the
//! record is held against every other way to place their chains. The twin shares nothing with the plan but the way changes
//! are counted: a strip that is in both counts one when its start changes, and a lever one when its address does.
//!
//! Seeds are fixed; what fails prints the case.

use crate::beside;
use crate::kept_edits::Dice;
use crate::kept_fewest::keep;
use description::record::Record;
use plan::model::Plan;
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;
use testkit::list;

/// A strip as it is described.
#[derive(Clone, Debug, Default)]
struct Panel {
    chain: Option<u16>,
    start: Option<u16>,
    turnouts: Vec<usize>,
}

/// Strips of four pairs that name their turnouts, on up to 24 addresses.
#[derive(Clone, Debug, Default)]
struct Strips {
    panels: BTreeMap<String, Panel>,
    /// Turnouts on no strip.
    off: Vec<usize>,
}

const LAST: u16 = 24;
const PAIRS: u16 = 4;

impl Strips {
    fn text(&self) -> String {
        let mut text = format!(
            "[layout]\nname = \"Tern Harbor\"\n[system]\nlast_address = {LAST}\n[part.four]\nrole = \"strip\"\npairs = {PAIRS}\n"
        );
        let on = self.panels.values().flat_map(|panel| &panel.turnouts);
        for own in on.chain(&self.off) {
            write!(
                text,
                "[turnout.t{own}]\npoints = \"lead {own}\"\nthrough = \"main {own}\"\ndiverging = \"spur {own}\"\nhand = \"left\"\n"
            )
            .unwrap();
            for track in ["lead", "main", "spur"] {
                write!(text, "[end.\"{track} {own}\"]\ntrack = \"{track} {own}\"\n").unwrap();
            }
        }
        for (name, Panel { chain, start, turnouts }) in &self.panels {
            let names: Vec<String> = turnouts.iter().map(|own| format!("\"t{own}\"")).collect();
            write!(
                text,
                "[panel.{name}]\nkind = \"strip\"\npart = \"four\"\ncontrols = [{}]\n",
                names.join(", ")
            )
            .unwrap();
            for (key, value) in [("chain", chain), ("start", start)] {
                if let Some(value) = value {
                    writeln!(text, "{key} = {value}").unwrap();
                }
            }
        }
        text
    }
}

fn addresses(plan: &Plan) -> BTreeMap<usize, u16> {
    let own = |id: &str| id[1..].parse().unwrap();
    let levers = plan.levers.iter();
    levers.map(|lever| (own(&plan.network.lever(lever.lever).id), lever.address.value.number())).collect()
}

fn starts(plan: &Plan) -> BTreeMap<String, u16> {
    plan.strips.iter().map(|strip| (strip.panel.clone(), strip.first.value.number())).collect()
}

/// The fewest changes of all ways to place the chains: from every board, or where the chain is built.
fn fewest_of_strips(after: &Strips, was: &BTreeMap<usize, u16>, built: &BTreeMap<String, u16>) -> usize {
    let on: BTreeSet<usize> = after.panels.values().flat_map(|panel| panel.turnouts.clone()).collect();
    // Nothing may stand at the address of who is gone, or of who stands on no strip and keeps it.
    let blocked: BTreeSet<u16> = was.iter().filter(|(own, _)| !on.contains(own)).map(|(_, at)| *at).collect();
    // Chains with their strips in order: built ones as they stand, new ones behind.
    let mut chains: BTreeMap<String, Vec<&String>> = BTreeMap::new();
    for (name, Panel { chain, .. }) in &after.panels {
        let key = chain.map_or(format!("own {name}"), |chain| format!("chain {chain}"));
        chains.entry(key).or_default().push(name);
    }
    let mut list: Vec<Vec<&String>> = chains.into_values().collect();
    for chain in &mut list {
        chain.sort_by_key(|name| {
            let Panel { start, turnouts, .. } = &after.panels[*name];
            let start = start.or(built.get(*name).copied()).unwrap_or(u16::MAX);
            // Where a pin puts one where another stands, the one with the lower number comes first.
            (start, turnouts.iter().min().copied().unwrap_or(usize::MAX), (*name).clone())
        });
    }
    let cases = Cases { after, was, built, blocked: &blocked };
    cases.fewest(&list, &mut Vec::new())
}

/// What all ways to place the chains have in common.
struct Cases<'a> {
    after: &'a Strips,
    was: &'a BTreeMap<usize, u16>,
    built: &'a BTreeMap<String, u16>,
    blocked: &'a BTreeSet<u16>,
}

impl Cases<'_> {
    fn fewest(&self, chains: &[Vec<&String>], placed: &mut Vec<(u16, u16)>) -> usize {
        let Some((chain, rest)) = chains.split_first() else { return 0 };
        let length = PAIRS * u16::try_from(chain.len()).unwrap();
        let pinned = self.after.panels[chain[0]].start;
        let first_built = chain
            .iter()
            .zip(0u16..)
            .find_map(|(name, at)| self.built.get(*name)?.checked_sub(at * PAIRS))
            .filter(|start| *start > 0);
        let mut best = usize::MAX;
        for start in 1..=LAST + 1 - length {
            let on_board = start % 4 == 1 || first_built == Some(start);
            if pinned.is_some_and(|pin| pin != start) || pinned.is_none() && !on_board {
                continue;
            }
            if placed.iter().any(|&(low, high)| start < high && low < start + length) {
                continue;
            }
            if let Some(cost) = self.cost(chain, start) {
                placed.push((start, start + length));
                best = best.min(self.fewest(rest, placed).saturating_add(cost));
                placed.pop();
            }
        }
        best
    }

    /// What changes when a chain starts there; none where it cannot.
    fn cost(&self, chain: &[&String], start: u16) -> Option<usize> {
        let mut cost = 0;
        for (name, at) in chain.iter().zip(0u16..) {
            let range = start + at * PAIRS..start + (at + 1) * PAIRS;
            let panel = &self.after.panels[*name];
            cost += usize::from(self.built.get(*name).is_some_and(|built| *built != range.start));
            let lost = |own: &&usize| self.was.get(own).is_some_and(|at| !range.contains(at));
            cost += panel.turnouts.iter().filter(lost).count();
            let blocked = self.blocked.iter().filter(|at| range.contains(at)).count();
            if panel.start.is_some_and(|pin| pin != range.start)
                || panel.turnouts.len() + blocked > usize::from(PAIRS)
            {
                return None;
            }
        }
        Some(cost)
    }
}

/// Two to four strips of one to three turnouts, some on one chain.
fn strips(dice: &mut Dice) -> Strips {
    let mut strips = Strips::default();
    let mut own = 0;
    for panel in 0..2 + dice.below(3) {
        let count = 1 + dice.below(3);
        let chain = if dice.below(3) == 0 { Some(1) } else { None };
        let panel_of = Panel { chain, start: None, turnouts: (own..own + count).collect() };
        strips.panels.insert(format!("p{panel}"), panel_of);
        own += count;
    }
    strips
}

impl Strips {
    /// Puts a turnout on a strip, or off the strips where it has no room.
    fn put(&mut self, own: usize, panel: &str) {
        let turnouts = &mut self.panels.get_mut(panel).unwrap().turnouts;
        if turnouts.len() < usize::from(PAIRS) { turnouts.push(own) } else { self.off.push(own) }
    }
}

fn edited(before: &Strips, dice: &mut Dice) -> Strips {
    let mut after = before.clone();
    for _ in 0..=dice.below(4) {
        let names: Vec<String> = after.panels.keys().cloned().collect();
        let (from, to) = (dice.one_of(&names), dice.one_of(&names));
        match dice.below(5) {
            // A turnout goes to another strip, or off the strips.
            0 | 1 => {
                let gone = after.panels.get_mut(&from).and_then(|panel| panel.turnouts.pop());
                match gone {
                    Some(own) if dice.below(5) > 0 => after.put(own, &to),
                    Some(own) => after.off.push(own),
                    None => {}
                }
            }
            // A strip is taken down, and another takes over what it had, as far as there is room.
            2 if names.len() > 1 && from != to => {
                for own in after.panels.remove(&from).unwrap().turnouts {
                    after.put(own, &to);
                }
            }
            // Two strips change places.
            3 if from != to => {
                let (a, b) = (after.panels[&from].turnouts.clone(), after.panels[&to].turnouts.clone());
                after.panels.get_mut(&from).unwrap().turnouts = b;
                after.panels.get_mut(&to).unwrap().turnouts = a;
            }
            _ => {
                let start = u16::try_from(1 + 4 * dice.below(6)).unwrap();
                after.panels.get_mut(&from).unwrap().start = Some(start);
            }
        }
    }
    after
}

#[test]
fn no_other_starts_of_strips_change_less() {
    let mut dice = Dice(5);
    let (mut tried, mut with_changes) = (0, 0);
    for case in 0..3_000 {
        let before = strips(&mut dice);
        let after = edited(&before, &mut dice);
        let first = beside(&before.text(), &Record::default());
        if first.has_errors() {
            continue;
        }
        let outcome = beside(&after.text(), &keep(&first.value));
        if outcome.has_errors() {
            continue;
        }
        tried += 1;
        let (was, built) = (addresses(&first.value), starts(&first.value));
        let (now, set) = (addresses(&outcome.value), starts(&outcome.value));
        let moved =
            built.iter().filter(|(name, start)| set.get(*name).is_some_and(|now| now != *start)).count();
        let changed = was.iter().filter(|(own, at)| now.get(own).is_some_and(|now| now != *at)).count();
        let least = fewest_of_strips(&after, &was, &built);
        assert_eq!(
            moved + changed,
            least,
            "case {case}: {was:?} {built:?} → {now:?} {set:?}\n{}\n{}\n{}",
            before.text(),
            after.text(),
            list(&after.text(), &outcome.diagnostics)
        );
        with_changes += usize::from(least > 0);
    }
    assert!(tried > 1_000 && with_changes > 300, "{tried} tried, {with_changes} with changes");
}
