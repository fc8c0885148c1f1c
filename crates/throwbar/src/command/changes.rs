//! `throwbar changes`: the work order between two layouts.
//!
//! What is built is the old layout as its record has it; without a record, as it is planned. The new one is planned beside
//! its own record where it has one, else beside the old one's, so that nothing moves that need not.

use super::{Read, read, read_beside, read_sound, sound};
use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use ::plan::change::{Action, WorkOrder, work_order};
use description::record::Record;
use notice::File;
use std::fmt::Write as _;
use std::path::Path;

pub(crate) fn run(style: Style, old: &Path, new: &Path) -> Result<Ended, Failure> {
    let Some(Compared { new_read, order, sheets, .. }) = compare(style, old, new)? else {
        return Ok(Ended::WithErrors);
    };
    let answer = answers::changes(&new_read.plan.network.described.layout.name, &order, sheets);
    if style.json {
        print::json(&answer)?;
    } else {
        print::answer(&words(print::width(), &order, &answer))?;
    }
    Ok(Ended::Well)
}

/// Two layouts held against each other.
pub(super) struct Compared {
    /// The new layout.
    pub(super) new_read: Read,
    /// What leads from the old one to it.
    pub(super) order: WorkOrder,
    /// The titles of the sheets to print again.
    pub(super) sheets: Vec<String>,
    /// What the old layout is called, and its revision.
    pub(super) since: String,
}

/// Holds two layouts against each other. None when one has errors: they have been printed.
pub(super) fn compare(style: Style, old: &Path, new: &Path) -> Result<Option<Compared>, Failure> {
    let Some(old_read) = read_sound(style, old)? else { return Ok(None) };
    let built = ::plan::record_of(&old_read.plan, &old_read.record);
    let Some(new_read) = sound(style, planned_new(new, &built)?)? else { return Ok(None) };
    let before = if new_read.is_built() { &new_read.record } else { &built };
    let next = ::plan::record_of(&new_read.plan, before);
    let order = work_order(&old_read.plan, &built, &new_read.plan, &next);
    // Beside its own record the old plan has the reasons of something built, as the new one has.
    let old_kept = read_beside(old, &built)?;
    let sheets = ::binder::to_reprint(&old_kept.plan, &new_read.plan);
    let layout = &old_read.plan.network.described.layout;
    let revision = layout.revision.as_ref().map_or_else(String::new, |text| format!(", revision {text}"));
    let since = format!("{}{revision} as it is built", layout.name);
    Ok(Some(Compared { new_read, order, sheets, since }))
}

/// The new layout, beside its own record or else beside what is built.
fn planned_new(path: &Path, built: &Record) -> Result<Read, Failure> {
    let alone = read(path)?;
    if alone.is_built() {
        return Ok(alone);
    }
    // It may well have another name by now.
    let built = Record { layout: None, ..built.clone() };
    let mut beside = read_beside(path, &built)?;
    // What differs from the old record is what the work order says.
    beside.diagnostics.retain(|note| {
        note.span.file == File::Layout && note.related.iter().all(|related| related.span.file == File::Layout)
    });
    Ok(beside)
}

/// The work order in words: place by place, what stays in one sentence at the end.
fn words(width: usize, order: &WorkOrder, answer: &answers::ChangesAnswer) -> String {
    let mut printed = format!("{}\n\n", answer.layout);
    let rows: Vec<Vec<String>> = order
        .items
        .iter()
        .filter(|item| item.value.action != Action::Keep)
        .enumerate()
        .map(|(index, item)| {
            let item = &item.value;
            let change = match (&item.was, &item.now) {
                (Some(was), Some(now)) => format!("{was} → {now}"),
                (Some(only), None) | (None, Some(only)) => only.clone(),
                (None, None) => String::new(),
            };
            vec![
                (index + 1).to_string(),
                item.at.clone().unwrap_or_default(),
                item.action.word().to_owned(),
                format!("{} {}", item.thing.word(), item.name),
                format!("{:.0}", (f64::from(item.seconds) / 60.0).ceil()),
                change,
            ]
        })
        .collect();
    if rows.is_empty() {
        printed.push_str("nothing is to be changed\n");
    } else {
        printed.push_str(&print::table(width, &["step", "at", "do", "what", "min", "from → to"], &rows));
        let minutes = answer.minutes.ceil();
        let _ = writeln!(printed, "\n{} pieces of work, about {} min", answer.count, minutes);
    }
    let _ = writeln!(printed, "{} things stay as they are", answer.keep.len());
    if !answer.sheets.is_empty() {
        let titles: Vec<&str> = answer.sheets.iter().map(|sheet| sheet.sheet.as_str()).collect();
        let _ = writeln!(printed, "print again: {}", titles.join("; "));
    }
    printed
}
