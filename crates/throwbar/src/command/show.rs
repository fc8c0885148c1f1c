//! `throwbar show`: one table of the plan.

use super::faults::Symptoms;
use super::read_sound;
use super::routes::Narrowed;
use crate::Ended;
use crate::arguments::What;
use crate::failure::Failure;
use crate::print::{self, Style};
use measure::{Length, Units};
use std::path::Path;

/// The options that some tables have.
pub(crate) struct Wish {
    pub(crate) narrowed: Narrowed,
    pub(crate) flank: bool,
    pub(crate) spice: bool,
    pub(crate) symptoms: Symptoms,
}

pub(crate) fn run(style: Style, what: What, path: &Path, wish: &Wish) -> Result<Ended, Failure> {
    let &Wish { ref narrowed, flank, spice, ref symptoms } = wish;
    if what != What::Routes
        && let Some(option) = narrowed.first_given()
    {
        return Err(Failure::OptionElsewhere { option, table: "routes" });
    }
    if flank && what != What::Locking {
        return Err(Failure::OptionElsewhere { option: "--flank", table: "locking" });
    }
    if spice && what != What::Power {
        return Err(Failure::OptionElsewhere { option: "--spice", table: "power" });
    }
    if what != What::Faults
        && let Some(option) = symptoms.first_given()
    {
        return Err(Failure::OptionElsewhere { option, table: "faults" });
    }
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    match what {
        What::Levers => show(style, &answers::levers(&read.plan), levers),
        What::Routes => show(style, &super::routes::answer(read.plan, narrowed)?, routes),
        What::Locking => {
            let locked = ::network::lock(&read.plan.network, &read.plan.routes);
            let words = if flank { locking_with_flank } else { locking };
            show(style, &answers::locking(&read.plan, &locked), words)
        }
        What::Power if spice => print::answer(&super::power::netlist(&read.plan)),
        What::Power => {
            let units = read.plan.network.described.layout.units;
            show(style, &answers::power(&read.plan), |width, answer| {
                super::power::words(width, units, answer)
            })
        }
        What::Faults => show(style, &super::faults::answer(&read.plan, symptoms)?, super::faults::words),
        What::Commissioning => {
            show(style, &super::commissioning::answer(&read.plan), super::commissioning::words)
        }
        What::Polarity => show(style, &answers::polarity(&read.plan), polarity),
        What::Drawing => {
            let begun = std::time::Instant::now();
            let drawn = ::draw::schematic(&read.plan);
            let seconds = begun.elapsed().as_secs_f64();
            let measures = ::draw::measures(&drawn, &read.plan.network);
            show(style, &answers::drawing(&measures, drawn.least_height, seconds), drawing)
        }
        What::Wiring => {
            let units = read.plan.network.described.layout.units;
            show(style, &answers::wiring(&read.plan), |width, answer| wiring(width, units, answer))
        }
        What::Parts => {
            let units = read.plan.network.described.layout.units;
            show(style, &answers::parts(&read.plan), |width, answer| parts(width, units, answer))
        }
        What::Addresses => show(style, &answers::addresses(&read.plan), addresses),
    }?;
    Ok(Ended::Well)
}

fn show<T: serde::Serialize>(
    style: Style,
    answer: &T,
    words: impl Fn(usize, &T) -> String,
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
                (Some(panel), None) => panel.clone(),
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
            let usual = if route.preferred { "" } else { "other way" };
            let name = route.name.as_deref().unwrap_or(usual).to_owned();
            let bursts: Vec<String> = route.throws.iter().map(|burst| numbers(burst)).collect();
            vec![route.id.clone(), name, levers.join(" "), bursts.join(", then ")]
        })
        .collect();
    let stops = answer.stops.len();
    let cut = if answer.complete { "" } else { "; there are more: --most lists more of them" };
    format!(
        "{}\n{} between {stops} stops{cut}; N is normal, R is reverse\n",
        print::table(width, &["route", "name", "levers", "throw"], &rows),
        if rows.len() == 1 { "1 route".to_owned() } else { format!("{} routes", rows.len()) }
    )
}

