//! The tables that join tracks: `[turnout.*]`, `[wye.*]`, `[threeway.*]`, `[crossover.*]`, `[scissors.*]`, `[slip.*]`,
//! `[crossing.*]`, `[turntable.*]`.

use super::table::Table;
use crate::model::{Description, FrogFeed, Hand, Joint, JointKind, Name, NormalLeg, Pins};
use notice::{Diagnostic, code};

/// The most tracks at a turntable, so that each has a number of one byte.
const TURNTABLE_MAX: usize = 250;

/// The words for a hand or a side.
pub(super) const HANDS: [(&str, Hand); 2] = [("left", Hand::Left), ("right", Hand::Right)];

/// Reads one such table into the description.
pub(super) fn read(table_name: &str, id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    let mut legs = Legs::default();
    let kind = match table_name {
        "turnout" => turnout(&mut table, &mut legs),
        "wye" => {
            legs.single(&mut table, "points");
            legs.single(&mut table, "left");
            legs.single(&mut table, "right");
            JointKind::Wye
        }
        "threeway" => {
            legs.single(&mut table, "points");
            legs.single(&mut table, "through");
            legs.single(&mut table, "left");
            legs.single(&mut table, "right");
            JointKind::Threeway
        }
        "crossover" => {
            legs.one_and_other(&mut table);
            JointKind::Crossover { hand: table.choice("hand", &HANDS) }
        }
        "scissors" => {
            legs.one_and_other(&mut table);
            JointKind::Scissors
        }
        "slip" => {
            legs.one_and_other(&mut table);
            JointKind::Slip {
                double: table.choice("slips", &[("both", true), ("one", false)]).unwrap_or(true),
                swap_ends: table.flag("swap_ends").unwrap_or(false),
            }
        }
        "crossing" => {
            legs.one_and_other(&mut table);
            JointKind::Crossing
        }
        _ => turntable(&mut table, &mut legs),
    };
    let moves_points = !matches!(kind, JointKind::Crossing | JointKind::Turntable { .. });
    let has_frogs = !matches!(kind, JointKind::Turntable { .. });
    let joint = Joint {
        kind,
        tracks: Vec::new(),
        name: table.name("name"),
        at: table.name("at"),
        normal: if moves_points { normal(table_name, &mut table) } else { NormalLeg::Usual },
        motor: if moves_points { table.name("motor") } else { None },
        frog: if moves_points { table.name("frog") } else { None },
        frog_feed: if has_frogs { frog_feed(&mut table) } else { None },
        pins: if moves_points { pins(&mut table) } else { Pins::default() },
        id,
    };
    table.close();
    match legs.all() {
        Ok(tracks) => description.joints.push(Joint { tracks, ..joint }),
        Err((named, unread_count)) => {
            description.unread.tracks.extend(named.into_iter().map(|name| name.value));
            description.unread.ends += unread_count;
            description.unread.ids.insert(joint.id.value);
        }
    }
}

/// The legs of a joint as far as they could be read.
#[derive(Default)]
struct Legs {
    read: Vec<Option<Name>>,
}

impl Legs {
    fn single(&mut self, table: &mut Table<'_, '_>, key: &'static str) {
        let leg = table.needed_name(key);
        self.read.push(leg);
    }

    fn one_and_other(&mut self, table: &mut Table<'_, '_>) {
        for key in ["one", "other"] {
            match table.pair(key) {
                Some(pair) => self.read.extend(pair.map(Some)),
                None => self.read.extend([None, None]),
            }
        }
    }

    /// All legs, or those that could be read and the number of those that could not.
    fn all(self) -> Result<Vec<Name>, (Vec<Name>, usize)> {
        let unread_count = self.read.iter().filter(|leg| leg.is_none()).count();
        let named: Vec<Name> = self.read.into_iter().flatten().collect();
        if unread_count == 0 { Ok(named) } else { Err((named, unread_count)) }
    }
}

fn turnout(table: &mut Table<'_, '_>, legs: &mut Legs) -> JointKind {
    legs.single(table, "points");
    legs.single(table, "through");
    legs.single(table, "diverging");
    let written = table.has("hand");
    let hand = table.choice("hand", &HANDS);
    if !written {
        let message = format!("{} does not say which way its diverging leg leaves", table.heading);
        let note = Diagnostic::warning(code::HAND_MISSING, table.span, message)
            .help("add hand = \"left\" or hand = \"right\", as seen from the points; until then it is drawn as right");
        table.note(note);
    }
    JointKind::Turnout { hand }
}

fn turntable(table: &mut Table<'_, '_>, legs: &mut Legs) -> JointKind {
    let mut approach_count = 0;
    for key in ["approach", "stalls"] {
        table.need(key);
        match table.names(key) {
            Some(names) => {
                if key == "approach" {
                    approach_count = names.len();
                }
                legs.read.extend(names.into_iter().map(Some));
            }
            None => legs.read.push(None),
        }
    }
    if legs.read.len() > TURNTABLE_MAX {
        let message =
            format!("this turntable joins {} tracks, which is more than {TURNTABLE_MAX}", legs.read.len());
        let note = Diagnostic::error(code::TOO_MANY_TO_READ, table.span, message)
            .help("describe it as several turntables");
        table.note(note);
        legs.read.push(None);
    }
    JointKind::Turntable { approach_count }
}

fn normal(table_name: &str, table: &mut Table<'_, '_>) -> NormalLeg {
    let choices: &[(&str, NormalLeg)] = match table_name {
        "wye" => &[("left", NormalLeg::Usual), ("right", NormalLeg::Other)],
        "turnout" => &[("through", NormalLeg::Usual), ("diverging", NormalLeg::Other)],
        _ => return NormalLeg::Usual,
    };
    table.choice("normal", choices).unwrap_or_default()
}

fn frog_feed(table: &mut Table<'_, '_>) -> Option<FrogFeed> {
    table.choice(
        "frog_feed",
        &[
            ("switched", FrogFeed::Switched),
            ("dead", FrogFeed::Dead),
            ("polarity unit", FrogFeed::PolarityUnit),
        ],
    )
}

/// The decisions that a joint or a lever may pin.
pub(super) fn pins(table: &mut Table<'_, '_>) -> Pins {
    Pins {
        number: table.number("number", code::NUMBER_OUT_OF_RANGE),
        address: table.number("address", code::ADDRESS_OUT_OF_RANGE),
        decoder: table.name("decoder"),
    }
}
