//! What has to be there to build the plan: strips, decoders, and the supply that strips past the fourth need.

use crate::model::{Decoder, Fascia, PartNeed, StripFeed};
use crate::reason::COUNTED;
use crate::strip::Chained;
use notice::{Because, Decided};
use std::collections::BTreeMap;

/// What a strip that the cab bus does not feed needs.
///
/// # Source
/// Common practice, no source.
const STRIP_SUPPLY: &str = "regulated supply, 12–18 V DC, plug with centre positive";

/// Counts the parts of a plan.
pub(crate) fn needed_parts(chained: &Chained, decoders: &[Decoder]) -> Vec<PartNeed> {
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for strip in &chained.strips {
        *counts.entry(&strip.part).or_default() += 1;
    }
    for decoder in decoders {
        *counts.entry(&decoder.part).or_default() += 1;
    }
    let mut needs: Vec<PartNeed> = counts
        .into_iter()
        .map(|(what, count)| PartNeed {
            what: what.to_owned(),
            count: Decided::new(count, Because::new(&COUNTED, [format!("{count} of them").into()])),
        })
        .collect();
    // One supply feeds all strips of a chain that the bus leaves over.
    for chain in &chained.chains {
        let own: Vec<usize> = chain
            .strips
            .iter()
            .copied()
            .filter(|&strip| chained.strips[strip].feed.value == StripFeed::OwnSupply)
            .collect();
        if let Some(&first) = own.first() {
            let why = chained.strips[first].feed.because().next().cloned();
            let words =
                format!("{} strips on chain {} that the cab bus does not feed", own.len(), chain.number);
            let count = Decided::new(1, Because::new(&COUNTED, [words.into()]));
            let count = match why {
                Some(why) => count.and(why),
                None => count,
            };
            needs.push(PartNeed { what: STRIP_SUPPLY.to_owned(), count });
        }
    }
    needs
}

/// Counts the buttons, toggles and lamps of all fascias.
pub(crate) fn needed_on_fascias(fascias: &[Fascia]) -> Vec<PartNeed> {
    let mut counts: BTreeMap<&str, u32> = BTreeMap::new();
    for device in fascias.iter().flat_map(|fascia| &fascia.devices) {
        *counts.entry(&device.part).or_default() += 1;
    }
    let need = |(what, count): (&str, u32)| {
        let words = format!("{count} holes for them on its fascias");
        PartNeed { what: what.to_owned(), count: Decided::new(count, Because::new(&COUNTED, [words.into()])) }
    };
    counts.into_iter().map(need).collect()
}
