//! Strips of button pairs: which lever stands on which pair, where each strip's consecutive addresses start, which
//! cab-bus address its chain takes, and what feeds it.
//!
//! A strip of n pairs commands n consecutive addresses from its start; strips on one chain go on where the one before
//! stops. A start is pinned, or follows from the chain, or from a lever on it whose address is pinned, or is the lowest
//! start of a board with room for the whole chain.
//!
//! # Source
//! Common practice, no source: consecutive addresses from a start address; a chain's cab-bus address is one higher than
//! the highest in use; up to four strips are fed by the cab bus.

use crate::fascia::named_on_fascias;
use crate::model::{Chain, Strip, StripFeed};
use crate::number::{Numbered, levers_along};
use crate::reason::{
    BUS_FED_OUT, BUS_FEEDS_FOUR, CAB_AFTER_HIGHEST, CAB_NONE_IN_USE, FOLLOWS_STRIP, LOWEST_RUN, PINNED,
    START_FROM_PIN,
};
use description::{Panel, PanelKind};
use network::{Control, Controlled, LeverId, Network};
use notice::{Because, Decided, Diagnostic, Span, code, natural, quoted};
use packet::UserAddress;
use std::collections::{BTreeMap, BTreeSet};

/// The most levers that a message names.
const NAMES_MAX: usize = 12;

/// How many strips the cab bus feeds.
const STRIPS_FED_BY_BUS: usize = 4;

/// The cab-bus address of the first chain when the user lists none as in use.
const CAB_FIRST: u16 = 2;

/// The pairs of a strip whose part does not say.
const PAIRS_USUAL: u16 = 12;

/// The strips that were laid out, chain by chain.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chained {
    pub(crate) strips: Vec<Strip>,
    pub(crate) chains: Vec<Chain>,
}

/// A strip panel before its addresses are known.
struct Wanted<'a> {
    panel: &'a Panel,
    chain: u16,
    pair_count: u16,
    levers: Vec<LeverId>,
    /// Levers it should have and has no pair for.
    over: Vec<LeverId>,
}

/// Lays out every strip panel of the layout.
pub(crate) fn lay_strips(network: &Network, numbered: &[Numbered], notes: &mut Vec<Diagnostic>) -> Chained {
    let mut wanted = share_out(network, numbered, notes);
    wanted.sort_by_key(|strip| strip.chain);
    let mut chained = Chained::default();
    let mut cab_highest = network.described.system.cabs_in_use.iter().map(|cab| cab.value).max();
    let mut rest = wanted.as_slice();
    while let Some(first) = rest.first() {
        let len = rest.iter().take_while(|strip| strip.chain == first.chain).count();
        let (chain, after) = rest.split_at(len);
        rest = after;
        let Some(start) = chain_start(network, chain, &chained, after, notes) else { continue };
        let cab = match cab_highest {
            Some(highest) => {
                Decided::new(highest.saturating_add(1), Because::new(&CAB_AFTER_HIGHEST, [highest.into()]))
            }
            None => Decided::new(CAB_FIRST, Because::new(&CAB_NONE_IN_USE, [CAB_FIRST.into()])),
        };
        cab_highest = Some(cab.value);
        let strips = lay_chain(chain, start, &mut chained, notes);
        chained.chains.push(Chain { number: first.chain, cab, strips });
    }
    chained
}

/// Decides which levers each strip has. A line that is too long for its strip goes on to the next strip that names it,
/// or to one that names nothing; what is left then is noted.
fn share_out<'a>(
    network: &'a Network,
    numbered: &[Numbered],
    notes: &mut Vec<Diagnostic>,
) -> Vec<Wanted<'a>> {
    let mut wanted = strips_of(network, numbered);
    let mut claimed: BTreeMap<LeverId, Span> = BTreeMap::new();
    for (strip, controls) in &mut wanted {
        for control in controls.iter().copied().flatten() {
            let levers = match control.what {
                Controlled::Line(line) => levers_along(network, line),
                Controlled::Lever(lever) => vec![lever],
            };
            for lever in levers {
                match claimed.get(&lever) {
                    Some(first) if control.what == Controlled::Lever(lever) => {
                        notes.push(twice(network, lever, control.span, *first));
                    }
                    Some(_) => {}
                    None if strip.levers.len() < usize::from(strip.pair_count) => {
                        claimed.insert(lever, control.span);
                        strip.levers.push(lever);
                    }
                    None => strip.over.push(lever),
                }
            }
        }
    }
    let on_fascias = named_on_fascias(network);
    let mut left = numbered
        .iter()
        .map(|numbered| numbered.lever)
        .filter(|lever| !claimed.contains_key(lever) && !on_fascias.contains(lever));
    let mut filled: BTreeSet<LeverId> = BTreeSet::new();
    for (strip, _) in wanted.iter_mut().filter(|(_, controls)| controls.is_none()) {
        strip.levers.extend(left.by_ref().take(usize::from(strip.pair_count)));
        filled.extend(&strip.levers);
    }
    for (strip, _) in &mut wanted {
        strip.over.retain(|lever| !claimed.contains_key(lever) && !filled.contains(lever));
        if !strip.over.is_empty() {
            notes.push(full(network, strip));
        }
    }
    wanted.into_iter().map(|(strip, _)| strip).collect()
}

