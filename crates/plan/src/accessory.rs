//! Signals and lights: a number and an accessory address for each.
//!
//! Numbers follow the levers'. An address is pinned, or kept as it is built, or that of the pair whose strip names the thing; else the
//! first spare pair of a strip that names no controls commands it; else any will do, and [`crate::decoder`] finds the output that
//! is best. Levers come first in all of this, so that a light never moves one.

use crate::address::Addressed;
use crate::kept::Kept;
use crate::model::{Control, Decoder, LeverNumber, PlannedAccessory, Strip};
use crate::number::Numbered;
use crate::reason::{
    BEHIND_LEVERS, FIRST_FREE, KEPT_BUILT, OUTPUT_NOT_PLACED, PAIR_COMMANDS, PINNED, SPARE_PAIR,
};
use description::PanelKind;
use network::{AccessoryId, Network};
use notice::{Because, Decided, Diagnostic, code};
use packet::UserAddress;
use std::collections::{BTreeMap, BTreeSet};

/// Gives every signal and light a number and an address, in the order of the network. Spare pairs of strips are given to what
/// finds one.
pub(crate) fn decide_accessories(
    network: &Network,
    numbered: &[Numbered],
    addressed: &mut Addressed,
    strips: &mut [Strip],
    kept: &Kept<'_>,
    notes: &mut Vec<Diagnostic>,
) {
    if network.accessories.is_empty() {
        return;
    }
    let numbers = number_accessories(network, numbered, kept);
    let mut seats = Seats::new(network, addressed, strips, kept);
    // Who is tied to an address comes before those that take what is left.
    let (tied, loose): (Vec<AccessoryId>, Vec<AccessoryId>) =
        (0..network.accessories.len()).map(AccessoryId::at).partition(|id| seats.is_tied(*id));
    let mut placed: BTreeMap<AccessoryId, (Option<Control>, Option<Decided<UserAddress>>)> = BTreeMap::new();
    for id in tied.into_iter().chain(loose) {
        let seat = seats.place(id);
        placed.insert(id, seat);
    }
    let loose_others = seats.loose;
    if let Some((id, _)) = placed.iter().find(|(_, (_, address))| address.is_none()) {
        let accessory = network.accessory(*id);
        let last = network.described.system.last_address;
        let message =
            format!("no address up to {last} is free for {} `{}`", accessory.kind.word(), accessory.id);
        notes.push(
            Diagnostic::error(code::ADDRESS_NONE_FREE, accessory.span, message)
                .help("free some of `taken` in [system], raise `last_address`, or describe fewer levers"),
        );
    }
    // What is tied to an address leaves it to nothing else.
    let tied = placed.iter().filter(|(id, _)| !loose_others.contains(id));
    let tied: Vec<u16> =
        tied.filter_map(|(_, (_, address))| Some(address.as_ref()?.value.number())).collect();
    addressed.reserved.extend(tied);
    let others = numbers.into_iter().map(|(accessory, number)| {
        let (control, address) = placed.remove(&accessory).unwrap_or_default();
        PlannedAccessory { accessory, number, control, address, decoder: None }
    });
    (addressed.others, addressed.loose_others) = (others.collect(), loose_others);
}

/// Says of those that no output drives that none does, and leaves those of them whose address is free one that no decoder answers.
pub(crate) fn settle_undriven(network: &Network, addressed: &mut Addressed, decoders: &[Decoder]) {
    let mut used = addressed.reserved.clone();
    used.extend(addressed.levers.iter().map(|lever| lever.address.value.number()));
    used.extend(
        addressed
            .others
            .iter()
            .filter(|other| other.decoder.is_some())
            .filter_map(|other| Some(other.address.as_ref()?.value.number())),
    );
    for decoder in decoders {
        let first = decoder.first.value.number();
        used.extend(first..first.saturating_add(decoder.outputs));
    }
    let last = network.described.system.last_address;
    for other in addressed.others.iter_mut().filter(|other| other.decoder.is_none()) {
        if addressed.loose_others.contains(&other.accessory)
            && let Some(free) = (1..=last).find(|number| !used.contains(number)).and_then(UserAddress::new)
        {
            used.insert(free.number());
            other.address = Some(Decided::new(free, Because::new(&FIRST_FREE, [free.number().into()])));
        }
        let none = Because::new(&OUTPUT_NOT_PLACED, []);
        other.address = other.address.take().map(|address| address.and(none));
    }
}

