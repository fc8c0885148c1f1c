//! Fascias and their templates: every distance computed from the scene, not taken from what placed it.

use crate::layouts::{DEMO, Growth, OPEN, grown, network};
use draw::scene::{Area, Scene, Xy};
use draw::sheet::{A4, HOLE_GAP_MIN, LETTER, MM, NUT_GAP_MIN, PANEL_MARGIN, Um};
use draw::{check_panels, hole_rows, panel_cut, panel_face, template, tile_windows, tiles};
use plan::model::Plan;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// A plan with one fascia for everything, and what its drawing finds wrong.
fn with_fascia(layout: &str, keys: &str) -> (Plan, Vec<String>) {
    let outcome = plan::make(network(&format!("{layout}\n[panel.desk]\nkind = \"fascia\"\n{keys}")));
    let checked = check_panels(outcome.value);
    (checked.value, checked.diagnostics.iter().map(|note| note.code.name().to_owned()).collect())
}

/// Every kind of fascia over every layout without loops, the demo, and a wye.
fn all() -> Vec<(String, Plan, Scene)> {
    let mut made = Vec::new();
    let looped = crate::layouts::LOOPED.iter().map(|(_, text)| *text);
    for text in OPEN.iter().map(|(_, text)| *text).chain(looped) {
        for buttons in ["one-push", "pair", "toggle"] {
            // The panels that a layout has already stay: they are strips.
            let rest = "controls = [".to_owned()
                + &network(text)
                    .levers
                    .iter()
                    .map(|lever| notice::quoted(&lever.id))
                    .collect::<Vec<_>>()
                    .join(", ")
                + "]";
            let (plan, found) = with_fascia(text, &format!("buttons = \"{buttons}\"\n{rest}\n"));
            assert!(found.is_empty(), "{buttons}: {found:?}");
            let face = panel_face(&plan, "desk").expect("a face");
            made.push((buttons.to_owned(), plan, face));
        }
    }
    made
}

fn squared(a: Xy, b: Xy) -> Um {
    (a.x - b.x).pow(2) + (a.y - b.y).pow(2)
}

#[test]
fn no_two_holes_are_nearer_than_allowed_and_none_leaves_the_panel() {
    for (buttons, _, face) in all() {
        for (index, hole) in face.holes.iter().enumerate() {
            let reach = hole.diameter / 2 + HOLE_GAP_MIN;
            let edge = Area::around(hole.at, 2 * reach, 2 * reach);
            assert!(face.sheet().holds(edge), "{buttons}: a hole at {:?} breaks the edge", hole.at);
            for other in &face.holes[index + 1..] {
                let least = i64::midpoint(hole.diameter, other.diameter) + HOLE_GAP_MIN;
                assert!(squared(hole.at, other.at) >= least.pow(2), "{buttons}: {hole:?} {other:?}");
            }
        }
    }
}

#[test]
fn nuts_turn_and_stay_inside_the_margin() {
    for (buttons, _, face) in all() {
        let nuts: Vec<_> =
            face.marks.iter().filter(|mark| ["button", "toggle", "lamp"].contains(&mark.tag.class)).collect();
        let inner = face.sheet().grown(-PANEL_MARGIN);
        for (index, nut) in nuts.iter().enumerate() {
            assert!(inner.holds(Area::around(nut.at, nut.size, nut.size)), "{buttons}: {nut:?}");
            for other in &nuts[index + 1..] {
                let least = i64::midpoint(nut.size, other.size) + NUT_GAP_MIN;
                assert!(squared(nut.at, other.at) >= least.pow(2), "{buttons}: {nut:?} {other:?}");
            }
        }
    }
}

#[test]
fn every_device_of_the_plan_has_its_hole_and_every_lever_its_number() {
    for (buttons, plan, face) in all() {
        let fascia = &plan.fascias[0];
        let drilled = face.holes.iter().filter(|hole| hole.tag.class != "fixing").count();
        assert_eq!(drilled, fascia.devices.len(), "{buttons}");
        let numbers: BTreeSet<&str> = face
            .words
            .iter()
            .filter(|words| words.tag.class == "number")
            .map(|words| words.text.as_str())
            .collect();
        // A name in `controls` may be that of a line, so not every lever need be here.
        for lever in plan.levers.iter().filter(|lever| fascia.levers.contains(&lever.lever)) {
            let number = lever.number.value.to_string();
            assert!(numbers.contains(number.as_str()), "{buttons} {}: lever {number}", face.title);
        }
    }
}

