//! `show addresses`.

use crate::{SCHEMA, because};
use measure::Length;
use network::LeverId;
use notice::Because;
use plan::model::{Plan, PlannedAddress, Strip, StripFeed};
use plan::program::{Method, Sheet, Step};
use serde::Serialize;
use std::collections::BTreeMap;

/// `show addresses`: what is at which accessory address.
#[derive(Debug, Serialize)]
pub struct AddressesAnswer {
    /// [`SCHEMA`].
    pub schema: u32,
    /// Every address in use, in order.
    pub addresses: Vec<AddressRow>,
    /// The decoders that answer them.
    pub decoders: Vec<DecoderRow>,
    /// The strips that command them.
    pub strips: Vec<StripRow>,
    /// What to program, decoder by decoder.
    pub programming: Vec<ProgramRow>,
    /// What the cables from new decoders to their machines come to.
    pub cost: CostRow,
    /// The same decoders by the other method, where there is one.
    pub programming_otherwise: Vec<ProgramRow>,
}

/// One variable of one decoder.
#[derive(Debug, Serialize)]
pub struct ProgramRow {
    /// Counted from 1.
    pub step: usize,
    /// The decoder.
    pub decoder: String,
    /// The variable.
    pub cv: u16,
    /// What to write into it.
    pub value: u8,
    /// Why, in a sentence that names its rule.
    pub why: String,
    /// `decoder-address` or `output-address`.
    pub method: &'static str,
    /// Where it is written.
    pub r#where: &'static str,
    /// The packet that writes it on the main, sent twice, to a decoder that was new before the first step.
    pub on_main: Option<String>,
    /// What to check before the next step.
    pub check: Vec<String>,
    /// What wrong values would do, the likeliest first.
    pub if_wrong: Vec<String>,
}

/// What was minimised: decoders to buy first, then cable.
#[derive(Debug, Serialize)]
pub struct CostRow {
    /// Metres of cable; none where the bench does not tell.
    pub metres: Option<f64>,
    /// No plan with as few decoders to buy takes less.
    pub lower_bound: Option<f64>,
    /// Decoders to buy.
    pub bought: usize,
    /// No fewer can be bought.
    pub bought_least: usize,
    /// Whether both are proven to be the least.
    pub proven: bool,
}

/// One accessory address.
#[derive(Debug, Serialize)]
pub struct AddressRow {
    /// As users count.
    pub address: u16,
    /// The board it belongs to.
    pub board: u16,
    /// The output of the board, 1 to 4.
    pub output: u16,
    /// What answers it, in words: `machine 1`, `light depot`.
    pub r#for: String,
    /// The decoder; none where the machines have one inside, or nothing drives them.
    pub decoder: Option<String>,
    /// Whether the machines have their decoder inside.
    pub inside: bool,
    /// The lever's number.
    pub lever: Option<u16>,
    /// The number on the panel: of the lever, or of the signal or light.
    pub number: Option<u16>,
    /// Why this address.
    pub because: Vec<String>,
}

/// One decoder.
#[derive(Debug, Serialize)]
pub struct DecoderRow {
    /// `D1`, `D2`, …
    pub id: String,
    /// The part.
    pub part: String,
    /// Where it is.
    pub at: Option<String>,
    /// The address of its first output.
    pub first_address: u16,
    /// How many outputs it has.
    pub outputs: u16,
    /// How many are in use.
    pub used: usize,
    /// Why this block, and why there.
    pub because: Vec<String>,
    /// What to write on its label.
    pub label: Option<String>,
}

/// One strip of button pairs.
#[derive(Debug, Serialize)]
pub struct StripRow {
    /// The panel.
    pub panel: String,
    /// The chain it is on.
    pub chain: u16,
    /// The address of its first pair.
    pub first_address: u16,
    /// The address of its last pair.
    pub last_address: u32,
    /// The cab-bus address of its chain.
    pub cab: Option<u16>,
    /// `cab bus` or `own supply`.
    pub feed: &'static str,
    /// Every pair.
    pub pairs: Vec<PairRow>,
    /// Why it starts there, why that cab-bus address, and why it is fed so.
    pub because: Vec<String>,
}

/// One pair of buttons.
#[derive(Debug, Serialize)]
pub struct PairRow {
    /// Counted from 1.
    pub pair: u16,
    /// The address it commands.
    pub address: u16,
    /// The number of the lever it is for; none on a spare pair, and on one for a signal or light.
    pub lever: Option<u16>,
    /// The signal or light it is for, by kind and id.
    pub accessory: Option<String>,
    /// The number of whichever it is for.
    pub number: Option<u16>,
}

/// Answers `show addresses`.
pub fn addresses(plan: &Plan) -> AddressesAnswer {
    let numbers = plan.numbers();
    let sheets = plan::program::sheets(plan);
    AddressesAnswer {
        schema: SCHEMA,
        addresses: address_rows(plan),
        decoders: (0..plan.decoders.len()).map(|index| decoder_row(plan, index, &sheets)).collect(),
        strips: plan.strips.iter().map(|strip| strip_row(plan, &numbers, strip)).collect(),
        programming: program_rows(plan, &sheets, |sheet| (sheet.method, &sheet.steps)),
        cost: CostRow {
            metres: plan.cable.metres.map(round),
            lower_bound: plan.cable.lower_bound.map(round),
            bought: plan.cable.bought,
            bought_least: plan.cable.bought_least,
            proven: plan.cable.proven,
        },
        programming_otherwise: program_rows(plan, &sheets, |sheet| (sheet.method.other(), &sheet.other)),
    }
}