/// The strips that are wanted, with what each controls; strips without a chain get one of their own.
///
/// The order of the panels in the file means nothing. Strips come in the order of their pinned starts, then of the
/// lowest number they name, then of their names.
fn strips_of<'a>(network: &'a Network, numbered: &[Numbered]) -> Vec<(Wanted<'a>, Option<&'a [Control]>)> {
    let described = &network.described;
    let numbers: BTreeMap<LeverId, u16> =
        numbered.iter().map(|numbered| (numbered.lever, numbered.number.value)).collect();
    let lowest = |control: &Control| match control.what {
        Controlled::Lever(lever) => numbers.get(&lever).copied(),
        Controlled::Line(line) => {
            levers_along(network, line).iter().filter_map(|lever| numbers.get(lever)).min().copied()
        }
    };
    let mut panels: Vec<_> = network
        .panels
        .iter()
        .map(|panel| (panel, &described.panels[panel.described]))
        .filter(|(_, written)| written.kind == PanelKind::Strip)
        .map(|(panel, written)| {
            let start = written.start.map_or(u16::MAX, |start| start.value);
            let number = panel.controls.iter().flatten().filter_map(lowest).min().unwrap_or(u16::MAX);
            ((start, number), panel, written)
        })
        .collect();
    panels.sort_by(|a, b| a.0.cmp(&b.0).then_with(|| natural(&a.2.id.value, &b.2.id.value)));
    let mut chain_next =
        described.panels.iter().filter_map(|panel| panel.chain).map(|chain| chain.value).max();
    panels
        .into_iter()
        .map(|(_, panel, written)| {
            let mut own_chain = || {
                let own = chain_next.unwrap_or(0).saturating_add(1);
                chain_next = Some(own);
                own
            };
            let chain = written.chain.map_or_else(&mut own_chain, |chain| chain.value);
            let part = written.part.as_ref().and_then(|part| described.parts.get(&part.value));
            let pair_count = part.and_then(|part| part.pairs).unwrap_or(PAIRS_USUAL);
            let strip = Wanted { panel: written, chain, pair_count, levers: Vec::new(), over: Vec::new() };
            (strip, panel.controls.as_deref())
        })
        .collect()
}

fn twice(network: &Network, lever: LeverId, span: Span, first: Span) -> Diagnostic {
    let message = format!("lever `{}` would stand on two pairs", network.lever(lever).id);
    Diagnostic::error(code::CONTROL_TWICE, span, message)
        .help("a lever has one address, so it can have one pair of a strip; delete one of the two")
        .related(first, "it has a pair from here already")
}

/// The strip has more levers than pairs, and no other strip takes them.
fn full(network: &Network, strip: &Wanted<'_>) -> Diagnostic {
    let ids: Vec<&str> = strip.over.iter().map(|lever| network.lever(*lever).id.as_str()).collect();
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
    Diagnostic::error(code::STRIP_FULL, strip.panel.id.span, message).help(format!(
        "add a strip and name them there:\n[panel.{}]\nkind = \"strip\"{chain}\ncontrols = [{}]",
        quoted(&format!("{panel} 2")),
        written.join(", ")
    ))
}

