//! Where strips start.

use super::{Beside, Chained, Wanted};
use crate::model::Strip;
use crate::reason::{FEWEST_CHANGES, FOLLOWS_STRIP, KEPT_BUILT, LOWEST_RUN, PINNED, START_FROM_PIN};
use network::{LeverId, Network};
use notice::{Because, Decided, Diagnostic, code};
use packet::UserAddress;
use std::collections::BTreeSet;

/// How many changes a pin on a lever of a new strip is worth: more than a strip has pairs. One that is built does not move
/// for a pin: then the two are at odds, and the user says which is meant.
const PIN_WEIGHT: u32 = 1_000;

/// Where the first strip of a chain starts; none, with a note, when no run of addresses is free.
///
/// What is built stays: of all starts the one is taken at which the fewest strips start anew and the fewest levers lose
/// their addresses. Of those that are alike in this the chain stays where it is, or else lies over the fewest addresses
/// that others have, or else takes the lowest.
pub(super) fn chain_start(
    beside: &Beside<'_>,
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
    let is_new = beside.kept.record.is_empty();
    if is_new && let Some(start) = start_from_pin(beside.network, chain) {
        return Some(start);
    }
    let length: u32 = chain.iter().map(|strip| u32::from(strip.pair_count)).sum();
    let last_address = u32::from(beside.network.described.system.last_address);
    let strips = ranges_of_strips(beside.network, laid, later);
    let used = points_in_use(beside, chain);
    let built = start_built(chain);
    let fits = |start: u32| {
        let end = start + length - 1;
        let clear = |&(low, high): &(u32, u32)| end < low || high < start;
        let has_room = built == Some(start) || has_room(chain, start, &used);
        end <= last_address && strips.iter().all(clear) && has_room
    };
    let starts = (1..=last_address).step_by(4).chain(built).filter(|&start| fits(start));
    let changes = |start: u32| changes(beside, chain, start);
    let shared = |start: u32| used.range(start..start + length).count();
    let starts = starts.filter(|&start| !is_new || shared(start) == 0);
    let best = starts.min_by_key(|&start| (changes(start), built != Some(start), shared(start), start));
    match best.and_then(|start| u16::try_from(start).ok()).and_then(UserAddress::new) {
        Some(start) if built == Some(start.number().into()) => {
            let words = format!("start {}", start.number());
            Some(Decided::new(start, Because::new(&KEPT_BUILT, [words.into()])))
        }
        Some(start) => {
            let why = Because::new(&LOWEST_RUN, [start.number().into(), length.into()]);
            let start = Decided::new(start, why);
            let count = changes(start.value.number().into());
            Some(if is_new || built.is_none() && count == 0 {
                start
            } else {
                start.and(Because::new(&FEWEST_CHANGES, [count.into()]))
            })
        }
        None => {
            let message = format!(
                "no {length} addresses in a row are free up to {last_address} for the chain of strip `{}`",
                first.panel.id.value
            );
            notes.push(
                Diagnostic::error(code::ADDRESS_NONE_FREE, first.panel.id.span, message)
                    .help("free some of `taken` in [system], raise `last_address`, or use shorter strips"),
            );
            None
        }
    }
}

/// What no strip may lie over: ranges that are taken, and the strips of other chains.
fn ranges_of_strips(network: &Network, laid: &Chained, later: &[Wanted<'_>]) -> Vec<(u32, u32)> {
    let mut used: Vec<(u32, u32)> = Vec::new();
    let system = &network.described.system;
    used.extend(system.taken.iter().map(|range| (range.value.0.into(), range.value.1.into())));
    used.extend(laid.strips.iter().map(|strip| (strip.first.value.number().into(), strip.last())));
    used.extend(later.iter().filter_map(|strip| {
        let start = u32::from(strip.start_known()?);
        Some((start, start + u32::from(strip.pair_count) - 1))
    }));
    used
}

/// Whether every lever of a chain finds a pair where it would start, those left out whose addresses others have.
fn has_room(chain: &[Wanted<'_>], start: u32, used: &BTreeSet<u32>) -> bool {
    let mut first = start;
    chain.iter().all(|strip| {
        let end = first + u32::from(strip.pair_count);
        let spare = usize::from(strip.pair_count) - used.range(first..end).count();
        first = end;
        strip.levers.len() <= spare
    })
}

/// Single addresses that others have, whose pairs have to stay without a lever.
fn points_in_use(beside: &Beside<'_>, chain: &[Wanted<'_>]) -> BTreeSet<u32> {
    let on_chain: BTreeSet<LeverId> = chain.iter().flat_map(|strip| strip.levers.iter().copied()).collect();
    let network = beside.network;
    let pinned = (0..network.levers.len())
        .map(LeverId::at)
        .filter(|lever| !on_chain.contains(lever))
        .filter_map(|lever| network.pin(lever, |pins| pins.address));
    pinned.map(|pin| pin.value).chain(beside.blocked.iter().copied()).map(u32::from).collect()
}

/// Where a chain starts as it is built, by the first of its strips that is.
fn start_built(chain: &[Wanted<'_>]) -> Option<u32> {
    let mut before = 0;
    for strip in chain {
        if let Some((_, built)) = strip.built {
            return u32::from(built.first_address).checked_sub(before).filter(|start| *start >= 1);
        }
        before += u32::from(strip.pair_count);
    }
    None
}

/// How many strips of a chain would start anew, and how many levers on it would lose the address that they are pinned to
/// or have, if it started there.
fn changes(beside: &Beside<'_>, chain: &[Wanted<'_>], start: u32) -> u32 {
    let mut first = start;
    let mut count = 0;
    for strip in chain {
        let moves = strip.built.is_some_and(|(_, built)| u32::from(built.first_address) != first);
        let end = first + u32::from(strip.pair_count);
        let lost = strip.levers.iter().filter(|lever| {
            beside.wish(**lever).is_some_and(|wish| !(first..end).contains(&u32::from(wish)))
        });
        let is_pinned = |lever: &LeverId| beside.network.pin(*lever, |pins| pins.address).is_some();
        count += u32::from(moves);
        count += lost
            .map(|lever| if strip.built.is_none() && is_pinned(lever) { PIN_WEIGHT } else { 1 })
            .sum::<u32>();
        first = end;
    }
    count
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

pub(super) fn none_behind(wanted: &Wanted<'_>, before: &Wanted<'_>) -> Diagnostic {
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
pub(super) fn following(wanted: &Wanted<'_>, before: Option<&Strip>) -> Option<Decided<UserAddress>> {
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