/// The steps of one method, decoder by decoder in bench order.
fn program_rows<'a>(
    plan: &Plan,
    sheets: &'a [Sheet],
    of: impl Fn(&'a Sheet) -> (Method, &'a Vec<Step>),
) -> Vec<ProgramRow> {
    let steps = sheets.iter().flat_map(|sheet| {
        let (method, steps) = of(sheet);
        steps.iter().map(move |step| (sheet.decoder, method, step))
    });
    let sentences = |held: &[Because]| held.iter().map(ToString::to_string).collect();
    (1usize..)
        .zip(steps)
        .map(|(number, (decoder, method, step))| ProgramRow {
            step: number,
            decoder: plan.decoders[decoder].id.clone(),
            cv: step.cv,
            value: step.value.value,
            why: because(&step.value).join("; "),
            method: method.word(),
            r#where: "programming track, this decoder alone",
            on_main: step.on_main.map(|bytes| bytes.to_string()),
            check: sentences(&step.check),
            if_wrong: sentences(&step.if_wrong),
        })
        .collect()
}

/// Metres to the tenth of a millimetre.
fn round(length: Length) -> f64 {
    (length.value() * 1e4).round() / 1e4
}

/// Levers and accessories together, in the order of the addresses.
fn address_rows(plan: &Plan) -> Vec<AddressRow> {
    let mut rows: Vec<AddressRow> = plan.addresses.iter().map(|address| address_row(plan, address)).collect();
    rows.extend(plan.accessories.iter().filter_map(|planned| {
        let address = planned.address.as_ref()?;
        Some(AddressRow {
            address: address.value.number(),
            board: address.value.board(),
            output: address.value.output(),
            r#for: plan.network.accessory(planned.accessory).key(),
            decoder: plan.output_of(planned).map(|(decoder, _)| decoder.id.clone()),
            inside: false,
            lever: None,
            number: Some(planned.number.value),
            because: because(&planned.number).into_iter().chain(because(address)).collect(),
        })
    }));
    rows.sort_by_key(|row| row.address);
    rows
}

fn address_row(plan: &Plan, row: &PlannedAddress) -> AddressRow {
    let names: Vec<&str> =
        row.machines.iter().map(|machine| plan.network.machine(*machine).name.as_str()).collect();
    let lever = plan.levers.iter().find(|lever| lever.lever == row.lever);
    AddressRow {
        address: row.address.number(),
        board: row.address.board(),
        output: row.address.output(),
        r#for: format!("{} {}", if names.len() == 1 { "machine" } else { "machines" }, names.join(" and ")),
        decoder: row.decoder.map(|decoder| plan.decoders[decoder].id.clone()),
        inside: row.inside,
        lever: lever.map(|lever| lever.number.value),
        number: lever.map(|lever| lever.number.value),
        because: lever.map(|lever| because(&lever.address)).unwrap_or_default(),
    }
}

fn decoder_row(plan: &Plan, index: usize, sheets: &[Sheet]) -> DecoderRow {
    let decoder = &plan.decoders[index];
    // Address and place often have the same reason: one that is built is kept with both.
    let first = because(&decoder.first);
    let told = first.clone();
    let place = decoder.at.iter().flat_map(because);
    DecoderRow {
        id: decoder.id.clone(),
        part: decoder.part.clone(),
        at: decoder.at.as_ref().map(|at| at.value.clone()),
        first_address: decoder.first.value.number(),
        outputs: decoder.outputs,
        used: plan.addresses.iter().filter(|address| address.decoder == Some(index)).count()
            + plan.accessories_of(index).count(),
        because: first.into_iter().chain(place.filter(|reason| !told.contains(reason))).collect(),
        label: sheets.iter().find(|sheet| sheet.decoder == index).map(|sheet| sheet.label.clone()),
    }
}

fn strip_row(plan: &Plan, numbers: &BTreeMap<LeverId, u16>, strip: &Strip) -> StripRow {
    let first = strip.first.value.number();
    let cab = plan.chains.iter().find(|chain| chain.number == strip.chain).map(|chain| &chain.cab);
    StripRow {
        panel: strip.panel.clone(),
        chain: strip.chain,
        first_address: first,
        last_address: strip.last(),
        cab: cab.map(|cab| cab.value),
        feed: match strip.feed.value {
            StripFeed::CabBus => "cab bus",
            StripFeed::OwnSupply => "own supply",
        },
        pairs: (1u16..)
            .zip(strip.pairs.iter().zip(&strip.accessories))
            .map(|(pair, (lever, accessory))| {
                let lever = lever.and_then(|lever| numbers.get(&lever).copied());
                let accessory = *accessory;
                PairRow {
                    pair,
                    address: first + pair - 1,
                    lever,
                    accessory: accessory.map(|id| plan.network.accessory(id).key()),
                    number: lever.or_else(|| Some(plan.accessory(accessory?)?.number.value)),
                }
            })
            .collect(),
        because: because(&strip.first)
            .into_iter()
            .chain(cab.into_iter().flat_map(because))
            .chain(because(&strip.feed))
            .collect(),
    }
}
