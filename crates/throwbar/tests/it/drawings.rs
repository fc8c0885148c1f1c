//! `draw` for every ending: the right kind of file, the same bytes twice, whole or not at all; the DXF read by another
//! program.

use crate::{Folder, read_elsewhere, root, run};
use draw::scene::{Hole, Layer, Scene, Stroke, Tag, Xy};
use draw::sheet::{Ink, MM};
use serde_json::Value;
use std::fmt::Write as _;
use std::path::Path;

/// What a file of each kind begins with.
///
/// # Source
/// PNG (Second Edition), 5.2; ISO 32000-1, 7.5.2; DXF Reference: a group code of 0 and `SECTION`.
const ENDINGS: [(&str, &[u8]); 4] =
    [("svg", b"<svg"), ("pdf", b"%PDF-1."), ("png", b"\x89PNG\r\n\x1a\n"), ("dxf", b"  0\r\nSECTION\r\n")];

fn drawn(folder: &Folder, name: &str, words: &[&str]) -> Vec<u8> {
    let path = folder.path().join(name);
    let mut all = vec!["draw", "demo/first-module", "-o", path.to_str().unwrap()];
    all.extend(words);
    let ran = run(&root(), &all);
    assert_eq!((ran.status, ran.err.as_str()), (0, ""), "{all:?}");
    std::fs::read(path).unwrap()
}

#[test]
fn every_sheet_is_drawn_as_every_kind_of_file_and_twice_the_same() {
    let folder = Folder::new("endings");
    for (ending, begins) in ENDINGS {
        for sheet in ["schematic", "map", "labels", "gaps"] {
            let mut words = vec!["--sheet", sheet];
            if ending == "png" {
                words.extend(["--dpi", "60"]);
            }
            let [one, two] = ["one", "TWO"].map(|name| drawn(&folder, &format!("{name}.{ending}"), &words));
            assert!(one.starts_with(begins), "{sheet}.{ending}");
            assert!(one == two, "{sheet}.{ending} differs between two runs");
        }
    }
    // The labels take four sheets, which only a PDF holds in one file.
    let files = 2 * (4 * ENDINGS.len() - 3);
    assert_eq!(folder.names().len(), files, "nothing else is left: {:?}", folder.names());
    let capital = drawn(&folder, "capital.DXF", &[]);
    assert!(capital.starts_with(b"  0\r\nSECTION"));
}

#[test]
fn the_other_side_is_another_drawing() {
    let folder = Folder::new("sides");
    let [front, default, back] =
        [&["--from", "front"][..], &[], &["--from", "back"]].map(|words| drawn(&folder, "side.svg", words));
    assert!(front == default && front != back);
}

#[test]
fn an_answer_in_json_names_what_was_written() {
    let folder = Folder::new("written");
    let path = folder.path().join("plates.pdf");
    let path = path.to_str().unwrap();
    let ran = run(&root(), &["draw", "demo/first-module", "-o", path, "--sheet", "labels", "--json"]);
    assert_eq!(ran.json()["written"], serde_json::json!([path]));
}

#[test]
fn sheets_past_the_first_are_numbered_and_a_pdf_holds_them_all() {
    let folder = Folder::new("many-sheets");
    let mut text = "[layout]\nname = \"Long Pier\"\n[end.a]\ntrack = \"t0\"\n".to_owned();
    for index in 0..120 {
        let next = index + 1;
        let _ = write!(
            text,
            "[turnout.{next}]\npoints = \"t{index}\"\nthrough = \"t{next}\"\ndiverging = \"s{next}\"\nhand = \"left\"\n\
             [end.s{next}]\ntrack = \"s{next}\"\n"
        );
    }
    folder.write("layout.toml", text + "[end.z]\ntrack = \"t120\"\n");
    // Two sheets of number plates, then labels, on which one sheet of paper holds 66 flags. By hand: 1112 conductors (to each of 120
    // machines two, to its frog one and two; to 15 decoders two; to 241 tracks two) have 2224 flags, which alone take 34 sheets; 15
    // decoders and 120 terminals take two more.
    for (ending, files) in [("dxf", 38), ("pdf", 1)] {
        let output = format!("plates.{ending}");
        let ran = run(folder.path(), &["draw", "-o", &output, "--sheet", "labels"]);
        assert_eq!(ran.status, 0, "{}", ran.err);
        assert_eq!(ran.out.lines().count(), files, "{}", ran.out);
    }
    let mut names: Vec<String> = (2..=38).map(|number| format!("plates-{number}.dxf")).collect();
    names.extend(["layout.toml", "plates.dxf", "plates.pdf"].map(str::to_owned));
    names.sort();
    assert_eq!(folder.names(), names);
}

#[test]
fn a_sheet_with_nothing_on_it_is_not_written() {
    let folder = Folder::new("no-levers");
    folder.write("layout.toml", "[layout]\nname = \"Pier\"\n");
    for name in ["plates.svg", "plates.pdf"] {
        let ran = run(folder.path(), &["draw", "-o", name, "--sheet", "labels"]);
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains("nothing for this sheet to show"), "{}", ran.err);
    }
    assert_eq!(folder.names(), ["layout.toml"]);
}

#[test]
fn an_unknown_ending_is_refused_with_those_that_are_known() {
    for name in ["diagram.gif", "diagram", "svg", "diagram.pdf.zip"] {
        let ran = run(&root(), &["draw", "demo/first-module", "-o", name]);
        assert_eq!(ran.status, 2);
        for (ending, _) in ENDINGS {
            assert!(ran.err.contains(&format!(".{ending}")), "{}", ran.err);
        }
    }
}

