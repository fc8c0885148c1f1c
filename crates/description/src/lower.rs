//! From the spanned tree to [`Description`]: every table of the contract, read by hand.
//!
//! One pass, in the order of the contract's tables. A table that is not wholly readable still gives what it can: the
//! tracks it names are remembered, so that one slip does not set off complaints about every track it joins.

mod accessory;
mod bench;
mod bus;
mod drawing;
mod harness;
mod joint;
mod likelihood;
mod link;
mod panel;
mod part;
mod system;
pub(crate) mod table;
mod track;
mod work;

use crate::accessory::AccessoryKind;
use crate::keys::{TABLES, TableKeys};
use crate::model::Description;
use crate::text::{Spelled, is_guess, parse, spell};
use notice::{Confidence, Diagnostic, Outcome, Span, Spanned, code, natural, suggest};
use table::{Entries, Notes, Table, in_text_order, kind_of};
use toml::de::{DeTable, DeValue};

/// The most tables of a kind that are read: far more than a railroad has, few enough to plan in a moment.
const TABLES_MAX: usize = 20_000;

/// The most panels that are read.
const PANELS_MAX: usize = 500;

/// The most buses that are read.
const BUSES_MAX: usize = 100;

/// The most links that are read.
const LINKS_MAX: usize = 20;

/// The most lines that are read.
const LINES_MAX: usize = 2_000;

/// The most named routes that are read.
const ROUTES_MAX: usize = 200;

/// Reads a layout description, with every mistake in it.
///
/// # Example
/// ```
/// let read = description::read("[layout]\nname = \"Tern Harbor Terminal\"\n");
/// assert_eq!(read.value.layout.name, "Tern Harbor Terminal");
/// assert!(read.diagnostics.is_empty());
/// ```
pub fn read(text: &str) -> Outcome<Description> {
    let Spelled { text: source, mut notes, guessed } = spell(text);
    let broken = !notes.is_empty();
    let mut found = Notes::default();
    let mut description = lower(&parse(&source), text, &mut found);
    description.unread.text = broken;
    // In a broken text, what is missing may stand in a broken row, and what has no place was made up by the parser.
    let made_up = |note: &Diagnostic| {
        note.span.start == note.span.end || [code::KEY_MISSING, code::LAYOUT_MISSING].contains(&note.code)
    };
    let unreal = |note: &Diagnostic| is_guess(&guessed, note.span) || broken && made_up(note);
    notes.extend(found.list.into_iter().filter(|note| !unreal(note)));
    Outcome::new(description, notes)
}

fn lower(tree: &DeTable<'_>, text: &str, notes: &mut Notes) -> Description {
    let mut description = Description { parts: part::library(), ..Description::default() };
    unknown_tables(tree, notes);
    match tree.iter().find(|(key, _)| key.get_ref() == "layout") {
        None => notes.push(layout_missing(text)),
        Some((key, value)) => {
            if let Some(table) =
                Table::open("[layout]".into(), key.span().into(), value, keys("layout"), notes)
            {
                description.layout = system::layout(table);
            }
        }
    }
    for name in ["turnout", "wye", "threeway", "crossover", "scissors", "slip", "crossing", "turntable"] {
        each(tree, name, notes, |id, table| joint::read(name, id, table, &mut description));
    }
    each(tree, "end", notes, |id, table| track::end(id, table, &mut description));
    each(tree, "track", notes, |id, table| track::facts(id, table, &mut description));
    each(tree, "line", notes, |id, table| track::line(id, table, &mut description));
    each(tree, "route", notes, |id, table| track::route(id, table, &mut description));
    each(tree, "lever", notes, |id, table| track::lever(id, table, &mut description));
    each(tree, "place", notes, |id, table| bench::place(id, table, &mut description));
    let generic_count = description.parts.len();
    each(tree, "part", notes, |id, table| part::read(id, table, &mut description));
    // The first part that fits is taken, and the order of tables means nothing: the user's own by their names.
    let mut own = description.parts.split_off(generic_count);
    own.sort_by(|a, _, b, _| natural(a, b));
    description.parts.extend(own);
    each(tree, "panel", notes, |id, table| panel::panel(id, table, &mut description));
    each(tree, "bus", notes, |id, table| bus::bus(id, table, &mut description));
    each(tree, "link", notes, |id, table| link::link(id, table, &mut description));
    for kind in [AccessoryKind::Signal, AccessoryKind::Light] {
        each(tree, kind.word(), notes, |id, table| {
            accessory::accessory(kind, id, table, &mut description);
        });
    }
    one(tree, "numbering", notes, |table| description.numbering = system::numbering(table));
    one(tree, "bench", notes, |table| description.bench = Some(bench::bench(table)));
    one(tree, "defaults", notes, |table| description.defaults = part::defaults(table));
    one(tree, "drawing", notes, |table| description.drawing = drawing::drawing(table));
    one(tree, "labels", notes, |table| description.labels = panel::labels(table));
    one(tree, "colours", notes, |table| description.colours = harness::colours(table));
    one(tree, "conductors", notes, |table| description.conductors = harness::conductors(table));
    one(tree, "work", notes, |table| description.work = work::work(table));
    one(tree, "likelihood", notes, |table| description.likelihood = likelihood::likelihood(table));
    one(tree, "system", notes, |table| description.system = system::system(table));
    description
}

