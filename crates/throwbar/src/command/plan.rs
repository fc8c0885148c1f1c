//! `throwbar plan`: every decision with its reasons; with `--keep` it is written down as built.

use super::{Read, read_sound};
use crate::Ended;
use crate::failure::Failure;
use crate::file::write_whole;
use crate::print::{self, Style};
use std::fmt::Write as _;
use std::path::Path;

pub(crate) fn run(style: Style, path: &Path, keep: bool, findings: Option<&Path>) -> Result<Ended, Failure> {
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let mut answer = answers::plan(&read.plan);
    if keep {
        answer.kept = Some(keep_as_built(&read, findings)?);
    }
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
    printed.push_str(&accessories(width, &answer.accessories));
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
    if let Some(kept) = &answer.kept {
        let words = if kept.changed { "this plan is kept in" } else { "as it is kept already in" };
        let _ = writeln!(printed, "{words} {}; commit it beside the layout", kept.file);
    }
    print::answer(&printed)?;
    Ok(Ended::Well)
}

/// Signals and lights; nothing where there are none.
fn accessories(width: usize, accessories: &[answers::AccessoryRow]) -> String {
    let row = |row: &answers::AccessoryRow| {
        let address = row.address.map_or_else(String::new, |address| address.to_string());
        vec![row.number.to_string(), format!("{} {}", row.kind, row.name), address, row.because.join("; ")]
    };
    let rows: Vec<Vec<String>> = accessories.iter().map(row).collect();
    if rows.is_empty() {
        return String::new();
    }
    format!("\n{}", print::table(width, &["number", "signal or light", "address", "because"], &rows))
}

/// Writes the plan down as built.
fn keep_as_built(read: &Read, findings: Option<&Path>) -> Result<answers::KeptRow, Failure> {
    let mut record = ::plan::record_of(&read.plan, &read.record);
    if let Some(journal) = findings {
        let found = ::serve::findings(&read.plan, journal);
        let found = found.map_err(|source| Failure::Findings { source: Box::new(source) })?;
        for (about, finding) in found {
            record.add_finding(&about, finding);
        }
    }
    let text = description::record::write(&record);
    let file = read.record_path.display().to_string();
    // What could not be read again would stop every later run.
    if let Some(note) = description::record::read(&text).diagnostics.first() {
        return Err(Failure::RecordUnsound { path: read.record_path.clone(), says: note.message.clone() });
    }
    let changed = read.record_text() != Some(text.as_str());
    if changed {
        write_whole(&read.record_path, text.as_bytes())?;
    }
    Ok(answers::KeptRow { file, changed })
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