#[test]
fn what_cannot_be_drawn_leaves_the_file_that_was_there() {
    let folder = Folder::new("kept");
    folder.write("kept.png", "before");
    folder.write("kept.svg", "before");
    let path = |name: &str| folder.path().join(name).to_str().unwrap().to_owned();
    let large = run(&root(), &["draw", "demo/tern-harbor", "-o", &path("kept.png"), "--dpi", "2400"]);
    assert_eq!(large.status, 2);
    assert!(large.err.contains("100 million") && large.err.contains("the most it can have"), "{}", large.err);
    let dots = run(&root(), &["draw", "demo/first-module", "-o", &path("kept.svg"), "--dpi", "100"]);
    assert_eq!(dots.status, 2);
    assert!(dots.err.contains("--dpi is for a .png"), "{}", dots.err);
    for name in ["kept.png", "kept.svg"] {
        assert_eq!(std::fs::read(path(name)).unwrap(), b"before");
    }
    assert_eq!(folder.names(), ["kept.png", "kept.svg"]);
}

/// A folder of the same name is in the way: nothing is written, and nothing stays beside it.
#[test]
fn a_file_that_cannot_be_written_leaves_nothing_behind() {
    for (ending, _) in ENDINGS {
        let folder = Folder::new(&format!("in-the-way-{ending}"));
        let name = format!("diagram.{ending}");
        std::fs::create_dir(folder.path().join(&name)).unwrap();
        let output = folder.path().join(&name);
        let ran = run(&root(), &["draw", "demo/first-module", "-o", output.to_str().unwrap()]);
        assert_eq!(ran.status, 2);
        assert!(ran.err.contains("cannot write"), "{}", ran.err);
        assert_eq!(folder.names(), [name]);
    }
}

/// A DXF as `ezdxf` reads it.
fn read_back(path: &Path) -> Value {
    read_elsewhere("dxf/read_back.py", path)
}

/// # Source
/// DXF Reference, `$INSUNITS`: 4 is millimetres.
#[test]
fn another_program_reads_the_dxf() {
    let folder = Folder::new("dxf-read");
    drawn(&folder, "plates.dxf", &["--sheet", "labels"]);
    let plates = read_back(&folder.path().join("plates.dxf"));
    assert_eq!((&plates["version"], &plates["units"]), (&"AC1015".into(), &4.into()));
    assert_eq!(plates["errors"], serde_json::json!([]));
    for layer in ["CUT", "ENGRAVE", "DRILL"] {
        assert!(plates["layers"].as_array().unwrap().contains(&layer.into()), "{plates}");
    }
    assert_eq!(plates["open_letters"], 0, "every letter is a closed ring");
    // The cuts between plates are 30 mm apart across and 14 mm down.
    let cuts: Vec<Vec<[f64; 2]>> = serde_json::from_value(plates["cuts"].clone()).unwrap();
    let places = |along: usize| {
        let upright = cuts.iter().filter(|cut| (cut[0][along] - cut[1][along]).abs() < 1e-9);
        let mut places: Vec<f64> = upright.map(|cut| cut[0][along]).collect();
        places.sort_by(f64::total_cmp);
        places
    };
    for (along, size) in [(0, 30.0), (1, 14.0)] {
        let places = places(along);
        assert!(places.len() > 1);
        assert!(places.windows(2).all(|pair| (pair[1] - pair[0] - size).abs() < 1e-9), "{places:?}");
    }
    drawn(&folder, "diagram.dxf", &[]);
    let diagram = read_back(&folder.path().join("diagram.dxf"));
    assert_eq!(diagram["errors"], serde_json::json!([]));
    assert_eq!(diagram["holes"], serde_json::json!([]));
}

/// A face with holes, made here: their middles and diameters in the file, y upward from the lower edge.
#[test]
fn another_program_finds_the_holes_where_they_are() {
    let corners = [[0, 0], [200, 0], [200, 100], [0, 100], [0, 0]].map(|[x, y]| Xy::new(x * MM, y * MM));
    let outline = Stroke {
        path: corners.to_vec(),
        width: 250,
        ink: Ink::Ink,
        layer: Layer::Cut,
        round: false,
        dashed: false,
        hidden: false,
        tag: Tag::class("face"),
    };
    let hole = |x: i64, y: i64, diameter: i64| Hole { at: Xy::new(x, y), diameter, tag: Tag::class("hole") };
    let scene = Scene {
        width: 200 * MM,
        height: 100 * MM,
        strokes: vec![outline],
        holes: vec![
            hole(5 * MM, 5 * MM, 3_200),
            hole(100_250, 40_125, 6_500),
            hole(190 * MM, 90 * MM, 12 * MM),
        ],
        ..Scene::default()
    };
    let folder = Folder::new("dxf-holes");
    folder.write("face.dxf", draw::dxf::write(&scene).unwrap());
    let face = read_back(&folder.path().join("face.dxf"));
    assert_eq!(
        face["holes"],
        serde_json::json!([[5.0, 95.0, 3.2], [100.25, 59.875, 6.5], [190.0, 10.0, 12.0]])
    );
    assert_eq!(face["box"], serde_json::json!([0.0, 0.0, 200.0, 100.0]));
    assert_eq!(face["counts"], serde_json::json!({ "CIRCLE DRILL": 3, "LWPOLYLINE CUT": 1 }));
}
