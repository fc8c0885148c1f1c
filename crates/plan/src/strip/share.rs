//! Which levers each strip has: whoever has a pair of it keeps it, then whatever its `controls` name, as far as there is room.

use super::{Beside, Seated, Wanted};
use crate::fascia::named_on_fascias;
use crate::kept::{Kept, StripDescribed, StripsBuilt};
use crate::number::{Numbered, levers_along};
use description::record::Retired;
use description::{Panel, PanelKind};
use network::{Control, Controlled, LeverId, Network};
use notice::{Diagnostic, Span, code, natural, quoted};
use std::collections::{BTreeMap, BTreeSet};

/// The most levers that a message names.
const NAMES_MAX: usize = 12;

/// The pairs of a strip whose part does not say.
const PAIRS_USUAL: u16 = 12;

/// Decides which levers each strip has. A line that is too long for its strip goes on to the next strip that names it,
/// or to one that names nothing; what is left then is noted.
pub(super) fn share_out<'a>(
    network: &'a Network,
    numbered: &[Numbered],
    kept: &'a Kept<'a>,
    notes: &mut Vec<Diagnostic>,
) -> Vec<Wanted<'a>> {
    let mut wanted = strips_of(network, numbered, kept);
    let mut claimed: BTreeMap<Seated, Span> = BTreeMap::new();
    // Whoever has a pair keeps it, before anybody new is given one.
    for (strip, controls) in &mut wanted {
        for control in controls.iter().copied().flatten() {
            for seated in named(network, *control) {
                if has_pair(kept, strip, seated) && !claimed.contains_key(&seated) {
                    claimed.insert(seated, control.span);
                    strip.seats.push(seated);
                }
            }
        }
    }
    let of_strips: BTreeSet<Seated> =
        wanted.iter().flat_map(|(_, controls)| of_all(network, *controls)).collect();
    let blocked = Beside::new(network, kept, &of_strips).blocked;
    for (strip, controls) in &mut wanted {
        let room = room(strip, &blocked);
        for control in controls.iter().copied().flatten() {
            for seated in named(network, *control) {
                let is_line = matches!(control.what, Controlled::Line(_));
                match claimed.get(&seated) {
                    Some(first) if !is_line && *first != control.span => {
                        notes.push(twice(network, seated, control.span, *first));
                    }
                    Some(_) => {}
                    None if strip.seats.len() < room => {
                        claimed.insert(seated, control.span);
                        strip.seats.push(seated);
                    }
                    None => strip.over.push(seated),
                }
            }
        }
    }
    let on_fascias = named_on_fascias(network);
    let mut left: Vec<LeverId> = numbered
        .iter()
        .map(|numbered| numbered.lever)
        .filter(|lever| !claimed.contains_key(&Seated::Lever(*lever)) && !on_fascias.contains(lever))
        .collect();
    let mut filled: BTreeSet<Seated> = BTreeSet::new();
    for (strip, _) in wanted.iter_mut().filter(|(_, controls)| controls.is_none()) {
        let (have, others): (Vec<LeverId>, _) =
            left.into_iter().partition(|lever| has_pair(kept, strip, Seated::Lever(*lever)));
        strip.seats = have.into_iter().map(Seated::Lever).collect();
        left = others;
    }
    // A lever that is built off the strips stays there: it is only fetched onto one that names it.
    let starts_known = wanted.iter().all(|(strip, _)| strip.start_known().is_some());
    let mut left = left.into_iter().filter(|lever| !starts_known || kept.address(*lever).is_none());
    for (strip, _) in wanted.iter_mut().filter(|(_, controls)| controls.is_none()) {
        let room = room(strip, &blocked).saturating_sub(strip.seats.len());
        strip.seats.extend(left.by_ref().take(room).map(Seated::Lever));
        filled.extend(&strip.seats);
    }
    for (strip, _) in &mut wanted {
        strip.over.retain(|seated| !claimed.contains_key(seated) && !filled.contains(seated));
        if !strip.over.is_empty() {
            notes.push(full(network, kept, strip, &strip.over));
        }
    }
    wanted.into_iter().map(|(strip, _)| strip).collect()
}

