//! Labels: what is on them, that it stays on them, and that another program reads their codes.

use crate::layouts::{DEMO, network};
use draw::scene::{Area, Scene};
use draw::sheet::MM;
use draw::{Grid, labels};
use plan::model::Plan;

fn plan_of(labels: &str) -> Plan {
    plan::make(network(&format!("{DEMO}\n[labels]\n{labels}"))).value
}

fn texts<'a>(sheets: &'a [Scene], class: &str) -> Vec<&'a str> {
    let words = sheets.iter().flat_map(|sheet| &sheet.words);
    words.filter(|words| words.tag.class == class).map(|words| words.text.as_str()).collect()
}

#[test]
fn every_wire_has_a_flag_at_both_ends_and_every_output_a_terminal() {
    let plan = plan_of("");
    let sheets = labels(&plan, None).expect("labels");
    let flags = texts(&sheets, "label-flag");
    let ids: Vec<&str> =
        plan.wires.iter().flat_map(|wire| &wire.cores).map(|core| core.id.as_str()).collect();
    assert_eq!(flags.len(), 4 * ids.len(), "two ends, each twice on its flag");
    for id in ids {
        assert_eq!(flags.iter().filter(|text| **text == id).count(), 4, "{id}");
    }
    let outputs: usize = plan.decoders.iter().map(|decoder| usize::from(decoder.outputs)).sum();
    assert_eq!(texts(&sheets, "label-terminal").len(), outputs);
    assert_eq!(texts(&sheets, "label-decoder").len(), plan.decoders.len());
    assert_eq!(texts(&sheets, "plate-number").len(), plan.levers.len());
}

/// Every word and stroke lies in one cell of the grid, computed here from the grid's figures.
#[test]
fn labels_of_a_grid_stay_in_their_cells() {
    let plan = plan_of(
        "columns = 3\nrows = 8\nmargins = \"12 mm\"\nside_margins = \"5 mm\"\ngap = \"3 mm\"\nlink = \"http://192.168.1.20:8080/\"\n",
    );
    let sheets = labels(&plan, None).expect("labels");
    let count: usize = sheets.len();
    assert!(count > 1);
    for sheet in &sheets {
        let (width, height) = ((sheet.width - 10 * MM - 6 * MM) / 3, (sheet.height - 24 * MM) / 8);
        let cells: Vec<Area> = (0..24)
            .map(|place| {
                let left = 5 * MM + (place % 3) * (width + 3 * MM);
                let top = 12 * MM + (place / 3) * height;
                Area { left, top, right: left + width, bottom: top + height }
            })
            .collect();
        for words in sheet.words.iter().filter(|words| words.tag.class.starts_with("label-")) {
            assert!(cells.iter().any(|cell| cell.holds(words.area)), "{}", words.text);
        }
        for stroke in sheet.strokes.iter().filter(|stroke| stroke.tag.class == "qr") {
            let ends = [stroke.path[0], stroke.path[1]];
            let whole = Area { left: ends[0].x, top: ends[0].y, right: ends[1].x, bottom: ends[1].y };
            assert!(cells.iter().any(|cell| cell.holds(whole)));
        }
    }
}

#[test]
fn a_grid_of_the_command_wins_over_the_descriptions() {
    let plan = plan_of("columns = 3\nrows = 8\n");
    let sheets = |grid| labels(&plan, grid).map(|sheets| sheets.len());
    assert!(sheets(Some(Grid { columns: 2, rows: 4 })) > sheets(None));
    assert_eq!(sheets(Some(Grid { columns: 40, rows: 8 })), None, "too small to read");
}

/// # Source
/// The crate `rqrr`, a decoder written by others than `qrcodegen`, reads the code from the drawn strokes, painted dot by dot.
#[test]
fn another_program_reads_the_codes() {
    let plan = plan_of("link = \"http://192.168.1.20:8080\"\n");
    let sheets = labels(&plan, None).expect("labels");
    let mut read = Vec::new();
    for sheet in sheets.iter().filter(|sheet| sheet.strokes.iter().any(|stroke| stroke.tag.class == "qr")) {
        // Ten dots to the millimetre.
        let dot = 100;
        let size = |length: i64| usize::try_from(length / dot).expect("a sheet has a size");
        let (width, height) = (size(sheet.width), size(sheet.height));
        let mut dark = vec![false; width * height];
        for stroke in sheet.strokes.iter().filter(|stroke| stroke.tag.class == "qr") {
            let [from, to] = [stroke.path[0], stroke.path[1]];
            for y in size(from.y - stroke.width / 2)..size(from.y + stroke.width / 2) {
                for x in size(from.x)..size(to.x) {
                    dark[y * width + x] = true;
                }
            }
        }
        let mut image = rqrr::PreparedImage::prepare_from_bitmap(width, height, |x, y| dark[y * width + x]);
        read.extend(image.detect_grids().into_iter().map(|grid| grid.decode().expect("a sound code").1));
    }
    read.sort();
    let mut wanted: Vec<String> = plan
        .decoders
        .iter()
        .map(|decoder| format!("http://192.168.1.20:8080/#{}", decoder.anchor()))
        .collect();
    wanted.sort();
    assert_eq!(read, wanted);
}

#[test]
fn without_a_link_there_is_no_code() {
    let sheets = labels(&plan_of(""), None).expect("labels");
    assert!(sheets.iter().flat_map(|sheet| &sheet.strokes).all(|stroke| stroke.tag.class != "qr"));
}

#[test]
fn a_link_no_browser_opens_is_said() {
    for link in ["panel", "ftp://host", "http://", "http://a b", "https://x\\u0007"] {
        let plan = plan_of(&format!("link = \"{link}\"\n"));
        let found = draw::check_panels(plan).diagnostics;
        assert_eq!(
            found.iter().map(|note| note.code.name()).collect::<Vec<_>>(),
            ["link-unusable"],
            "{link}"
        );
    }
}
