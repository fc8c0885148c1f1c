//! `throwbar plan`: every decision with its reasons.

use super::read_sound;
use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use std::fmt::Write as _;
use std::path::Path;

pub(crate) fn run(style: Style, path: &Path) -> Result<Ended, Failure> {
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let answer = answers::plan(&read.plan);
    if style.json {
        print::json(&answer)?;
        return Ok(Ended::Well);
    }
    let width = print::width();
    let mut printed = format!("{}\n\n", answer.layout);
    let rows: Vec<Vec<String>> = answer
        .levers
        .iter()
        .map(|lever| {
            let address = lever.addresses.iter().map(ToString::to_string).collect::<Vec<_>>().join(", ");
            vec![lever.number.to_string(), lever.name.clone(), address, lever.because.join("; ")]
        })
        .collect();
    printed.push_str(&print::table(width, &["lever", "name", "address", "because"], &rows));
    if !answer.strips.is_empty() {
        let rows: Vec<Vec<String>> = answer
            .strips
            .iter()
            .map(|strip| {
                vec![
                    strip.panel.clone(),
                    strip.chain.to_string(),
                    format!("{}–{}", strip.first_address, strip.last_address),
                    strip.cab.map_or_else(String::new, |cab| cab.to_string()),
                    strip.because.join("; "),
                ]
            })
            .collect();
        let heading = ["strip", "chain", "addresses", "cab", "because"];
        let _ = write!(printed, "\n{}", print::table(width, &heading, &rows));
    }
    printed.push_str(&fascias(width, &answer.fascias));
    let rows: Vec<Vec<String>> = answer
        .decoders
        .iter()
        .map(|decoder| {
            vec![
                decoder.id.clone(),
                decoder.part.clone(),
                decoder.at.clone().unwrap_or_default(),
                format!("{} of {}", decoder.used, decoder.outputs),
                decoder.because.join("; "),
            ]
        })
        .collect();
    let _ =
        write!(printed, "\n{}", print::table(width, &["decoder", "part", "at", "in use", "because"], &rows));
    let rows: Vec<Vec<String>> = answer
        .parts
        .iter()
        .map(|part| vec![part.count.to_string(), part.what.clone(), part.because.join("; ")])
        .collect();
    let _ = write!(printed, "\n{}", print::table(width, &["count", "part", "because"], &rows));
    let _ = writeln!(printed, "\n{} routes; `throwbar show routes` lists them", answer.routes);
    print::answer(&printed)?;
    Ok(Ended::Well)
}

/// What stands on each fascia, without its lamps, which only follow.
fn fascias(width: usize, fascias: &[answers::FasciaRow]) -> String {
    let of = |fascia: &answers::FasciaRow| {
        let rows = fascia.devices.iter().filter(|device| device.kind != "lamp");
        let row = |device: &answers::DeviceRow| {
            let lever = |does: &answers::DoesRow| match does.position {
                Some(position) => format!("{} {position}", does.number),
                None => format!("{} either way", does.number),
            };
            let burst =
                |burst: &Vec<answers::DoesRow>| burst.iter().map(lever).collect::<Vec<_>>().join(", ");
            let does = device.does.iter().map(burst).collect::<Vec<_>>().join("; then ");
            vec![fascia.panel.clone(), device.id.clone(), does, device.because.join("; ")]
        };
        rows.map(row).collect::<Vec<_>>()
    };
    let rows: Vec<Vec<String>> = fascias.iter().flat_map(of).collect();
    if rows.is_empty() {
        return String::new();
    }
    format!("\n{}", print::table(width, &["fascia", "device", "throws", "because"], &rows))
}