/// The number of each: pinned, kept, or the lowest free behind the levers and the numbers kept spare for the last line.
fn number_accessories(
    network: &Network,
    numbered: &[Numbered],
    kept: &Kept<'_>,
) -> Vec<(AccessoryId, Decided<LeverNumber>)> {
    let numbering = &network.described.numbering;
    let mut used = kept.numbers_out_of_use();
    used.extend(kept.accessory_numbers(network));
    used.extend(numbered.iter().map(|lever| lever.number.value));
    // A lever pinned far away does not draw the others after it.
    let counted = numbered.iter().filter(|lever| network.pin(lever.lever, |pins| pins.number).is_none());
    let behind = counted.max_by_key(|lever| lever.number.value).map_or(numbering.first, |last| {
        let spare = if last.line.is_some() { numbering.spare_per_line } else { 0 };
        last.number.value.saturating_add(spare).saturating_add(1)
    });
    let decide = |id: AccessoryId| {
        if let Some(pin) = network.accessory(id).pins.number {
            let words = format!("number = {}", pin.value);
            return (id, Decided::new(pin.value, Because::new(&PINNED, [words.into()])));
        }
        if let Some(number) = kept.accessory_number(network, id) {
            let words = format!("number {number}");
            return (id, Decided::new(number, Because::new(&KEPT_BUILT, [words.into()])));
        }
        let free = (behind..=LeverNumber::MAX).find(|number| !used.contains(number));
        let number = free.unwrap_or(LeverNumber::MAX);
        used.insert(number);
        (id, Decided::new(number, Because::new(&BEHIND_LEVERS, [number.into()])))
    };
    (0..network.accessories.len()).map(AccessoryId::at).map(decide).collect()
}

/// Pairs and addresses, while they are given out.
struct Seats<'a> {
    network: &'a Network,
    kept: &'a Kept<'a>,
    strips: &'a mut [Strip],
    /// Addresses that no new thing may have, pairs that no lever has among them.
    used: BTreeSet<u16>,
    /// Addresses that nothing new may have even on a spare pair: of levers off the strips, taken, retired, pinned or kept.
    blocked: BTreeSet<u16>,
    /// Who has an address for the time being.
    loose: BTreeSet<AccessoryId>,
}

impl<'a> Seats<'a> {
    fn new(network: &'a Network, addressed: &Addressed, strips: &'a mut [Strip], kept: &'a Kept<'a>) -> Self {
        let mut blocked: BTreeSet<u16> =
            addressed.levers.iter().map(|lever| lever.address.value.number()).collect();
        blocked.extend(kept.addresses_out_of_use());
        blocked.extend(kept.accessory_addresses());
        let mut used = addressed.reserved.clone();
        used.extend(&blocked);
        Self { network, kept, strips, used, blocked, loose: BTreeSet::new() }
    }

    /// The address that it is pinned to or keeps, with the reason.
    fn wish(&self, id: AccessoryId) -> Option<Decided<UserAddress>> {
        if let Some(pin) = self.network.accessory(id).pins.address {
            let words = format!("address = {}", pin.value);
            let address = UserAddress::new(pin.value)?;
            return Some(Decided::new(address, Because::new(&PINNED, [words.into()])));
        }
        let address = self.kept.accessory_address(id).and_then(UserAddress::new)?;
        let words = format!("address {}", address.number());
        Some(Decided::new(address, Because::new(&KEPT_BUILT, [words.into()])))
    }

    fn is_tied(&self, id: AccessoryId) -> bool {
        self.seat_of(id).is_some() || self.wish(id).is_some()
    }