/// The table says tenths of a millimetre; the drawing has them exactly, in front, mirrored and in what a saw follows.
#[test]
fn the_table_of_holes_is_what_is_drawn() {
    for (buttons, plan, face) in all() {
        let rows = hole_rows(&plan, "desk").expect("rows");
        let cut = panel_cut(&plan, "desk").expect("an outline");
        assert_eq!(rows.len(), face.holes.len());
        assert_eq!(cut.holes, face.holes);
        for (row, hole) in rows.iter().zip(&face.holes) {
            assert_eq!(
                (row.x, row.y, row.diameter),
                (hole.at.x, face.height - hole.at.y, hole.diameter),
                "{buttons} {}",
                row.id
            );
            assert_eq!((row.x % 100, row.y % 100), (0, 0), "{buttons} {}", row.id);
        }
        let ids: BTreeSet<&str> = rows.iter().map(|row| row.id.as_str()).collect();
        assert_eq!(ids.len(), rows.len(), "each hole has an id of its own");
    }
}

#[test]
fn the_back_is_the_front_seen_from_behind() {
    let (plan, _) = with_fascia(
        OPEN[0].1,
        "width = \"180 mm\"\nheight = \"150 mm\"\nlamps = false\ncontrols = [\"team\", \"meet\"]\n",
    );
    let face = panel_face(&plan, "desk").expect("a face");
    let sheets = template(&plan, "desk").expect("sheets");
    assert_eq!(sheets.len(), 3, "front, back, table");
    // Each view stands in the middle of its sheet.
    let on_sheet = |sheet: &Scene| {
        let left = (sheet.width - face.width) / 2;
        sheet.holes.iter().map(|hole| (hole.at.x - left, hole.at.y, hole.diameter)).collect::<BTreeSet<_>>()
    };
    let front = on_sheet(&sheets[0]);
    assert_eq!(front.len(), face.holes.len());
    let turned: BTreeSet<_> = front.iter().map(|&(x, y, diameter)| (face.width - x, y, diameter)).collect();
    assert_eq!(on_sheet(&sheets[1]), turned);
    assert_ne!(front, turned, "the panel is not its own mirror image, or this would prove nothing");
    assert!(sheets[2].holes.is_empty());
}

/// The bar of every sheet, measured from the path that is drawn.
#[test]
fn every_sheet_has_a_bar_of_100_mm() {
    let (plan, _) = with_fascia(DEMO, "controls = [\"wharf\", \"yard ladder\"]\n");
    let sheets = template(&plan, "desk").expect("sheets");
    assert!(sheets.len() > 3);
    for sheet in sheets.iter().chain(&draw::labels(&plan, None).expect("labels")) {
        let bars: Vec<_> =
            sheet.strokes.iter().filter(|stroke| stroke.tag.class == "measuring-bar").collect();
        let [bar] = bars.as_slice() else { panic!("one bar a sheet, not {}", bars.len()) };
        let [from, to] = bar.path[..] else { panic!("{:?}", bar.path) };
        assert_eq!((to.x - from.x, to.y - from.y), (100 * MM, 0));
        assert_eq!((sheet.width, sheet.height), LETTER);
    }
}

fn stays_on_its_sheet(scene: &Scene) {
    for words in &scene.words {
        assert!(scene.sheet().holds(words.area), "{} at {:?}", words.text, words.area);
    }
    for at in scene.strokes.iter().flat_map(|stroke| &stroke.path) {
        assert!((0..=scene.width).contains(&at.x) && (0..=scene.height).contains(&at.y), "{at:?}");
    }
}

