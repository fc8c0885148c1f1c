//! `throwbar show`: one table of the plan.

use super::read_sound;
use crate::Ended;
use crate::arguments::What;
use crate::failure::Failure;
use crate::print::{self, Style};
use std::path::Path;

pub(crate) fn run(style: Style, what: What, path: &Path) -> Result<Ended, Failure> {
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    match what {
        What::Levers => show(style, &answers::levers(&read.plan), levers),
        What::Routes => show(style, &answers::routes(&read.plan), routes),
        What::Addresses => show(style, &answers::addresses(&read.plan), addresses),
    }?;
    Ok(Ended::Well)
}

fn show<T: serde::Serialize>(
    style: Style,
    answer: &T,
    words: fn(usize, &T) -> String,
) -> Result<(), Failure> {
    if style.json { print::json(answer) } else { print::answer(&words(print::width(), answer)) }
}

fn levers(width: usize, answer: &answers::LeversAnswer) -> String {
    let rows: Vec<Vec<String>> = answer
        .levers
        .iter()
        .map(|lever| {
            let control = match (&lever.panel, lever.pair) {
                (Some(panel), Some(pair)) => format!("{panel} {pair}"),
                _ => String::new(),
            };
            vec![
                lever.number.to_string(),
                lever.addresses.iter().map(ToString::to_string).collect::<Vec<_>>().join(", "),
                control,
                lever.line.clone().unwrap_or_default(),
                lever.machines.join(", "),
                lever.name.clone(),
            ]
        })
        .collect();
    print::table(width, &["lever", "address", "pair", "line", "machines", "name"], &rows)
}

fn routes(width: usize, answer: &answers::RoutesAnswer) -> String {
    let rows: Vec<Vec<String>> = answer
        .routes
        .iter()
        .map(|route| {
            let levers: Vec<String> = route
                .levers
                .iter()
                .map(|lever| {
                    format!("{}{}", lever.number, if lever.position == "normal" { "N" } else { "R" })
                })
                .collect();
            vec![route.id.clone(), levers.join(" ")]
        })
        .collect();
    let stops = answer.stops.len();
    format!(
        "{}\n{} routes between {stops} stops; N is normal, R is reverse\n",
        print::table(width, &["route", "levers"], &rows),
        rows.len()
    )
}

fn addresses(width: usize, answer: &answers::AddressesAnswer) -> String {
    let rows: Vec<Vec<String>> = answer
        .addresses
        .iter()
        .map(|row| {
            vec![
                row.address.to_string(),
                row.board.to_string(),
                row.output.to_string(),
                row.decoder.clone().unwrap_or_default(),
                row.lever.map_or_else(String::new, |lever| lever.to_string()),
                row.r#for.clone(),
            ]
        })
        .collect();
    print::table(width, &["address", "board", "output", "decoder", "lever", "for"], &rows)
}
