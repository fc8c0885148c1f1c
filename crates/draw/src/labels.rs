//! Labels: for each decoder what it is and where the live panel shows it, for each of its terminals what hangs there, for
//! each wire between an output and a machine two flags, one for either end, and the numbers of the levers.
//!
//! They go onto sheets of labels of the user's grid, one to a label; without a grid onto plain paper, each kind in a size of
//! its own, with lines to cut along. Words too long for a label are shortened by the usual rule.

mod content;
mod sheet;

use crate::panel::{paper, um};
use crate::scene::Scene;
use crate::sheet::{LABEL_HEIGHT_MIN, LABEL_MARGINS, LABEL_WIDTH_MIN, MM, Um};
use content::Kind;
use description::Labels;
use notice::{Diagnostic, code};
use plan::model::Plan;

/// How labels stand on a sheet.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Grid {
    /// Labels beside one another.
    pub columns: u16,
    /// Labels above one another.
    pub rows: u16,
}

/// A grid on paper.
#[derive(Clone, Copy, Debug)]
struct Set {
    grid: Grid,
    margin: Um,
    side: Um,
    gap: Um,
    width: Um,
    height: Um,
}

impl Set {
    /// The grid on this paper; none when a label would be too small to read.
    fn of(grid: Grid, labels: &Labels, (width, height): (Um, Um)) -> Result<Self, (Um, Um)> {
        let margin = labels.margins.map_or(LABEL_MARGINS, |margin| um(margin.value));
        let side = labels.side_margins.map_or(margin, |margin| um(margin.value));
        let gap = labels.gap.map_or(0, |gap| um(gap.value));
        let (columns, rows) = (Um::from(grid.columns.max(1)), Um::from(grid.rows.max(1)));
        let wide = (width - 2 * side - (columns - 1) * gap) / columns;
        let high = (height - 2 * margin) / rows;
        if wide < LABEL_WIDTH_MIN || high < LABEL_HEIGHT_MIN {
            return Err((wide, high));
        }
        Ok(Self { grid, margin, side, gap, width: wide, height: high })
    }
}

/// The grid that the description gives.
fn described(plan: &Plan) -> Option<Grid> {
    let labels = &plan.network.described.labels;
    Some(Grid { columns: labels.columns?.value, rows: labels.rows?.value })
}

/// Sheets of labels: on this grid, or on that of the description, or on plain paper with the number plates first. None when
/// labels of this grid would be too small to read.
pub fn labels(plan: &Plan, grid: Option<Grid>) -> Option<Vec<Scene>> {
    let paper = paper(plan);
    let Some(grid) = grid.or_else(|| described(plan)) else {
        let mut sheets = crate::plates(plan);
        sheets.extend(sheet::on_plain_paper(plan, paper));
        return Some(sheets);
    };
    let set = Set::of(grid, &plan.network.described.labels, paper).ok()?;
    Some(sheet::on_grid(plan, paper, &set))
}

/// Labels without the number plates, packed on plain sheets of this size; only those for what is at this place where one is
/// named.
pub fn labels_at(plan: &Plan, room: (Um, Um), place: Option<&str>) -> Vec<Scene> {
    sheet::packed(plan, room, place)
}

/// What of `[labels]` cannot be had.
pub(crate) fn findings(plan: &Plan) -> Vec<Diagnostic> {
    let labels = &plan.network.described.labels;
    let mut found = Vec::new();
    if let (Some(grid), Some(columns)) = (described(plan), labels.columns)
        && let Err((wide, high)) = Set::of(grid, labels, paper(plan))
    {
        let message = format!(
            "labels of {} × {} on this paper would be {} × {} mm, too small to read",
            grid.columns,
            grid.rows,
            wide.max(0) / MM,
            high.max(0) / MM
        );
        let help = format!(
            "count the labels on your sheet again; at least {} × {} mm are needed",
            LABEL_WIDTH_MIN / MM,
            LABEL_HEIGHT_MIN / MM
        );
        found.push(Diagnostic::error(code::LABELS_TOO_SMALL, columns.span, message).help(help));
    }
    if let Some(link) = &labels.link
        && let Some(why) = unusable(&link.value)
    {
        found.push(Diagnostic::error(code::LINK_UNUSABLE, link.span, format!("`link` {why}")).help(
            "write the address that a browser opens the live panel at, such as \"http://192.168.1.20:8080\"",
        ));
    }
    found
}

/// Why no browser would open a link.
fn unusable(link: &str) -> Option<&'static str> {
    let rest = link.strip_prefix("http://").or_else(|| link.strip_prefix("https://"));
    match rest {
        None => Some("does not begin with http:// or https://"),
        Some("") => Some("names no host"),
        Some(_) if link.len() > crate::qr::LINK_MAX - 40 => Some("is too long for the code on a label"),
        Some(rest) if rest.chars().any(|c| c.is_whitespace() || c.is_control() || "\"<>#".contains(c)) => {
            Some("holds a letter that no such address holds")
        }
        Some(_) => None,
    }
}

/// The kinds of labels in the order they are printed.
const KINDS: [Kind; 3] = [Kind::Decoder, Kind::Terminal, Kind::Flag];