#[test]
fn nothing_leaves_its_sheet() {
    for (_, plan, face) in all() {
        stays_on_its_sheet(&face);
        template(&plan, "desk").expect("sheets").iter().for_each(stays_on_its_sheet);
        draw::labels(&plan, None).expect("labels").iter().for_each(stays_on_its_sheet);
    }
}

#[test]
fn tiles_cover_the_panel_overlap_and_show_every_hole_whole() {
    for (_, _, face) in all() {
        for paper in [A4, LETTER] {
            let (windows, _) = tile_windows(&face, paper);
            let widest = face.holes.iter().map(|hole| hole.diameter).max().unwrap_or(0);
            let (columns, rows) = (windows[0].columns, windows[0].rows);
            assert_eq!(windows.len(), columns * rows);
            for tile in &windows {
                assert!(face.sheet().holds(tile.window));
                let right =
                    windows.iter().find(|other| (other.column, other.row) == (tile.column + 1, tile.row));
                let below =
                    windows.iter().find(|other| (other.column, other.row) == (tile.column, tile.row + 1));
                match right {
                    Some(right) => assert!(tile.window.right - right.window.left > widest),
                    None => assert_eq!(tile.window.right, face.width),
                }
                match below {
                    Some(below) => assert!(tile.window.bottom - below.window.top > widest),
                    None => assert_eq!(tile.window.bottom, face.height),
                }
            }
            assert_eq!((windows[0].window.left, windows[0].window.top), (0, 0));
            let drawn: Vec<Scene> = tiles(&face, paper, "a panel");
            let shown: usize = drawn.iter().map(|tile| tile.holes.len()).sum();
            assert!(shown >= face.holes.len());
            for hole in &face.holes {
                let area = Area::around(hole.at, hole.diameter, hole.diameter);
                assert!(windows.iter().any(|tile| tile.window.holds(area)), "{hole:?}");
            }
        }
    }
}

/// Laid one over the other by their joining marks, two sheets show the shared holes at the same places.
#[test]
fn joining_marks_lie_over_one_another() {
    let (plan, _) = with_fascia(DEMO, "controls = [\"main\"]\n");
    let face = panel_face(&plan, "desk").expect("a face");
    let (windows, lying) = tile_windows(&face, LETTER);
    let drawn = tiles(&face, LETTER, "a panel");
    assert!(windows.len() > 1);
    let paper_width = if lying { LETTER.1 } else { LETTER.0 };
    let marks = |index: usize| -> BTreeSet<Vec<Xy>> {
        let window = windows[index].window;
        // Back from the sheet to the panel.
        let left = (paper_width - (window.right - window.left)) / 2 - window.left;
        let top = draw::sheet::TILE_MARGIN - window.top;
        let joins = drawn[index].strokes.iter().filter(|stroke| stroke.tag.class == "join");
        joins.map(|stroke| stroke.path.iter().map(|at| Xy::new(at.x - left, at.y - top)).collect()).collect()
    };
    let mut pairs = 0;
    for (index, tile) in windows.iter().enumerate() {
        for (other_index, other) in windows.iter().enumerate() {
            if (other.column, other.row) == (tile.column + 1, tile.row) {
                let shared = marks(index).intersection(&marks(other_index)).count();
                assert!(shared >= 4, "two saltires of two strokes each, at least: {shared}");
                pairs += 1;
            }
        }
    }
    assert!(pairs > 0);
}

#[test]
fn what_cannot_be_drilled_is_said() {
    let small = OPEN[0].1;
    let some = "controls = [\"team\", \"meet\"]\n";
    for (keys, code) in [
        ("width = \"60 mm\"\nheight = \"60 mm\"\n", "panel-too-small"),
        ("width = \"120 mm\"\nheight = \"80 mm\"\n", "holes-too-near"),
        ("margin = \"4 mm\"\n", "hole-off-panel"),
        ("holes = \"30 mm\"\n", "hole-off-panel"),
    ] {
        let (plan, found) = with_fascia(small, &format!("{keys}{some}"));
        assert_eq!(found, [code], "{keys}");
        assert!(panel_face(&plan, "desk").is_some(), "it is drawn all the same");
    }
    // The rule about holes that are too large says it; the drawing does not say it again.
    let (plan, found) = with_fascia(small, &format!("width = \"5 mm\"\nheight = \"5 mm\"\n{some}"));
    assert!(found.is_empty(), "{found:?}");
    let face = panel_face(&plan, "desk").expect("a face");
    assert_eq!((face.width, face.height), (5 * MM, 5 * MM));
    template(&plan, "desk").expect("sheets");
}

