//! The file: well-formed, true to scale, tagged, the same every time.
//!
//! Read back with `roxmltree`, an XML parser that shares nothing with the writer.

use crate::layouts::{DEMO, LOOPED, OPEN, drawn};
use draw::{schematic_of, svg};
use network::JointKind;
use roxmltree::Document;

fn millimetres(text: &str) -> f64 {
    text.strip_suffix("mm").expect("a length in mm").parse().expect("a number")
}

#[test]
fn the_file_is_well_formed_and_true_to_scale() {
    for (name, text) in OPEN.iter().chain(&LOOPED) {
        let (_, drawn, _) = drawn(text);
        let file = svg::write(&drawn.scene);
        let document = Document::parse(&file).unwrap_or_else(|error| panic!("{name}: {error}"));
        let root = document.root_element();
        assert_eq!(root.tag_name().namespace(), Some("http://www.w3.org/2000/svg"));
        let size = ["width", "height"].map(|key| millimetres(root.attribute(key).expect(key)));
        let view: Vec<f64> = root
            .attribute("viewBox")
            .expect("a view box")
            .split(' ')
            .map(|n| n.parse().expect("a number"))
            .collect();
        // One unit of the view box is one millimetre when its size is the sheet's.
        assert_eq!(view, [0.0, 0.0, size[0], size[1]], "{name}");
    }
}

#[test]
fn every_machine_has_its_legs_its_marks_and_its_number_in_the_file() {
    let (network, drawn, _) = drawn(DEMO);
    let file = svg::write(&drawn.scene);
    let document = Document::parse(&file).expect("well-formed");
    let count = |class: &str, machine: &str, position: &str| {
        let matches = |node: &roxmltree::Node| {
            node.attribute("class") == Some(class)
                && node.attribute("data-machine") == Some(machine)
                && node.attribute("data-position") == Some(position)
        };
        document.descendants().filter(matches).count()
    };
    for machine in &network.machines {
        // A leg of a slip or a three-way hangs on two machines.
        let alone = matches!(
            network.joint(machine.joint).kind,
            JointKind::Turnout { .. } | JointKind::Wye | JointKind::Crossover { .. }
        );
        for position in ["normal", "reverse"].iter().filter(|_| alone) {
            assert_eq!(count("leg", &machine.name, position), 1, "{} {position}", machine.name);
        }
        for position in ["normal", "reverse", "unknown"] {
            assert_eq!(count("mark", &machine.name, position), 1, "{} {position}", machine.name);
        }
    }
    for lever in &network.levers {
        let number = |node: &roxmltree::Node| {
            node.attribute("class") == Some("number")
                && node.attribute("data-lever") == Some(lever.id.as_str())
        };
        assert!(document.descendants().any(|node| number(&node)), "{}", lever.id);
    }
    for track in &network.tracks {
        assert!(document.descendants().any(|node| node.attribute("data-track") == Some(track.name.as_str())));
    }
}

#[test]
fn hidden_elements_stay_in_the_file_for_a_page_to_show() {
    let (network, drawn, _) = drawn(OPEN[0].1);
    let file = svg::write(&drawn.scene);
    let document = Document::parse(&file).expect("well-formed");
    let hidden = document.descendants().filter(|node| node.attribute("visibility") == Some("hidden"));
    // One leg and two marks of every machine.
    assert_eq!(hidden.count(), 3 * network.machines.len());
}

#[test]
fn a_name_cannot_break_the_file() {
    let text = "[layout]\nname = \"\\\"<&>' \\u0001\"\n[end.\"</svg>\"]\ntrack = \"a&b\\\"c\"\n[end.x]\ntrack = \"a&b\\\"c\"\n";
    let file = svg::write(&schematic_of(&crate::layouts::network(text)).scene);
    let document = Document::parse(&file).expect("well-formed");
    assert!(document.descendants().any(|node| node.attribute("data-track") == Some("a&b\"c")));
    assert!(document.descendants().any(|node| node.text() == Some("</svg>")));
}