/// The layout has no name; shown at the first row that has anything on it.
fn layout_missing(text: &str) -> Diagnostic {
    let start = text.len() - text.trim_start().len();
    let row = text[start..].lines().next().unwrap_or_default().trim_end();
    let says = if row.is_empty() { "the file is empty" } else { "the file has no [layout] table" };
    Diagnostic::error(code::LAYOUT_MISSING, Span::new(start, start + row.len()), says)
        .help("begin the file with\n[layout]\nname = \"the name of your layout\"")
}

fn unknown_tables(tree: &DeTable<'_>, notes: &mut Notes) {
    for (key, value) in in_text_order(tree) {
        let name: &str = key.get_ref();
        let span = key.span().into();
        if TableKeys::find(name).is_none() {
            let what = if value.get_ref().is_table() { "table" } else { "key" };
            let note =
                Diagnostic::error(code::KEY_UNKNOWN, span, format!("there is no {what} called `{name}`"));
            notes.push(match suggest(notes.list.len(), name, TABLES.iter().map(|table| table.name)) {
                Some(near) => note.help(format!("did you mean `{near}`?")).replace(near, Confidence::Ask),
                None => note.help(format!(
                    "the tables are {}",
                    TABLES[..24].iter().map(|table| table.name).collect::<Vec<_>>().join(", ")
                )),
            });
        }
    }
}

/// Reads every `[name.id]` in the order of the text.
fn each(
    tree: &Entries<'_>,
    name: &str,
    notes: &mut Notes,
    mut read: impl FnMut(crate::model::Name, Table<'_, '_>),
) {
    let Some((_, value)) = tree.iter().find(|(key, _)| key.get_ref() == name) else { return };
    let DeValue::Table(ids) = value.get_ref() else {
        let message = format!("`{name}` is {}, not a table of its own", kind_of(value.get_ref()));
        notes.push(
            Diagnostic::error(code::VALUE_WRONG_KIND, value.span().into(), message)
                .help(format!("write [{name}.ID] with an id of your own, and its keys below")),
        );
        return;
    };
    let most = match name {
        "panel" => PANELS_MAX,
        "bus" => BUSES_MAX,
        "link" => LINKS_MAX,
        "line" => LINES_MAX,
        "route" => ROUTES_MAX,
        _ => TABLES_MAX,
    };
    for (count, (key, value)) in in_text_order(ids).into_iter().enumerate() {
        let id: &str = key.get_ref();
        let span: Span = key.span().into();
        if count == most {
            let message = format!("there are {} tables [{name}.*], of which {most} are read", ids.len());
            notes.push(
                Diagnostic::error(code::TOO_MANY_TO_READ, span, message)
                    .help("check that this is the file you meant; describe a railroad this large in parts"),
            );
            break;
        }
        if id.trim().is_empty() {
            notes.push(
                Diagnostic::error(code::NAME_EMPTY, span, format!("this {name} has an empty id"))
                    .help(format!("give it a name: [{name}.\"1\"]")),
            );
            continue;
        }
        if let Some(table) =
            Table::open(format!("[{name}.{}]", quoted_if_needed(id)), span, value, keys(name), notes)
        {
            read(Spanned::new(id.to_owned(), span), table);
        }
    }
}

/// What a table can hold.
fn keys(name: &str) -> Option<&'static TableKeys> {
    TableKeys::find(name)
}

fn one(tree: &Entries<'_>, name: &str, notes: &mut Notes, read: impl FnOnce(Table<'_, '_>)) {
    if let Some((key, value)) = tree.iter().find(|(key, _)| key.get_ref() == name)
        && let Some(table) = Table::open(format!("[{name}]"), key.span().into(), value, keys(name), notes)
    {
        read(table);
    }
}

/// An id as it has to be written in a heading.
fn quoted_if_needed(id: &str) -> String {
    let bare = !id.is_empty() && id.chars().all(|c| c.is_ascii_alphanumeric() || c == '-' || c == '_');
    if bare { id.to_owned() } else { format!("\"{id}\"") }
}
