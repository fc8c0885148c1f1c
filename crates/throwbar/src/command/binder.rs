//! `throwbar binder`: the binder as PDF, and its drawings and decisions beside it.

use super::read_sound;
use crate::Ended;
use crate::arguments::Paper;
use crate::failure::Failure;
use crate::file::{make_folder, write_whole};
use crate::print::{self, Style};
use std::path::Path;

pub(crate) fn run(style: Style, path: &Path, folder: &Path, paper: Option<Paper>) -> Result<Ended, Failure> {
    let Some(read) = read_sound(style, path)? else { return Ok(Ended::WithErrors) };
    let paper = paper.map(|paper| match paper {
        Paper::Letter => ::binder::Paper::Letter,
        Paper::A4 => ::binder::Paper::A4,
    });
    let binder = ::binder::typeset(&read.plan, &::binder::Options { paper })
        .map_err(|source| Failure::Typeset { source: Box::new(source) })?;
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
    let tables = table_files(&read.plan)?;
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
        let sheets: Vec<_> = binder
            .sheets
            .iter()
            .map(|sheet| serde_json::json!({ "title": sheet.title, "page": sheet.page }))
            .collect();
        print::json(&serde_json::json!({
            "schema": answers::SCHEMA,
            "written": written,
            "pages": binder.pages,
            "sheets": sheets,
        }))?;
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

/// The workbook that holds all tables.
const WORKBOOK: &str = "all-tables.xlsx";

/// Every table as CSV and as JSON, and all of them in one workbook.
fn table_files(plan: &::plan::model::Plan) -> Result<Vec<(String, Vec<u8>)>, Failure> {
    let tables = ::tables::all(plan);
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