/// What a control names.
fn named(network: &Network, control: Control) -> Vec<Seated> {
    match control.what {
        Controlled::Line(line) => levers_along(network, line).into_iter().map(Seated::Lever).collect(),
        Controlled::Lever(lever) => vec![Seated::Lever(lever)],
        Controlled::Accessory(accessory) => vec![Seated::Accessory(accessory)],
    }
}

fn of_all(network: &Network, controls: Option<&[Control]>) -> Vec<Seated> {
    controls.unwrap_or_default().iter().flat_map(|control| named(network, *control)).collect()
}

/// Whether its address is one of this strip's as it is built; wherever that will start, its levers stay on it.
fn has_pair(kept: &Kept<'_>, strip: &Wanted<'_>, seated: Seated) -> bool {
    let start = strip.built.map(|(_, built)| built.first_address).or(strip.start_known());
    let address = seated.kept(kept);
    start.zip(address).is_some_and(|(start, address)| strip.commands(start, address))
}

/// How many levers find a pair on a strip, as far as is known before its start is decided.
fn room(strip: &Wanted<'_>, blocked: &BTreeSet<u16>) -> usize {
    let pairs = usize::from(strip.pair_count);
    let Some(start) = strip.start_known() else { return pairs };
    pairs - blocked.range(start..).take_while(|address| strip.commands(start, **address)).count()
}

/// The strips that are wanted, with what each controls; strips without a chain get one of their own.
///
/// The order of the panels in the file means nothing. Strips come in the order of their starts where these are pinned or
/// built, then of the lowest number they name, then of their names.
fn strips_of<'a>(
    network: &'a Network,
    numbered: &[Numbered],
    kept: &'a Kept<'a>,
) -> Vec<(Wanted<'a>, Option<&'a [Control]>)> {
    let described = &network.described;
    let numbers: BTreeMap<LeverId, u16> =
        numbered.iter().map(|numbered| (numbered.lever, numbered.number.value)).collect();
    let lowest = |control: &Control| match control.what {
        Controlled::Lever(lever) => numbers.get(&lever).copied(),
        Controlled::Line(line) => {
            levers_along(network, line).iter().filter_map(|lever| numbers.get(lever)).min().copied()
        }
        Controlled::Accessory(_) => None,
    };
    let strip_panels: Vec<_> = network
        .panels
        .iter()
        .map(|panel| (panel.controls.as_deref(), &described.panels[panel.described]))
        .filter(|(_, written)| written.kind == PanelKind::Strip)
        .collect();
    let built = strips_built(network, numbered, kept, &strip_panels);
    let built_of = |written: &Panel| built.get(&written.id.value);
    let mut panels: Vec<_> = strip_panels
        .into_iter()
        .map(|(controls, written)| {
            let pinned = written.start.map(|start| start.value);
            let start =
                pinned.or(built_of(written).map(|(_, built)| built.first_address)).unwrap_or(u16::MAX);
            let number = controls.iter().copied().flatten().filter_map(lowest).min().unwrap_or(u16::MAX);
            ((start, number), controls, written)
        })
        .collect();
    panels.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| natural(&a.2.id.value, &b.2.id.value)));
    let mut chains = Chains::new(&described.panels, kept);
    panels
        .into_iter()
        .map(|(_, controls, written)| {
            let built = built_of(written);
            let chain = match written.chain {
                Some(chain) => chain.value,
                None => chains.own(built.map(|(_, built)| built.chain)),
            };
            let pair_count = pair_count(network, written);
            let strip =
                Wanted { panel: written, chain, pair_count, built, seats: Vec::new(), over: Vec::new() };
            (strip, controls)
        })
        .collect()
}

fn pair_count(network: &Network, panel: &Panel) -> u16 {
    let part = panel.part.as_ref().and_then(|part| network.described.parts.get(&part.value));
    part.and_then(|part| part.pairs).unwrap_or(PAIRS_USUAL)
}