#[test]
fn the_size_that_a_help_names_will_do() {
    let text = OPEN[0].1;
    let outcome = plan::make(network(&format!(
        "{text}\n[panel.desk]\nkind = \"fascia\"\nwidth = \"120 mm\"\nheight = \"80 mm\"\ncontrols = [\"team\", \"meet\"]\n"
    )));
    let help = check_panels(outcome.value).diagnostics[0].help.clone().expect("a help");
    let keys = help.replace("give it ", "").replace(" and ", "\n");
    let (_, found) = with_fascia(text, &format!("{keys}\ncontrols = [\"team\", \"meet\"]\n"));
    assert!(found.is_empty(), "{keys}: {found:?}");
}

#[test]
fn names_of_any_letters_and_lengths_stay_on_the_panel() {
    let long = "n".repeat(300);
    for name in [long.as_str(), "ميناء الشمال", "🚂🚂🚂", "\u{202e}harbor", "a\u{0}b", "  "]
    {
        let quoted = notice::quoted(name);
        let text = format!(
            "[layout]\nname = {quoted}\n[turnout.1]\nname = {quoted}\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
             [end.{quoted}]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n\
             [panel.{quoted}]\nkind = \"fascia\"\n[panel.row]\nkind = \"strip\"\ncontrols = [\"1\"]\n"
        );
        let plan = check_panels(plan::make(network(&text)).value).value;
        for fascia in &plan.fascias {
            stays_on_its_sheet(&panel_face(&plan, &fascia.panel).expect("a face"));
            template(&plan, &fascia.panel).expect("sheets").iter().for_each(stays_on_its_sheet);
        }
        stays_on_its_sheet(&panel_face(&plan, "row").expect("a strip"));
        draw::labels(&plan, None).expect("labels").iter().for_each(stays_on_its_sheet);
    }
}

#[test]
fn the_operators_left_stays_left() {
    let (plan, _) = with_fascia(DEMO, "controls = [\"wharf\"]\n");
    let whole = draw::schematic(&plan);
    let face = panel_face(&plan, "desk").expect("a face");
    let on_face = |name: &str| {
        let words = face.words.iter().find(|words| words.tag.class == "end-name" && words.text == name);
        words.expect("the end is named").area.left
    };
    let on_whole = |name: &str| {
        let end = whole.ends.iter().find(|end| plan.network.joint(end.joint).name == name);
        end.expect("the end is drawn").at.x
    };
    assert!(on_whole("ice house") < on_whole("pier 3"));
    assert!(on_face("ice house") < on_face("pier 3"));
    assert!(
        on_face("wharf lead") < on_face("ice house"),
        "the way in lies where the rest of the railroad lies"
    );
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 60, ..ProptestConfig::default() })]

    /// Whatever railroad grows, its fascia keeps every distance or says that it cannot.
    #[test]
    fn prop_grown_railroads_keep_their_distances(
        steps in proptest::collection::vec(any::<Growth>(), 1..12),
        rings in any::<bool>(),
        buttons in 0..3_usize,
    ) {
        let kind = ["one-push", "pair", "toggle"][buttons];
        let (plan, found) = with_fascia(&grown(&steps, rings), &format!("buttons = \"{kind}\"\n"));
        let face = panel_face(&plan, "desk").expect("a face");
        if found.is_empty() {
            for (index, hole) in face.holes.iter().enumerate() {
                for other in &face.holes[index + 1..] {
                    let least = i64::midpoint(hole.diameter, other.diameter) + HOLE_GAP_MIN;
                    prop_assert!(squared(hole.at, other.at) >= least.pow(2));
                }
            }
        }
        stays_on_its_sheet(&face);
    }
}
