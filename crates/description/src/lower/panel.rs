//! `[panel.*]` and `[labels]`.

use super::table::Table;
use crate::model::{Buttons, Description, FasciaFacts, Labels, Name, Panel, PanelKind};
use measure::Length;
use notice::{Diagnostic, code};

const BUTTONS: [(&str, Buttons); 3] =
    [("one-push", Buttons::OnePush), ("pair", Buttons::Pair), ("toggle", Buttons::Toggle)];

/// The largest panel, in metres: past that it is a slip of the pen, and drawings would have no end.
const PANEL_MAX: f64 = 5.0;

pub(super) fn panel(id: Name, mut table: Table<'_, '_>, description: &mut Description) {
    table.need("kind");
    let kind = table.choice(
        "kind",
        &[("strip", PanelKind::Strip), ("fascia", PanelKind::Fascia), ("screen", PanelKind::Screen)],
    );
    if kind == Some(PanelKind::Screen) {
        let message = format!(
            "{} is a screen, and this version of throwbar plans only strips and fascias",
            table.heading
        );
        let note = Diagnostic::warning(code::TABLE_NOT_USED, table.span, message)
            .help("it may stay in the file; expect nothing from it yet");
        table.note(note);
    }
    // A strip has no use for a fascia's keys; where the kind is not known they are not held against the user.
    let has_face = matches!(kind, None | Some(PanelKind::Fascia));
    let fascia = if has_face { fascia(&mut table) } else { FasciaFacts::default() };
    let panel = Panel {
        kind: kind.unwrap_or(PanelKind::Screen),
        at: table.name("at"),
        part: table.name("part"),
        start: table.number("start", code::ADDRESS_OUT_OF_RANGE),
        controls: table.names("controls"),
        chain: table.number("chain", code::NUMBER_OUT_OF_RANGE),
        fascia,
        id,
    };
    table.close();
    if kind.is_some() {
        description.panels.push(panel);
    } else {
        description.unread.ids.insert(panel.id.value);
    }
}

fn fascia(table: &mut Table<'_, '_>) -> FasciaFacts {
    let mut size = |key| {
        let size = table.quantity(key, Length::read)?;
        if size.value.value() <= PANEL_MAX {
            return Some(size);
        }
        let message = format!("`{key}` is more than {PANEL_MAX} m, which no panel is");
        table.note(
            Diagnostic::error(code::QUANTITY_TOO_LARGE, size.span, message)
                .help(format!("write it such as \"{}\"", table.example(key))),
        );
        None
    };
    FasciaFacts {
        width: size("width"),
        height: size("height"),
        thickness: size("thickness"),
        margin: size("margin"),
        holes: size("holes"),
        room: size("room"),
        buttons: table.choice("buttons", &BUTTONS).unwrap_or_default(),
        dark: table.flag("lamps") == Some(false),
    }
}

/// The largest margin of a sheet of labels, in metres.
const MARGIN_MAX: f64 = 0.1;

pub(super) fn labels(mut table: Table<'_, '_>) -> Labels {
    for (has, lacks, what) in [("columns", "rows", "under"), ("rows", "columns", "beside")] {
        if table.has(has) && !table.has(lacks) {
            let what = format!("how many labels stand {what} one another on a sheet");
            table.missing(lacks, &what, &format!("{lacks} = 8"));
        }
    }
    let mut size = |key| {
        let size = table.quantity(key, Length::read)?;
        if size.value.value() <= MARGIN_MAX {
            return Some(size);
        }
        let message =
            format!("`{key}` is more than {:.0} mm, which no sheet of labels has", MARGIN_MAX * 1e3);
        table.note(
            Diagnostic::error(code::QUANTITY_TOO_LARGE, size.span, message)
                .help(format!("write it such as \"{}\"", table.example(key))),
        );
        None
    };
    let (margins, side_margins, gap) = (size("margins"), size("side_margins"), size("gap"));
    let labels = Labels {
        columns: table.number("columns", code::NUMBER_OUT_OF_RANGE),
        rows: table.number("rows", code::NUMBER_OUT_OF_RANGE),
        margins,
        side_margins,
        gap,
        link: table.name("link"),
    };
    table.close();
    labels
}
