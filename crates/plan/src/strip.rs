//! Strips of button pairs: which lever stands on which pair, where each strip's consecutive addresses start, which
//! cab-bus address its chain takes, and what feeds it.
//!
//! A strip of n pairs commands n consecutive addresses from its start; strips on one chain go on where the one before
//! stops. A start is pinned, or stays as it is built, or follows from the chain, or from a lever on it whose address is
//! pinned, or is the lowest start of a board with room for the whole chain. A lever that has a pair keeps it; a new one gets
//! the first that is spare. Which levers a strip has is decided in `share`, where it starts in `start`.
//!
//! # Source
//! Common practice, no source: consecutive addresses from a start address; a chain's cab-bus address is one higher than
//! the highest in use; up to four strips are fed by the cab bus.

mod clash;
mod place;
mod share;
mod start;

use crate::kept::Kept;
use crate::model::{Chain, Strip, StripFeed};
use crate::number::Numbered;
use crate::reason::{BUS_FED_OUT, BUS_FEEDS_FOUR, CAB_AFTER_HIGHEST, CAB_NONE_IN_USE, KEPT_BUILT};
use description::Panel;
use description::record::StripBuilt;
use network::{AccessoryId, LeverId, Network};
use notice::{Because, Decided, Diagnostic, Spanned};
use packet::UserAddress;
use share::{full, share_out};
use start::{chain_starts, following, none_behind};
use std::collections::{BTreeMap, BTreeSet};

/// How many strips the cab bus feeds.
const STRIPS_FED_BY_BUS: usize = 4;

/// The cab-bus address of the first chain when the user lists none as in use.
const CAB_FIRST: u16 = 2;

/// The strips that were laid out, chain by chain.
#[derive(Clone, Debug, Default)]
pub(crate) struct Chained {
    pub(crate) strips: Vec<Strip>,
    pub(crate) chains: Vec<Chain>,
    /// Which panel each strip of the record is now, by its name there.
    pub(crate) built: BTreeMap<String, String>,
}

/// Who a pair of buttons is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Seated {
    Lever(LeverId),
    Accessory(AccessoryId),
}

impl Seated {
    /// What the user calls it.
    pub(crate) fn id(self, network: &Network) -> &str {
        match self {
            Self::Lever(lever) => &network.lever(lever).id,
            Self::Accessory(accessory) => &network.accessory(accessory).id,
        }
    }

    /// The same with the word for what it is.
    pub(crate) fn words(self, network: &Network) -> String {
        match self {
            Self::Lever(lever) => format!("lever {}", network.lever(lever).id),
            Self::Accessory(accessory) => network.accessory(accessory).key(),
        }
    }

    /// The address that it is pinned to.
    pub(crate) fn pin(self, network: &Network) -> Option<u16> {
        self.pinned(network).map(|pin| pin.value)
    }

    /// The same with its place.
    pub(crate) fn pinned(self, network: &Network) -> Option<Spanned<u16>> {
        match self {
            Self::Lever(lever) => network.pin(lever, |pins| pins.address),
            Self::Accessory(accessory) => network.accessory(accessory).pins.address,
        }
    }

    /// The address that it keeps from the record.
    pub(crate) fn kept(self, kept: &Kept<'_>) -> Option<u16> {
        match self {
            Self::Lever(lever) => kept.address(lever),
            Self::Accessory(accessory) => kept.accessory_address(accessory),
        }
    }
}

/// A strip panel before its addresses are known.
struct Wanted<'a> {
    panel: &'a Panel,
    chain: u16,
    pair_count: u16,
    /// What it is in the record, and under which name.
    built: Option<(&'a str, &'a StripBuilt)>,
    seats: Vec<Seated>,
    /// What it should have and has no pair for.
    over: Vec<Seated>,
}

impl Wanted<'_> {
    /// Where it starts as far as that is known before anything is decided.
    fn start_known(&self) -> Option<u16> {
        self.panel.start.map(|start| start.value).or(self.built.map(|(_, built)| built.first_address))
    }

    /// Whether it commands an address when it starts there.
    fn commands(&self, start: u16, address: u16) -> bool {
        start <= address && address - start < self.pair_count
    }
}

/// What is built beside the strips, as far as their pairs have to keep clear of it.
struct Beside<'a> {
    network: &'a Network,
    kept: &'a Kept<'a>,
    /// Addresses that no new lever may be given: retired, or of something that stands on no strip.
    blocked: BTreeSet<u16>,
    /// Those of them that the record holds.
    built: BTreeSet<u16>,
}

impl<'a> Beside<'a> {
    fn new(network: &'a Network, kept: &'a Kept<'a>, on_strips: &BTreeSet<Seated>) -> Self {
        let mut blocked = kept.addresses_out_of_use();
        let off = |lever: &LeverId| !on_strips.contains(&Seated::Lever(*lever));
        blocked.extend(kept.addresses().filter(|(lever, _)| off(lever)).map(|(_, address)| address));
        let accessories = (0..network.accessories.len()).map(|at| Seated::Accessory(AccessoryId::at(at)));
        for other in accessories.filter(|other| !on_strips.contains(other)) {
            blocked.extend(other.pin(network).or_else(|| other.kept(kept)));
        }
        // What a chain clashes with is told for levers and ranges; signals and lights are taken as they are.
        let built = blocked.clone();
        let pinned = kept.pinned_addresses.iter().filter(|(_, lever)| off(lever));
        blocked.extend(pinned.map(|(address, _)| *address));
        Self { network, kept, blocked, built }
    }

