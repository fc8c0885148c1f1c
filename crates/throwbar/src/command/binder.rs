//! `throwbar binder`: the binder as PDF, and its drawings and decisions beside it.

use super::changes::{Compared, compare};
use super::{Read, read_sound};
use crate::Ended;
use crate::arguments::{BinderPart, Paper};
use crate::failure::Failure;
use crate::file::{make_folder, write_whole};
use crate::print::{self, Style};
use ::binder::ChangeOrder;
use std::path::{Path, PathBuf};

/// What the user wants of the binder.
pub(crate) struct Wish {
    /// The paper.
    pub(crate) paper: Option<Paper>,
    /// The layout that is built.
    pub(crate) since: Option<PathBuf>,
    /// Which part of it, and where the live panel is.
    pub(crate) part: BinderPart,
}

pub(crate) fn run(style: Style, path: &Path, folder: &Path, wish: &Wish) -> Result<Ended, Failure> {
    let Some((read, change)) = read_changed(style, path, wish.since.as_deref())? else {
        return Ok(Ended::WithErrors);
    };
    let paper = wish.paper.map(|paper| match paper {
        Paper::Letter => ::binder::Paper::Letter,
        Paper::A4 => ::binder::Paper::A4,
    });
    let options = ::binder::Options {
        paper,
        change: change.as_ref(),
        record: read.is_built().then_some(&read.record),
        live: live_of(&wish.part)?,
        ..::binder::Options::default()
    };
    if wish.part.card || wish.part.at.is_some() || !wish.part.sheets.is_empty() {
        return run_part(style, &read, folder, &wish.part, options);
    }
    let typeset = |source| Failure::Typeset { source: Box::new(source) };
    let binder = ::binder::typeset(&read.plan, &options).map_err(typeset)?;
    let decisions = serde_json::to_vec_pretty(&answers::plan(&read.plan))
        .map_err(|error| Failure::Print { source: std::io::Error::other(error) })?;
    let mut files = vec![("binder.pdf".to_owned(), binder.pdf)];
    for (name, sheet) in super::draw::SHEETS {
        for (index, svg) in super::draw::svgs(&read.plan, sheet)?.into_iter().enumerate() {
            let name = if index == 0 { format!("{name}.svg") } else { format!("{name}-{}.svg", index + 1) };
            files.push((name, svg.into_bytes()));
        }
    }
    files.extend(panel_files(&read.plan)?);
    files.push(("plan.json".to_owned(), decisions));
    let tables = table_files(&read.plan, change.as_ref())?;
    // Everything is made before anything is written, so that a fault leaves the folder as it was.
    make_folder(folder)?;
    let mut written = Vec::new();
    for (name, bytes) in &files {
        let path = folder.join(name);
        write_whole(&path, bytes)?;
        written.push(path.display().to_string());
    }
    let beside = folder.join("tables");
    make_folder(&beside)?;
    for (name, bytes) in &tables {
        let path = beside.join(name);
        write_whole(&path, bytes)?;
        written.push(path.display().to_string());
    }
    if style.json {
        print::json(&printed_json(&written, binder.pages, &binder.sheets))?;
    } else {
        let layout = path.display();
        print::answer(&format!(
            "{} is the binder of {}, {} pages\n{} more files are beside it: {}; and tables, with every table as CSV and JSON and all \
             of them in {WORKBOOK}\n\
             Next: open {} and print it at 100 %; `throwbar serve {layout}` runs the railroad in a browser\n",
            written[0],
            read.plan.network.described.layout.name,
            binder.pages,
            files.len() - 1,
            files[1..].iter().map(|(name, _)| name.as_str()).collect::<Vec<_>>().join(", "),
            written[0],
        ))?;
    }
    Ok(Ended::Well)
}

/// Where the live panel is.
fn live_of(part: &BinderPart) -> Result<Option<::binder::Live<'_>>, Failure> {
    let Some(url) = part.panel.as_deref() else { return Ok(None) };
    match ::binder::unusable_url(url) {
        Some(why) => Err(Failure::PanelUnusable { url: url.to_owned(), why }),
        None => Ok(Some(::binder::Live { url, key: part.panel_key.as_deref() })),
    }
}

