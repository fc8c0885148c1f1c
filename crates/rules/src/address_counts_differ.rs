//! A strip, a decoder or a motor with its decoder inside that counts addresses otherwise than the system.
//!
//! What is the same in both ways of counting is no mistake: blocks of 256 differ from linear counting in the last four of each block
//! only.
//!
//! # Source
//! The ways of counting: `packet::Scheme`, after NMRA S-9.2.1 (July 2012), section D, and LCC TN-9.7.0.4 (July 2024), section 2.5.3.3.

use notice::{Diagnostic, Spanned, code};
use packet::{Scheme, UserAddress};
use plan::model::{Plan, scheme_of};
use std::collections::BTreeMap;

/// Something at consecutive addresses.
struct Use {
    what: String,
    first: u16,
    last: u16,
}

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let described = &plan.network.described;
    let system = plan.scheme();
    let mut uses: BTreeMap<&str, Vec<Use>> = BTreeMap::new();
    for decoder in &plan.decoders {
        let first = decoder.first.value.number();
        let last = first.saturating_add(decoder.outputs.max(1) - 1);
        uses.entry(&decoder.part).or_default().push(Use {
            what: format!("decoder {}", decoder.id),
            first,
            last,
        });
    }
    for strip in &plan.strips {
        let first = strip.first.value.number();
        let last = u16::try_from(strip.last()).unwrap_or(u16::MAX);
        uses.entry(&strip.part).or_default().push(Use {
            what: format!("strip `{}`", strip.panel),
            first,
            last,
        });
    }
    for row in plan.addresses.iter().filter(|row| row.inside) {
        for machine in &row.machines {
            let (machine, at) = (plan.network.machine(*machine), row.address.number());
            let what = format!("machine `{}`", machine.name);
            uses.entry(&machine.motor).or_default().push(Use { what, first: at, last: at });
        }
    }
    let counted = uses.iter().filter_map(|(part, uses)| {
        let counts = described.parts.get(*part)?.counts?;
        Some((*part, Spanned::new(scheme_of(counts.value), counts.span), uses))
    });
    counted.filter_map(|(part, counts, uses)| differs(part, counts, system, uses)).collect()
}

fn differs(part: &str, counts: Spanned<Scheme>, system: Scheme, uses: &[Use]) -> Option<Diagnostic> {
    let reads = |address: u16| {
        let address = UserAddress::new(address)?;
        let read = address.binary(system).user(counts.value);
        (read != address).then_some((address.number(), read.number()))
    };
    let mut all = uses.iter().filter_map(|used| Some((used, (used.first..=used.last).find_map(reads)?)));
    let (first, (address, read)) = all.next()?;
    let more = match all.count() {
        0 => String::new(),
        more => format!(" and {more} more"),
    };
    let message = format!(
        "address {address} of the system is {read} to `{part}`, which counts {}, not {}: {}{more}",
        counts.value.word(),
        system.word(),
        first.what
    );
    let note = Diagnostic::warning(code::ADDRESS_COUNTS_DIFFER, counts.span, message);
    Some(if address == first.first {
        note.help(format!(
            "where the plan says {address} set it to {read}, and everything of its kind likewise; or write the `address_scheme` of [system] that all your parts count by"
        ))
    } else {
        note.help(format!(
            "its addresses below {address} are the same and the rest is not: `start` or `address` keeps it clear of {address}–{}, or take a part that counts {}",
            address.saturating_add(3),
            system.word()
        ))
    })
}