    /// The pair that the strip that names it has for it.
    fn seat_of(&self, id: AccessoryId) -> Option<(usize, u16)> {
        self.strips.iter().enumerate().find_map(|(index, strip)| {
            let at = strip.accessories.iter().position(|other| *other == Some(id))?;
            Some((index, u16::try_from(at + 1).ok()?))
        })
    }

    fn place(&mut self, id: AccessoryId) -> (Option<Control>, Option<Decided<UserAddress>>) {
        let wish = self.wish(id);
        if let Some((strip, pair)) = self.seat_of(id) {
            let address = self.commanded(strip, pair);
            let kept = wish.filter(|wish| Some(wish.value) == address.as_ref().map(|address| address.value));
            let address = address.map(|address| match kept {
                Some(wish) => wish.because().cloned().fold(address, Decided::and),
                None => address,
            });
            return (Some(Control { strip, pair }), address);
        }
        if let Some(wish) = wish {
            // Whatever pair commands that address commands the thing, wherever it is named.
            let Some((strip, pair)) = self.spare_at(wish.value) else { return (None, Some(wish)) };
            let control = self.seat(id, strip, pair);
            let why = self.why(strip, pair);
            return (Some(control), Some(wish.and(why)));
        }
        if let Some((strip, pair, address)) = self.first_spare() {
            let panel = self.strips[strip].panel.as_str();
            let spare = Because::new(&SPARE_PAIR, [panel.into(), pair.into()]);
            let address = Decided::new(address, self.why(strip, pair)).and(spare);
            return (Some(self.seat(id, strip, pair)), Some(address));
        }
        let last = self.network.described.system.last_address;
        let free = (1..=last).find(|number| !self.used.contains(number)).and_then(UserAddress::new);
        let address = free.map(|address| {
            self.used.insert(address.number());
            self.loose.insert(id);
            Decided::new(address, Because::new(&FIRST_FREE, [address.number().into()]))
        });
        (None, address)
    }

    fn seat(&mut self, id: AccessoryId, strip: usize, pair: u16) -> Control {
        if let Some(seat) = self.strips[strip].accessories.get_mut(usize::from(pair - 1)) {
            *seat = Some(id);
        }
        Control { strip, pair }
    }

    fn why(&self, strip: usize, pair: u16) -> Because {
        Because::new(&PAIR_COMMANDS, [pair.into(), self.strips[strip].panel.as_str().into()])
    }

    fn commanded(&self, strip: usize, pair: u16) -> Option<Decided<UserAddress>> {
        let first = self.strips[strip].first.value.number();
        let address = first.checked_add(pair - 1).and_then(UserAddress::new)?;
        Some(Decided::new(address, self.why(strip, pair)))
    }

    /// Every pair that nothing stands on: strip, pair and address.
    fn spare(&self) -> impl Iterator<Item = (usize, u16, UserAddress)> {
        self.strips.iter().enumerate().flat_map(|(index, strip)| {
            let first = strip.first.value.number();
            let seats = strip.pairs.iter().zip(&strip.accessories).zip(1u16..);
            let spare = seats.filter(|((lever, other), _)| lever.is_none() && other.is_none());
            spare.filter_map(move |(_, pair)| {
                Some((index, pair, first.checked_add(pair - 1).and_then(UserAddress::new)?))
            })
        })
    }

    fn spare_at(&self, address: UserAddress) -> Option<(usize, u16)> {
        self.spare().find(|(_, _, other)| *other == address).map(|(strip, pair, _)| (strip, pair))
    }

    /// The first spare pair of a strip that names no controls.
    fn first_spare(&self) -> Option<(usize, u16, UserAddress)> {
        let panels = &self.network.described.panels;
        let is_open = |strip: &Strip| {
            let mut panels = panels.iter().filter(|panel| panel.kind == PanelKind::Strip);
            panels.any(|panel| panel.id.value == strip.panel && panel.controls.is_none())
        };
        let last = self.network.described.system.last_address;
        let free =
            |address: UserAddress| !self.blocked.contains(&address.number()) && address.number() <= last;
        self.spare().find(|(index, _, address)| is_open(&self.strips[*index]) && free(*address))
    }
}