/// Some sheets, or what is needed at one place, or the card: one file.
fn run_part(
    style: Style,
    read: &Read,
    folder: &Path,
    part: &BinderPart,
    options: ::binder::Options<'_>,
) -> Result<Ended, Failure> {
    let plan = &read.plan;
    if let Some(at) = &part.at {
        let known = ::binder::places(plan);
        if !known.contains(at) {
            return Err(unknown("place", at, &known));
        }
    }
    let options = ::binder::Options { at: part.at.as_deref(), ..options };
    let titles = ::binder::sheet_titles(plan, &options);
    let wished = part.sheets.iter().map(|name| {
        let title = ::binder::sheet_called(&titles, name).map(str::to_owned);
        title.ok_or_else(|| unknown("sheet", name.trim(), &titles))
    });
    let wished = wished.collect::<Result<Vec<String>, Failure>>()?;
    let sheets = (!wished.is_empty()).then_some(wished.as_slice());
    let options = ::binder::Options { sheets, ..options };
    let made = if part.card { ::binder::card(plan, &options) } else { ::binder::typeset(plan, &options) };
    let binder = made.map_err(|source| Failure::Typeset { source: Box::new(source) })?;
    let name = match (&part.at, part.card) {
        (_, true) => "card.pdf".to_owned(),
        (Some(at), false) => format!("at-{}.pdf", file_words(at)),
        (None, false) => "sheets.pdf".to_owned(),
    };
    make_folder(folder)?;
    let path = folder.join(name);
    write_whole(&path, &binder.pdf)?;
    let written = path.display().to_string();
    if style.json {
        print::json(&printed_json(&[written], binder.pages, &binder.sheets))?;
    } else {
        let next = if part.card {
            "print it on both sides, turned over the short edge, at 100 %, and fold it in the middle"
        } else {
            "print it at 100 %"
        };
        let pages = if binder.pages == 1 { "page" } else { "pages" };
        // A sheet in several parts is named once.
        let mut titles: Vec<&str> = binder.sheets.iter().map(|sheet| whole_title(&sheet.title)).collect();
        titles.dedup();
        let what = if part.card { "the operator's card".to_owned() } else { titles.join(", ") };
        print::answer(&format!("{written}: {} {pages}: {what}\nNext: {next}\n", binder.pages))?;
    }
    Ok(Ended::Well)
}

/// The title of the sheet that `Labels, 2 of 5` or `Diode matrix, sheet 2 of 6` is a part of.
fn whole_title(title: &str) -> &str {
    let counts = |tail: &str| {
        let mut words = tail.rsplit(' ');
        let [last, of, which] = [(); 3].map(|()| words.next().unwrap_or_default());
        of == "of" && [last, which].iter().all(|number| number.parse::<usize>().is_ok())
    };
    title.rsplit_once(", ").filter(|(_, tail)| counts(tail)).map_or(title, |(whole, _)| whole)
}

/// A name that is not among those known, with the nearest of them and all of them.
fn unknown(what: &'static str, name: &str, known: &[String]) -> Failure {
    let near = notice::nearest(name, known.iter().map(String::as_str));
    let near = near.map_or_else(String::new, |near| format!("; did you mean `{near}`?"));
    let hint = match known {
        [] => near,
        known => format!("{near}{} it has: {}", if near.is_empty() { ";" } else { "" }, known.join(", ")),
    };
    Failure::NameUnknown { what, name: name.to_owned(), hint }
}

/// A name as part of a file's name: letters and figures, everything else a hyphen.
fn file_words(name: &str) -> String {
    let letters: String =
        name.chars().map(|letter| if letter.is_alphanumeric() { letter } else { '-' }).collect();
    let words: Vec<&str> = letters.split('-').filter(|word| !word.is_empty()).collect();
    if words.is_empty() { "place".to_owned() } else { words.join("-").chars().take(60).collect() }
}

