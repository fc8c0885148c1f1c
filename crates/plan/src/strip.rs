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

use crate::model::{Chain, Strip, StripFeed};
use crate::number::{Numbered, levers_along};
use crate::reason::{
    BUS_FED_OUT, BUS_FEEDS_FOUR, CAB_AFTER_HIGHEST, CAB_NONE_IN_USE, FOLLOWS_STRIP, LOWEST_RUN, PINNED,
    START_FROM_PIN,
};
use description::{Panel, PanelKind};
use network::{Controlled, LeverId, Network};
use notice::{Because, Decided, Diagnostic, Span, code};
use packet::UserAddress;
use std::collections::BTreeMap;

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
        let strips = lay_chain(chain, start, &mut chained);
        chained.chains.push(Chain { number: first.chain, cab, strips });
    }
    chained
}

/// Decides which levers each strip has, and gives strips without a chain one of their own.
fn share_out<'a>(
    network: &'a Network,
    numbered: &[Numbered],
    notes: &mut Vec<Diagnostic>,
) -> Vec<Wanted<'a>> {
    let described = &network.described;
    let mut claimed: BTreeMap<LeverId, Span> = BTreeMap::new();
    let mut chain_next =
        described.panels.iter().filter_map(|panel| panel.chain).map(|chain| chain.value).max();
    let mut wanted = Vec::new();
    for panel in &network.panels {
        let written = &described.panels[panel.described];
        if written.kind != PanelKind::Strip {
            continue;
        }
        let chain = written.chain.map_or_else(
            || {
                let own = chain_next.unwrap_or(0).saturating_add(1);
                chain_next = Some(own);
                own
            },
            |chain| chain.value,
        );
        let part = written.part.as_ref().and_then(|part| described.parts.get(&part.value));
        let pair_count = part.and_then(|part| part.pairs).unwrap_or(PAIRS_USUAL);
        let mut levers: Vec<LeverId> = Vec::new();
        for control in panel.controls.iter().flatten() {
            match control.what {
                Controlled::Line(line) => {
                    for lever in levers_along(network, line) {
                        if let std::collections::btree_map::Entry::Vacant(free) = claimed.entry(lever) {
                            free.insert(control.span);
                            levers.push(lever);
                        }
                    }
                }
                Controlled::Lever(lever) => match claimed.get(&lever) {
                    None => {
                        claimed.insert(lever, control.span);
                        levers.push(lever);
                    }
                    Some(first) => notes.push(twice(network, lever, control.span, *first)),
                },
            }
        }
        wanted.push((panel.controls.is_none(), Wanted { panel: written, chain, pair_count, levers }));
    }
    let mut left: Vec<LeverId> = numbered.iter().map(|numbered| numbered.lever).collect();
    left.retain(|lever| !claimed.contains_key(lever));
    let mut left = left.into_iter();
    wanted
        .into_iter()
        .map(|(open, mut strip)| {
            if open {
                strip.levers.extend(left.by_ref().take(usize::from(strip.pair_count)));
            }
            keep_what_fits(network, &mut strip, notes);
            strip
        })
        .collect()
}

fn twice(network: &Network, lever: LeverId, span: Span, first: Span) -> Diagnostic {
    let message = format!("lever `{}` would stand on two pairs", network.lever(lever).id);
    Diagnostic::error(code::CONTROL_TWICE, span, message)
        .help("a lever has one address, so it can have one pair of a strip; delete one of the two")
        .related(first, "it has a pair from here already")
}

fn keep_what_fits(network: &Network, strip: &mut Wanted<'_>, notes: &mut Vec<Diagnostic>) {
    let room = usize::from(strip.pair_count);
    if strip.levers.len() <= room {
        return;
    }
    let over: Vec<String> =
        strip.levers[room..].iter().map(|lever| format!("`{}`", network.lever(*lever).id)).collect();
    let message = format!(
        "strip `{}` has {room} pairs for {} levers; no pair is left for {}",
        strip.panel.id.value,
        strip.levers.len(),
        over.join(", ")
    );
    notes.push(
        Diagnostic::error(code::STRIP_FULL, strip.panel.id.span, message).help(format!(
            "add a strip to the chain and name them there:\n[panel.\"{} 2\"]\nkind = \"strip\"\nchain = {}\ncontrols = [{}]",
            strip.panel.id.value,
            strip.chain,
            over.join(", ").replace('`', "\"")
        )),
    );
    strip.levers.truncate(room);
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
    let on_chain = || chain.iter().flat_map(|strip| strip.levers.iter().copied());
    for (index, &lever) in first.levers.iter().enumerate() {
        let Some(pin) = network.pin(lever, |pins| pins.address) else { continue };
        let before = u16::try_from(index).unwrap_or(u16::MAX);
        if let Some(start) = pin.value.checked_sub(before).and_then(UserAddress::new) {
            let saw = [network.lever(lever).id.as_str().into(), (index + 1).into(), pin.value.into()];
            return Some(Decided::new(start, Because::new(&START_FROM_PIN, saw)));
        }
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
    let on_chain: Vec<LeverId> = on_chain().collect();
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

/// Lays the strips of one chain one after the other; returns their indices.
fn lay_chain(chain: &[Wanted<'_>], start: Decided<UserAddress>, chained: &mut Chained) -> Vec<usize> {
    let mut indices = Vec::new();
    let mut first = start;
    for (place, wanted) in chain.iter().enumerate() {
        if place > 0 {
            let Some(follows) = following(wanted, chained.strips.last()) else { break };
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