/// What each strip is in the record.
fn strips_built<'a>(
    network: &'a Network,
    numbered: &[Numbered],
    kept: &'a Kept<'a>,
    panels: &[(Option<&'a [Control]>, &'a Panel)],
) -> StripsBuilt<'a> {
    let described: Vec<StripDescribed<'_>> = panels
        .iter()
        .map(|(controls, written)| StripDescribed {
            panel: &written.id.value,
            pair_count: pair_count(network, written),
            levers: match *controls {
                Some(controls) => of_all(network, Some(controls)).into_iter().filter_map(lever_of).collect(),
                None => numbered.iter().map(|numbered| numbered.lever).collect(),
            },
        })
        .collect();
    StripsBuilt::of(kept, &described)
}

/// The numbers of chains, for strips that name none.
struct Chains {
    written: BTreeSet<u16>,
    given: BTreeSet<u16>,
    highest: u16,
}

impl Chains {
    fn new(panels: &[Panel], kept: &Kept<'_>) -> Self {
        let written: BTreeSet<u16> =
            panels.iter().filter_map(|panel| panel.chain).map(|chain| chain.value).collect();
        let built = kept.record.strips.values().map(|strip| strip.value.chain);
        let highest = built.chain(written.iter().copied()).max().unwrap_or(0);
        Self { written, given: BTreeSet::new(), highest }
    }

    /// A chain of one strip: the one it is on, or else a new one.
    fn own(&mut self, built: Option<u16>) -> u16 {
        let free = |chain: &u16| !self.written.contains(chain) && !self.given.contains(chain);
        let chain = built.filter(free).unwrap_or_else(|| {
            self.highest = self.highest.saturating_add(1);
            self.highest
        });
        self.given.insert(chain);
        chain
    }
}

fn lever_of(seated: Seated) -> Option<LeverId> {
    super::lever_of(Some(seated))
}

fn twice(network: &Network, seated: Seated, span: Span, first: Span) -> Diagnostic {
    let word = match seated {
        Seated::Lever(_) => "lever",
        Seated::Accessory(accessory) => network.accessory(accessory).kind.word(),
    };
    let message = format!("{word} `{}` would stand on two pairs", seated.id(network));
    Diagnostic::error(code::CONTROL_TWICE, span, message)
        .help(format!("a {word} has one address, so it can have one pair of a strip; delete one of the two"))
        .related(first, "it has a pair from here already")
}

/// The strip has more levers than pairs, and no other strip takes them.
pub(super) fn full(network: &Network, kept: &Kept<'_>, strip: &Wanted<'_>, over: &[Seated]) -> Diagnostic {
    let ids: Vec<&str> = over.iter().map(|seated| seated.id(network)).collect();
    let shown = &ids[..ids.len().min(NAMES_MAX)];
    let more = match ids.len() - shown.len() {
        0 => String::new(),
        count => format!(" and {count} more"),
    };
    let panel = &strip.panel.id.value;
    let ticked: Vec<String> = shown.iter().map(|id| format!("`{id}`")).collect();
    let written: Vec<String> = shown.iter().map(|id| quoted(id)).collect();
    let message = format!(
        "strip `{panel}` has {}; none is left for {}{more}",
        match strip.pair_count {
            1 => "1 pair".to_owned(),
            count => format!("{count} pairs"),
        },
        ticked.join(", ")
    );
    let chain = strip.panel.chain.map_or_else(String::new, |chain| format!("\nchain = {}", chain.value));
    let start = strip.start_known();
    let retired = kept.record.retired.iter().filter(|(what, _)| match what {
        Retired::Address(address) => start.is_some_and(|start| strip.commands(start, *address)),
        Retired::Number(_) | Retired::Wire(_) | Retired::Decoder(_) => false,
    });
    let retired: Vec<_> = retired.take(NAMES_MAX).collect();
    let free = match retired.as_slice() {
        [] => String::new(),
        [_, ..] => "free one of its retired addresses by deleting its row from the record, or ".to_owned(),
    };
    let note = Diagnostic::error(code::STRIP_FULL, strip.panel.id.span, message).help(format!(
        "{free}add a strip and name them there:\n[panel.{}]\nkind = \"strip\"{chain}\ncontrols = [{}]",
        quoted(&format!("{panel} 2")),
        written.join(", ")
    ));
    retired.into_iter().fold(note, |note, (what, entry)| {
        note.related(entry.span, format!("{} is retired: it was of {}", what.words(), entry.value))
    })
}