/// What was written, as JSON.
fn printed_json(written: &[String], pages: usize, sheets: &[::binder::Sheet]) -> serde_json::Value {
    let sheets = sheets.iter().map(|sheet| serde_json::json!({ "title": sheet.title, "page": sheet.page }));
    serde_json::json!({
        "schema": answers::SCHEMA,
        "written": written,
        "pages": pages,
        "sheets": sheets.collect::<Vec<_>>(),
    })
}

/// The layout, and what leads to it from what is built, where that is asked for or the record tells of something else. None
/// when there are errors: they have been printed.
fn read_changed(
    style: Style,
    path: &Path,
    since: Option<&Path>,
) -> Result<Option<(Read, Option<ChangeOrder>)>, Failure> {
    if let Some(old) = since {
        let compared = compare(style, old, path)?;
        return Ok(compared.map(|Compared { new_read, order, sheets, since }| {
            (new_read, Some(ChangeOrder { order, since, sheets: Some(sheets) }))
        }));
    }
    let Some(read) = read_sound(style, path)? else { return Ok(None) };
    if !read.is_built() {
        return Ok(Some((read, None)));
    }
    let next = ::plan::record_of(&read.plan, &read.record);
    let order = ::plan::change::work_since(&read.record, &read.plan, &next);
    let since = "what the as-built record says".to_owned();
    let change = (order.count() > 0).then_some(ChangeOrder { order, since, sheets: None });
    Ok(Some((read, change)))
}

/// The workbook that holds all tables.
const WORKBOOK: &str = "all-tables.xlsx";

/// Every table as CSV and as JSON, and all of them in one workbook.
fn table_files(
    plan: &::plan::model::Plan,
    change: Option<&ChangeOrder>,
) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let mut tables = ::tables::all(plan);
    if let Some(change) = change {
        let name = &plan.network.described.layout.name;
        tables.push(::tables::change_order(&answers::changes(name, &change.order, Vec::new())));
    }
    let mut files = Vec::new();
    for table in &tables {
        files.push((format!("{}.csv", table.name), ::tables::csv::write(table).into_bytes()));
        let json = serde_json::to_vec_pretty(&::tables::json::write(table))
            .map_err(|error| Failure::Print { source: std::io::Error::other(error) })?;
        files.push((format!("{}.json", table.name), json));
    }
    let book = ::tables::xlsx::write(&plan.network.described.layout.name, &tables)
        .map_err(|source| Failure::Draw { path: WORKBOOK.into(), source: source.into() })?;
    files.push((WORKBOOK.to_owned(), book));
    Ok(files)
}

/// For each fascia its face, its template at 1:1 and what a saw follows; for each strip its face. Names are numbered by the order
/// of the panels, since a panel's name need not do for a file's.
fn panel_files(plan: &::plan::model::Plan) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let failed = |name: &str, source: Box<dyn std::error::Error>| Failure::Draw { path: name.into(), source };
    let strips = plan.strips.iter().map(|strip| strip.panel.as_str());
    let fascias = plan.fascias.iter().map(|fascia| fascia.panel.as_str());
    let mut files = Vec::new();
    for (index, panel) in strips.chain(fascias).enumerate() {
        let number = index + 1;
        if let Some(face) = ::draw::panel_face(plan, panel) {
            files.push((format!("panel-{number}.svg"), ::draw::svg::write(&face).into_bytes()));
        }
        if let Some(sheets) = ::draw::template(plan, panel) {
            let name = format!("panel-{number}-template.pdf");
            let pdf = ::binder::pages(&sheets).map_err(|error| failed(&name, error.into()))?;
            files.push((name, pdf));
        }
        if let Some(outline) = ::draw::panel_cut(plan, panel) {
            let name = format!("panel-{number}-cut.dxf");
            let dxf = ::draw::dxf::write(&outline).map_err(|error| failed(&name, error.into()))?;
            files.push((name, dxf));
        }
    }
    Ok(files)
}