    /// The address that a lever or accessory is pinned to or keeps.
    fn wish(&self, seated: Seated) -> Option<u16> {
        seated.pin(self.network).or_else(|| seated.kept(self.kept))
    }
}

/// Lays out every strip panel of the layout.
pub(crate) fn lay_strips(
    network: &Network,
    numbered: &[Numbered],
    kept: &Kept<'_>,
    notes: &mut Vec<Diagnostic>,
) -> Chained {
    let mut wanted = share_out(network, numbered, kept, notes);
    wanted.sort_by_key(|strip| strip.chain);
    let on_strips: BTreeSet<Seated> = wanted.iter().flat_map(|strip| strip.seats.iter().copied()).collect();
    let beside = Beside::new(network, kept, &on_strips);
    let again = wanted.iter().filter_map(|strip| {
        let (name, _) = strip.built?;
        Some((name.to_owned(), strip.panel.id.value.clone()))
    });
    let mut chained = Chained { built: again.collect(), ..Chained::default() };
    let listed = network.described.system.cabs_in_use.iter().map(|cab| cab.value);
    let built = kept.record.strips.values().filter_map(|strip| strip.value.cab);
    let mut cab_highest = listed.chain(built).max();
    let chains: Vec<&[Wanted<'_>]> = wanted.chunk_by(|a, b| a.chain == b.chain).collect();
    let starts = chain_starts(&beside, &chains, notes);
    for (chain, start) in chains.into_iter().zip(starts) {
        let Some(start) = start else { continue };
        let cab = cab_built(chain, &chained).unwrap_or_else(|| {
            let cab = match cab_highest {
                Some(highest) => {
                    let why = Because::new(&CAB_AFTER_HIGHEST, [highest.into()]);
                    Decided::new(highest.saturating_add(1), why)
                }
                None => Decided::new(CAB_FIRST, Because::new(&CAB_NONE_IN_USE, [CAB_FIRST.into()])),
            };
            cab_highest = Some(cab.value);
            cab
        });
        let strips = lay_chain(&beside, chain, start, &mut chained, notes);
        chained.chains.push(Chain { number: chain[0].chain, cab, strips });
    }
    chained
}

/// The cab-bus address that a chain has, unless another chain has it already.
fn cab_built(chain: &[Wanted<'_>], chained: &Chained) -> Option<Decided<u16>> {
    let cab = chain.iter().find_map(|strip| strip.built.and_then(|(_, built)| built.cab))?;
    let is_free = chained.chains.iter().all(|other| other.cab.value != cab);
    let words = format!("cab-bus address {cab}");
    is_free.then(|| Decided::new(cab, Because::new(&KEPT_BUILT, [words.into()])))
}

/// Lays the strips of one chain one after the other; returns their indices.
fn lay_chain(
    beside: &Beside<'_>,
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
        let (seats, over) = seat(beside, wanted, first.value);
        if !over.is_empty() {
            notes.push(full(beside.network, beside.kept, wanted, &over));
        }
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
            pairs: seats.iter().map(|seat| lever_of(*seat)).collect(),
            accessories: seats.iter().map(|seat| accessory_of(*seat)).collect(),
            feed: feed(chained.strips.len() + 1),
        });
    }
    indices
}

fn lever_of(seat: Option<Seated>) -> Option<LeverId> {
    match seat {
        Some(Seated::Lever(lever)) => Some(lever),
        Some(Seated::Accessory(_)) | None => None,
    }
}

fn accessory_of(seat: Option<Seated>) -> Option<AccessoryId> {
    match seat {
        Some(Seated::Accessory(accessory)) => Some(accessory),
        Some(Seated::Lever(_)) | None => None,
    }
}

/// What is commanded by each pair, and that for which none is left.
fn seat(beside: &Beside<'_>, wanted: &Wanted<'_>, first: UserAddress) -> (Vec<Option<Seated>>, Vec<Seated>) {
    let first = first.number();
    let in_reach = usize::from(UserAddress::MAX - first + 1);
    let mut pairs = vec![None; usize::from(wanted.pair_count).min(in_reach)];
    let mut new = Vec::new();
    for &seated in &wanted.seats {
        // Where nothing is built yet the order of the controls is kept, whatever is pinned.
        let wish = if beside.kept.record.is_empty() { None } else { beside.wish(seated) };
        let pair = wish.filter(|&wish| wanted.commands(first, wish));
        match pair.and_then(|wish| pairs.get_mut(usize::from(wish - first))) {
            Some(pair) if pair.is_none() => *pair = Some(seated),
            Some(_) | None => new.push(seated),
        }
    }
    let mut new = new.into_iter();
    let spare = (first..)
        .zip(&mut pairs)
        .filter(|(address, pair)| pair.is_none() && !beside.blocked.contains(address));
    for (_, pair) in spare {
        *pair = new.next();
    }
    // What lies past the last address there is has an error of its own.
    let over = if in_reach < usize::from(wanted.pair_count) { Vec::new() } else { new.collect() };
    (pairs, over)
}

fn feed(place: usize) -> Decided<StripFeed> {
    let saw = [STRIPS_FED_BY_BUS.into(), place.into()];
    if place <= STRIPS_FED_BY_BUS {
        Decided::new(StripFeed::CabBus, Because::new(&BUS_FEEDS_FOUR, saw))
    } else {
        Decided::new(StripFeed::OwnSupply, Because::new(&BUS_FED_OUT, saw))
    }
}
