//! Why a lever finds no address: which statements of the description clash, and none more than it takes.
//!
//! One lever too many wants one of the addresses that are left. A statement is needed for that if an address is covered by it
//! alone: without it that address were free. One that covers only what others cover as well is left out, one after the other, so
//! that what is left is irreducible; each lever that asks for an address is needed anyway. What the as-built record holds stays.

use crate::kept::Kept;
use crate::model::PlannedLever;
use crate::strip::Chained;
use description::LAST_ADDRESS_USUAL;
use network::{LeverId, Network};
use notice::Span;
use packet::UserAddress;
use std::collections::BTreeSet;

/// The most statements that a finding lists.
pub(super) const LISTED_MAX: usize = 12;

/// A statement, and the addresses that it covers.
struct Covering {
    span: Span,
    words: String,
    addresses: Vec<u16>,
}

/// Where each statement stands and what it does: those that take addresses away first, then the levers that want one each.
pub(super) fn find(
    network: &Network,
    chained: &Chained,
    kept: &Kept<'_>,
    levers: &[PlannedLever],
    loose: &BTreeSet<LeverId>,
) -> Vec<(Span, String)> {
    let system = &network.described.system;
    let mut count = vec![0_u32; usize::from(UserAddress::MAX) + 1];
    let mut cover = |address: u16| {
        if let Some(count) = count.get_mut(usize::from(address)) {
            *count += 1;
        }
    };
    kept.addresses_out_of_use().into_iter().for_each(&mut cover);
    let on_strip: BTreeSet<LeverId> =
        levers.iter().filter(|lever| lever.control.is_some()).map(|lever| lever.lever).collect();
    let built = kept.addresses().filter(|(lever, _)| !on_strip.contains(lever));
    built.for_each(|(_, address)| cover(address));
    // A lever on a strip needs an address with the strip or without it.
    levers
        .iter()
        .filter(|lever| lever.control.is_some())
        .for_each(|lever| cover(lever.address.value.number()));
    let mut all = covering(network, chained, levers);
    all.iter().flat_map(|statement| &statement.addresses).for_each(|address| cover(*address));
    all.retain(|statement| {
        let mut own = statement.addresses.iter().filter(|address| **address <= system.last_address);
        let is_needed = own.any(|address| count.get(usize::from(*address)) == Some(&1));
        if !is_needed {
            for address in &statement.addresses {
                if let Some(count) = count.get_mut(usize::from(*address)) {
                    *count -= 1;
                }
            }
        }
        is_needed
    });
    let mut named: Vec<(Span, String)> =
        all.into_iter().map(|statement| (statement.span, statement.words)).collect();
    let mut above = system.last_address.saturating_add(1)..=LAST_ADDRESS_USUAL;
    let would_help = above.any(|address| count.get(usize::from(address)) == Some(&0));
    if let Some(span) = system.last_address_at.filter(|_| would_help) {
        named.push((span, format!("no address is past {}", system.last_address)));
    }
    let wanting = levers.iter().filter(|lever| loose.contains(&lever.lever));
    named.extend(wanting.map(|lever| {
        let lever = network.lever(lever.lever);
        (lever.span, format!("`{}` takes one of those that are left", lever.id))
    }));
    named
}

/// What the user wrote that covers addresses.
fn covering(network: &Network, chained: &Chained, levers: &[PlannedLever]) -> Vec<Covering> {
    let taken = network.described.system.taken.iter().map(|range| Covering {
        span: range.span,
        words: "taken here, by something else".to_owned(),
        addresses: (range.value.0..=range.value.1).collect(),
    });
    let strips = chained.strips.iter().map(|strip| {
        let first = strip.first.value.number();
        let spare = (first..).zip(&strip.pairs).filter(|(_, lever)| lever.is_none());
        Covering {
            span: strip.span,
            words: format!("strip `{}` keeps its spare pairs, of {first}–{}", strip.panel, strip.last()),
            addresses: spare.map(|(address, _)| address).collect(),
        }
    });
    let pins = levers.iter().filter(|lever| lever.control.is_none()).filter_map(|lever| {
        let pin = network.pin(lever.lever, |pins| pins.address)?;
        Some(Covering {
            span: pin.span,
            words: format!("`{}` is pinned to address {}", network.lever(lever.lever).id, pin.value),
            addresses: vec![pin.value],
        })
    });
    taken.chain(strips).chain(pins).collect()
}