/// Where the first strip of a chain starts; none, with a note, when no run of addresses is free.
fn chain_start(
    network: &Network,
    chain: &[Wanted<'_>],
    laid: &Chained,
    later: &[Wanted<'_>],
    notes: &mut Vec<Diagnostic>,
) -> Option<Decided<UserAddress>> {
    let first = &chain[0];
    if let Some(start) = first.panel.start {
        let words = format!("start = {}", start.value);
        return UserAddress::new(start.value)
            .map(|start| Decided::new(start, Because::new(&PINNED, [words.into()])));
    }
    if let Some(start) = start_from_pin(network, chain) {
        return Some(start);
    }
    let length: u32 = chain.iter().map(|strip| u32::from(strip.pair_count)).sum();
    let mut used: Vec<(u32, u32)> = Vec::new();
    let system = &network.described.system;
    used.extend(system.taken.iter().map(|range| (range.value.0.into(), range.value.1.into())));
    used.extend(laid.strips.iter().map(|strip| (strip.first.value.number().into(), strip.last())));
    used.extend(later.iter().filter_map(|strip| {
        let start = u32::from(strip.panel.start?.value);
        Some((start, start + u32::from(strip.pair_count) - 1))
    }));
    let on_chain: BTreeSet<LeverId> = chain.iter().flat_map(|strip| strip.levers.iter().copied()).collect();
    used.extend(
        (0..network.levers.len())
            .map(LeverId::at)
            .filter(|lever| !on_chain.contains(lever))
            .filter_map(|lever| network.pin(lever, |pins| pins.address))
            .map(|pin| (pin.value.into(), pin.value.into())),
    );
    let start = (1..=u32::from(system.last_address)).step_by(4).find(|&start| {
        let end = start + length - 1;
        end <= u32::from(system.last_address) && used.iter().all(|&(low, high)| end < low || high < start)
    });
    match start.and_then(|start| u16::try_from(start).ok()).and_then(UserAddress::new) {
        Some(start) => {
            let why = Because::new(&LOWEST_RUN, [start.number().into(), length.into()]);
            Some(Decided::new(start, why))
        }
        None => {
            let message = format!(
                "no {length} addresses in a row are free up to {} for the chain of strip `{}`",
                system.last_address, first.panel.id.value
            );
            notes.push(
                Diagnostic::error(code::ADDRESS_NONE_FREE, first.panel.id.span, message)
                    .help("free some of `taken` in [system], raise `last_address`, or use shorter strips"),
            );
            None
        }
    }
}

/// The start that follows from the first pinned address among the levers of a chain.
fn start_from_pin(network: &Network, chain: &[Wanted<'_>]) -> Option<Decided<UserAddress>> {
    let mut before: u16 = 0;
    for strip in chain {
        if strip.panel.start.is_some() {
            // From here on the chain no longer follows from its first strip.
            return None;
        }
        for (&lever, pair) in strip.levers.iter().zip(1u16..) {
            let Some(pin) = network.pin(lever, |pins| pins.address) else { continue };
            let start = pin.value.checked_sub(before.saturating_add(pair - 1)).and_then(UserAddress::new);
            if let Some(start) = start {
                let saw = [network.lever(lever).id.as_str().into(), pair.into(), pin.value.into()];
                return Some(Decided::new(start, Because::new(&START_FROM_PIN, saw)));
            }
        }
        before = before.saturating_add(strip.pair_count);
    }
    None
}

/// Lays the strips of one chain one after the other; returns their indices.
fn lay_chain(
    chain: &[Wanted<'_>],
    start: Decided<UserAddress>,
    chained: &mut Chained,
    notes: &mut Vec<Diagnostic>,
) -> Vec<usize> {
    let mut indices = Vec::new();
    let mut first = start;
    for (place, wanted) in chain.iter().enumerate() {
        if place > 0 {
            let Some(follows) = following(wanted, chained.strips.last()) else {
                notes.push(none_behind(wanted, &chain[place - 1]));
                break;
            };
            first = follows;
        }
        let in_reach = usize::from(UserAddress::MAX - first.value.number() + 1);
        let mut pairs: Vec<Option<LeverId>> = wanted.levers.iter().copied().map(Some).collect();
        pairs.resize(usize::from(wanted.pair_count), None);
        pairs.truncate(in_reach);
        indices.push(chained.strips.len());
        chained.strips.push(Strip {
            panel: wanted.panel.id.value.clone(),
            span: wanted.panel.start.map_or(wanted.panel.id.span, |start| start.span),
            at: wanted.panel.at.as_ref().map(|at| at.value.clone()),
            part: wanted
                .panel
                .part
                .as_ref()
                .map_or_else(|| "twelve pair strip".to_owned(), |part| part.value.clone()),
            chain: wanted.chain,
            pair_count: wanted.pair_count,
            first: first.clone(),
            pairs,
            feed: feed(chained.strips.len() + 1),
        });
    }
    indices
}

fn none_behind(wanted: &Wanted<'_>, before: &Wanted<'_>) -> Diagnostic {
    let (strip, before) = (&wanted.panel.id, &before.panel.id);
    let message = format!(
        "no address is left for strip `{}` behind strip `{}` on its chain",
        strip.value, before.value
    );
    Diagnostic::error(code::ADDRESS_NONE_FREE, strip.span, message)
        .help("start the chain lower, or give the strip a chain of its own")
        .related(before.span, "this strip takes the last address there is")
}

/// The start of a strip behind another: its pin, or the address after the one before.
fn following(wanted: &Wanted<'_>, before: Option<&Strip>) -> Option<Decided<UserAddress>> {
    if let Some(pin) = wanted.panel.start {
        let words = format!("start = {}", pin.value);
        return UserAddress::new(pin.value)
            .map(|start| Decided::new(start, Because::new(&PINNED, [words.into()])));
    }
    let before = before?;
    let last = u16::try_from(before.last()).ok()?;
    let saw = [before.panel.as_str().into(), last.into()];
    UserAddress::new(last.checked_add(1)?).map(|start| Decided::new(start, Because::new(&FOLLOWS_STRIP, saw)))
}

fn feed(place: usize) -> Decided<StripFeed> {
    let saw = [STRIPS_FED_BY_BUS.into(), place.into()];
    if place <= STRIPS_FED_BY_BUS {
        Decided::new(StripFeed::CabBus, Because::new(&BUS_FEEDS_FOUR, saw))
    } else {
        Decided::new(StripFeed::OwnSupply, Because::new(&BUS_FED_OUT, saw))
    }
}
