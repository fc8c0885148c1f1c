//! Why it is so: every decision of the plan with the reasons that were given for it, lever by lever, decoder by
//! decoder, strip by strip.

use notice::Decided;
use plan::model::{Decoder, PlannedLever, Strip, StripFeed};
use typst::foundations::{Array, Dict, IntoValue, Value, dict};

use crate::ledger::Ledger;

/// Every thing that was decided about: `(levers, decoders, chains)`, each a list of `(about, decisions)`.
pub(crate) fn reasons(ledger: &Ledger<'_>) -> Dict {
    let plan = ledger.plan;
    let list = |about: Vec<Dict>| about.into_iter().map(IntoValue::into_value).collect::<Array>();
    let mut strips: Vec<Dict> = Vec::new();
    for chain in &plan.chains {
        let cab = decision(ledger, "cab-bus address", &chain.cab, &chain.cab.value.to_string());
        let decisions = Array::from_iter([cab]);
        strips.push(dict! { "about" => format!("Chain {}", chain.number), "decisions" => decisions });
        strips.extend(
            chain
                .strips
                .iter()
                .filter_map(|&index| plan.strips.get(index))
                .map(|strip| of_strip(ledger, strip)),
        );
    }
    dict! {
        "levers" => list(plan.levers.iter().map(|planned| of_lever(ledger, planned)).collect()),
        "decoders" => list(plan.decoders.iter().map(|decoder| of_decoder(ledger, decoder)).collect()),
        "strips" => list(strips),
    }
}

fn decision<T>(ledger: &Ledger<'_>, what: &str, decided: &Decided<T>, value: &str) -> Value {
    dict! {
        "what" => what,
        "value" => ledger.words(value),
        "reasons" => ledger.reasons(decided.because()),
    }
    .into_value()
}

fn of_lever(ledger: &Ledger<'_>, planned: &PlannedLever) -> Dict {
    let decisions: Array = [
        decision(ledger, "number", &planned.number, &planned.number.value.to_string()),
        decision(ledger, "address", &planned.address, &planned.address.value.number().to_string()),
    ]
    .into_iter()
    .collect();
    dict! { "lever" => ledger.lever(planned.lever), "decisions" => decisions }
}

fn of_decoder(ledger: &Ledger<'_>, decoder: &Decoder) -> Dict {
    let first = decision(ledger, "first address", &decoder.first, &decoder.first.value.number().to_string());
    let at = decoder.at.as_ref().map(|at| decision(ledger, "place", at, &at.value));
    let decisions: Array = std::iter::once(first).chain(at).collect();
    dict! { "about" => ledger.words(&decoder.id), "decisions" => decisions }
}

fn of_strip(ledger: &Ledger<'_>, strip: &Strip) -> Dict {
    let feed = match strip.feed.value {
        StripFeed::CabBus => "cab bus",
        StripFeed::OwnSupply => "a supply of its own",
    };
    let decisions: Array = [
        decision(ledger, "start address", &strip.first, &strip.first.value.number().to_string()),
        decision(ledger, "fed from", &strip.feed, feed),
    ]
    .into_iter()
    .collect();
    dict! { "about" => ledger.words(&format!("Strip {}", strip.panel)), "decisions" => decisions }
}
