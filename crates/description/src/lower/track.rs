//! `[end.*]`, `[track.*]`, `[line.*]`, `[route.*]` and `[lever.*]`.

use super::joint::{HANDS, pins};
use super::table::Table;
use crate::model::{Description, End, EndKind, Lever, Line, Name, Preference, Route, TrackFacts};
use measure::Length;
use notice::{Diagnostic, code};

pub(super) fn end(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let track = table.needed_name("track");
    let is = table
        .choice(
            "is",
            &[("bumper", EndKind::Bumper), ("staging", EndKind::Staging), ("beyond", EndKind::Beyond)],
        )
        .unwrap_or_default();
    let side = table.choice("side", &HANDS);
    table.close();
    match track {
        Some(track) => description.ends.push(End { id, track, is, side }),
        None => {
            description.unread.ends += 1;
            description.unread.ids.insert(id.value);
        }
    }
}

pub(super) fn facts(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let facts = TrackFacts {
        id,
        length: table.quantity("length", Length::read),
        stop: table.flag("stop"),
        district: table.name("district"),
        feeders: table.quantity("feeders", Length::read),
        at: table.names("at").unwrap_or_default(),
        existing: table.flag("existing").unwrap_or(false),
    };
    table.close();
    description.tracks.push(facts);
}

pub(super) fn line(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let from = table.needed_name("from");
    let to = table.needed_name("to");
    let via = table.names("via").unwrap_or_default();
    table.close();
    match (from, to) {
        (Some(from), Some(to)) => description.lines.push(Line { id, from, to, via }),
        _ => {
            description.unread.ids.insert(id.value);
        }
    }
}

pub(super) fn route(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let from = table.needed_name("from");
    let to = table.needed_name("to");
    let via = table.names("via").unwrap_or_default();
    let avoid = table.names("avoid").unwrap_or_default();
    let prefer = table
        .choice(
            "prefer",
            &[("fewest reverse", Preference::FewestReverse), ("shortest", Preference::Shortest)],
        )
        .unwrap_or_default();
    table.close();
    match (from, to) {
        (Some(from), Some(to)) => description.routes.push(Route { id, from, to, via, avoid, prefer }),
        _ => {
            description.unread.ids.insert(id.value);
        }
    }
}

pub(super) fn lever(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let written = table.has("moves");
    let moves = table.names("moves");
    if !written {
        table.missing("moves", "the turnouts that it moves", "moves = [\"7\", \"8\"]");
    } else if moves.as_ref().is_some_and(Vec::is_empty) {
        let note =
            Diagnostic::error(code::LEVER_MOVES_NOTHING, table.place_of("moves"), "this lever moves nothing")
                .help("name the turnouts that it moves, or delete the lever");
        table.note(note);
    }
    let pins = pins(&mut table);
    table.close();
    match moves {
        Some(moves) if !moves.is_empty() => description.levers.push(Lever { id, moves, pins }),
        _ => {
            description.unread.ids.insert(id.value);
        }
    }
}
