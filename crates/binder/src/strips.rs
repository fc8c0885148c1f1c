//! Setting up the control strips: for each chain its cab-bus address, for each strip its start address, what feeds it,
//! and what every pair commands. The steps themselves are words of the template.

use plan::model::{Chain, Strip, StripFeed};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// Every chain of strips in the order of the plan.
pub(crate) fn chains(ledger: &Ledger<'_>) -> Array {
    ledger.plan.chains.iter().map(|chain| one_chain(ledger, chain).into_value()).collect()
}

/// One chain: `(number, cab, in_use, strips)`.
fn one_chain(ledger: &Ledger<'_>, chain: &Chain) -> Dict {
    let plan = ledger.plan;
    let in_use = plan.network.described.system.cabs_in_use.iter();
    let strips = chain.strips.iter().filter_map(|&index| plan.strips.get(index));
    dict! {
        "number" => chain.number,
        "cab" => chain.cab.value,
        "in_use" => in_use.map(|cab| cab.value.into_value()).collect::<Array>(),
        "strips" => strips.map(|strip| one_strip(ledger, strip).into_value()).collect::<Array>(),
    }
}

/// One strip: `(panel, at, part, first, last, pair_count, own_supply, pairs)`.
fn one_strip(ledger: &Ledger<'_>, strip: &Strip) -> Dict {
    let first = u32::from(strip.first.value.number());
    let pairs: Array = (1u32..)
        .take(usize::from(strip.pair_count))
        .map(|pair| {
            let at = usize::try_from(pair - 1).unwrap_or(usize::MAX);
            let lever = strip.pairs.get(at).copied().flatten().map(|lever| ledger.lever(lever));
            let other = strip.accessories.get(at).copied().flatten();
            let control = lever.or_else(|| other.map(|accessory| ledger.accessory(accessory)));
            dict! {
                "pair" => pair,
                "address" => first + pair - 1,
                "lever" => control.map_or(Value::None, IntoValue::into_value),
            }
            .into_value()
        })
        .collect();
    dict! {
        "panel" => ledger.words(&strip.panel),
        "at" => ledger.words_if(strip.at.as_deref()),
        "part" => ledger.words(&strip.part),
        "first" => first,
        "last" => strip.last(),
        "pair_count" => strip.pair_count,
        "own_supply" => strip.feed.value == StripFeed::OwnSupply,
        "pairs" => pairs,
    }
}