fn numbers(levers: &[u16]) -> String {
    levers.iter().map(ToString::to_string).collect::<Vec<_>>().join(" ")
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
                row.number.map_or_else(String::new, |number| number.to_string()),
                row.r#for.clone(),
            ]
        })
        .collect();
    print::table(width, &["address", "board", "output", "decoder", "number", "for"], &rows)
}

/// A length as a person of these units reads it; nothing where it is not known or not counted.
fn length(units: Units, metres: Option<f64>) -> String {
    let known = metres.filter(|metres| *metres > 0.0);
    known.map_or_else(String::new, |metres| Length::new(metres).print(units))
}

fn wiring(width: usize, units: Units, answer: &answers::WiringAnswer) -> String {
    let end = |what: &str, at: Option<&String>| match at {
        Some(at) => format!("{what} ({at})"),
        None => what.to_owned(),
    };
    let rows: Vec<Vec<String>> = answer
        .runs
        .iter()
        .map(|run| {
            let reused = if run.existing { ", there already" } else { "" };
            let size = format!("{}{reused}", run.conductor);
            let through = run.terminal.clone().into_iter().chain(run.pin.map(|pin| format!("pin {pin}")));
            vec![
                run.id.clone(),
                end(&run.from_what, run.from.as_ref()),
                end(&run.to_what, run.to.as_ref()),
                run.does.to_owned(),
                size,
                run.colour.clone(),
                length(units, run.length_m),
                through.collect::<Vec<_>>().join(", "),
            ]
        })
        .collect();
    let heads = ["wire", "from", "to", "does", "size", "colour", "length", "terminal, pin"];
    let mut text = print::table(width, &heads, &rows);
    let unknown = answer.runs.iter().filter(|run| run.length_m.is_none()).count();
    if unknown > 0 {
        let all = rows.len();
        let note =
            format!("\n{unknown} of {all} conductors have no known length: --json says why for each\n");
        text.push_str(&note);
    }
    for joint in &answer.joints {
        let rows: Vec<Vec<String>> = joint
            .pins
            .iter()
            .map(|pin| vec![pin.pin.to_string(), pin.run.clone(), pin.means.clone()])
            .collect();
        text.extend(["\nwhere modules meet, ", &joint.id, "\n"]);
        text += &print::table(width, &["pin", "wire", "means"], &rows);
    }
    text
}

fn parts(width: usize, units: Units, answer: &answers::PartsAnswer) -> String {
    let count = |count: u32| if count == 0 { String::new() } else { count.to_string() };
    let rows: Vec<Vec<String>> = answer
        .parts
        .iter()
        .map(|part| {
            vec![
                part.what.clone(),
                part.count.to_string(),
                count(part.spares),
                count(part.shelf),
                count(part.buy),
            ]
        })
        .collect();
    let wire: Vec<Vec<String>> = answer
        .wire
        .iter()
        .map(|row| {
            let unknown = match row.unmeasured {
                0 => String::new(),
                unmeasured => format!("{unmeasured} more of no known length"),
            };
            let long = length(units, Some(row.length_m));
            let buy = format!("{} {}", row.buy, row.buy_unit);
            vec![row.conductor.clone(), row.colour.clone(), row.runs.to_string(), long, buy, unknown]
        })
        .collect();
    format!(
        "{}\n{}",
        print::table(width, &["part", "needed", "spares", "on the shelf", "buy"], &rows),
        print::table(width, &["wire", "colour", "conductors", "length", "buy", ""], &wire)
    )
}

fn locking(width: usize, answer: &answers::LockingAnswer) -> String {
    let rows: Vec<Vec<String>> =
        answer.pairs.iter().map(|pair| vec![pair.a.clone(), pair.b.clone(), pair.why.join(", ")]).collect();
    let largest = if answer.proven {
        format!("{} at once is the most, proven", answer.largest_compatible_set)
    } else {
        format!(
            "{} at once was found; {} is the most possible",
            answer.largest_compatible_set, answer.largest_bound
        )
    };
    format!(
        "{}\n{} routes; {} pairs exclude one another, {} of them over a machine's position\n{largest}: {}\n\
         one-push buttons in wire: {} diodes with shared groups, {} without; no fewer than {}\n",
        print::table(width, &["route", "excludes", "why"], &rows),
        answer.routes,
        answer.conflicting_pairs,
        answer.incompatible_pairs,
        answer.largest.join("; "),
        answer.matrix.diodes,
        answer.matrix.plain,
        answer.matrix.bound,
    )
}

