//! The sheets at 1:1: fascia map and number plates.

use crate::layouts::{DEMO, LOOPED, OPEN, network};
use draw::scene::Scene;
use draw::sheet::{A4, LETTER, MM};
use draw::{map, map_of, plates, svg};
use network::Network;
use plan::model::Plan;
use std::fmt::Write as _;

fn plan_of(text: &str) -> Plan {
    plan::make(network(text)).value
}

fn stays_on_the_sheet(scene: &Scene) {
    for words in &scene.words {
        assert!(scene.sheet().holds(words.area), "{}", words.text);
    }
    for stroke in &scene.strokes {
        assert!(
            stroke
                .path
                .iter()
                .all(|at| (0..=scene.width).contains(&at.x) && (0..=scene.height).contains(&at.y))
        );
    }
}

fn numbers(scene: &Scene, class: &str) -> Vec<String> {
    scene.words.iter().filter(|words| words.tag.class == class).map(|words| words.text.clone()).collect()
}

#[test]
fn the_map_of_the_demo_has_every_number_within_the_size_asked_for() {
    let plan = plan_of(DEMO);
    for (width, height) in [(120, 60), (200, 90), (400, 200)] {
        let map = map(&plan, width, height);
        assert_eq!((map.width, map.height), (i64::from(width) * MM, i64::from(height) * MM));
        stays_on_the_sheet(&map);
        let shown = numbers(&map, "number");
        for lever in &plan.levers {
            assert!(shown.contains(&lever.number.value.to_string()), "{width} mm: {}", lever.number.value);
        }
        if width >= 200 {
            let height = map
                .words
                .iter()
                .filter(|words| words.tag.class == "number")
                .map(|words| words.at.y - words.area.top);
            assert!(height.min() >= Some(4 * MM), "numbers are 4 mm tall where there is room");
        }
    }
}

#[test]
fn a_map_of_anything_on_anything_stays_on_its_sheet() {
    for (_, text) in OPEN.iter().chain(&LOOPED) {
        for (width, height) in [(86, 54), (40, 300), (300, 40)] {
            stays_on_the_sheet(&map_of(&network(text), width, height));
        }
    }
    let nothing: Scene = map_of(&Network::default(), 86, 54);
    assert!(nothing.words.is_empty());
    map_of(&network(DEMO), 0, 0);
}

#[test]
fn there_is_one_plate_for_each_lever_and_the_bar_is_100_mm() {
    let plan = plan_of(DEMO);
    let sheets = plates(&plan);
    let shown: Vec<String> = sheets.iter().flat_map(|sheet| numbers(sheet, "plate-number")).collect();
    let expected: Vec<String> = plan.levers.iter().map(|lever| lever.number.value.to_string()).collect();
    assert_eq!(shown, expected);
    let names: Vec<String> = sheets.iter().flat_map(|sheet| numbers(sheet, "plate-name")).collect();
    let expected: Vec<String> =
        plan.levers.iter().map(|lever| plan.network.lever(lever.lever).name.clone()).collect();
    assert_eq!(names, expected, "the demo's names are all short enough to stand whole");
    for sheet in &sheets {
        assert_eq!((sheet.width, sheet.height), LETTER, "the demo is in imperial units");
        stays_on_the_sheet(sheet);
        // The bar as the file has it, in millimetres.
        let file = svg::write(sheet);
        let document = roxmltree::Document::parse(&file).expect("well-formed");
        let bar = document
            .descendants()
            .find(|node| node.attribute("class") == Some("measuring-bar"))
            .expect("a bar");
        let figures: Vec<f64> = bar
            .attribute("d")
            .expect("a path")
            .split([' ', 'M', 'L'])
            .filter_map(|figure| figure.parse().ok())
            .collect();
        let [x1, y1, x2, y2] = figures[..] else { panic!("{figures:?}") };
        assert!((x2 - x1 - 100.0).abs() < 1e-9 && (y2 - y1).abs() < 1e-9);
    }
}

#[test]
fn many_levers_take_more_sheets() {
    let mut text = "[layout]\nname = \"many\"\n[end.a]\ntrack = \"t0\"\n".to_owned();
    for index in 0..200 {
        let next = index + 1;
        let _ = write!(
            text,
            "[turnout.{next}]\npoints = \"t{index}\"\nthrough = \"t{next}\"\ndiverging = \"s{next}\"\nhand = \"left\"\n\
             [end.s{next}]\ntrack = \"s{next}\"\n"
        );
    }
    text += "[end.z]\ntrack = \"t200\"\n";
    let sheets = plates(&plan_of(&text));
    assert!(sheets.len() >= 2);
    assert_eq!((sheets[0].width, sheets[0].height), A4);
    assert_eq!(sheets.iter().map(|sheet| numbers(sheet, "plate-number").len()).sum::<usize>(), 200);
    sheets.iter().for_each(stays_on_the_sheet);
}