fn locking_with_flank(width: usize, answer: &answers::LockingAnswer) -> String {
    let rows: Vec<Vec<String>> = answer
        .flank
        .iter()
        .map(|row| {
            let guards: Vec<String> =
                row.guards.iter().map(|guard| format!("{} {}", guard.number, guard.position)).collect();
            let mut kept = Vec::new();
            if !guards.is_empty() {
                kept.push(format!("kept out by lever {}", guards.join(" and ")));
            }
            if !row.open_to.is_empty() {
                kept.push(format!("open to {}: no lever can help", row.open_to.join(", ")));
            }
            vec![row.route.clone(), format!("{}, from {}", row.at, row.track), kept.join("; ")]
        })
        .collect();
    format!(
        "{}\n{}",
        locking(width, answer),
        print::table(width, &["route", "its side at", "what could run into it"], &rows)
    )
}

fn drawing(_: usize, answer: &answers::DrawingAnswer) -> String {
    let sure = if answer.proven {
        "the least possible".to_owned()
    } else {
        answer.height_bound.map_or_else(|| "not proven".to_owned(), |least| format!("no less than {least}"))
    };
    format!(
        "{} levels high ({sure}), {} wide, {} bends\n{} crossings that no track has, {} that the track has; {} tracks cut\n\
         {} hands wrong, {} words overlap; drawn in {:.3} s\n",
        answer.height,
        answer.width,
        answer.bends,
        answer.crossings,
        answer.track_crossings,
        answer.cuts,
        answer.hand_errors,
        answer.overlaps,
        answer.seconds,
    )
}

fn polarity(width: usize, answer: &answers::PolarityAnswer) -> String {
    let mut text = if answer.gaps.is_empty() {
        "the two rails meet nowhere crossed, and no two districts meet: no gaps are needed\n".to_owned()
    } else {
        let rows: Vec<Vec<String>> =
            answer.gaps.iter().map(|gap| vec![gap.track.clone(), gap.end.clone(), gap.why.clone()]).collect();
        let table = print::table(width, &["track", "cut", "because"], &rows);
        let proven = if answer.proven { ", proven to be the fewest" } else { "" };
        let sections = match answer.fewest {
            1 => "1 reversing section".to_owned(),
            count => format!("{count} reversing sections"),
        };
        format!("{table}\nat each of these, cut both rails; {sections}{proven}\n")
    };
    let mut add = |heading: &[&str], rows: &[Vec<String>]| {
        if !rows.is_empty() {
            text.push('\n');
            text.push_str(&print::table(width, heading, rows));
        }
    };
    let sections = answer.reversing_sections.iter().map(|section| {
        let metres = |length: Option<f64>| length.map_or_else(String::new, |length| format!("{length:.2} m"));
        vec![section.tracks.join(", "), metres(section.length_m), section.because.join("; ")]
    });
    add(&["reversing section", "length", "because"], &sections.collect::<Vec<_>>());
    let districts = answer.districts.iter().map(|district| {
        let tracks: Vec<&str> = district.tracks.iter().map(|row| row.track.as_str()).collect();
        vec![district.district.clone(), tracks.join(", ")]
    });
    add(&["district", "tracks"], &districts.collect::<Vec<_>>());
    let frogs = answer.frogs.iter().map(|frog| {
        let feed = match &frog.machine {
            Some(machine) => format!("{}, by {machine}", frog.feed),
            None => frog.feed.to_owned(),
        };
        vec![frog.joint.clone(), frog.frog.clone(), feed, frog.because.first().cloned().unwrap_or_default()]
    });
    add(&["joint", "frog", "feed", "because"], &frogs.collect::<Vec<_>>());
    text
}
