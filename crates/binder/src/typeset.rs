//! From a plan to a PDF: the one way in.
//!
//! The book is set once. The pages are written as PDF/UA-1 (ISO 14289-1, a file that a screen reader can read out). If
//! a drawing holds a letter that the fonts lack, that standard refuses the file; then the same pages are written as
//! ordinary tagged PDF, and [`Binder::access`] says so. Any other complaint of the typesetter is a fault of this
//! program and becomes an [`Error`].

use std::num::NonZeroUsize;

use description::record::Record;
use plan::model::Plan;
use typst::diag::{SourceDiagnostic, SourceResult, Warned};
use typst::foundations::{Dict, NativeElement, Smart, StyleChain};
use typst::introspection::Introspector;
use typst::model::HeadingElem;
use typst::{World, WorldExt};
use typst_layout::PagedDocument;
use typst_pdf::{PdfOptions, PdfStandard, PdfStandards};

use crate::book;
use crate::change::ChangeOrder;
use crate::codes::Live;
use crate::paper::Paper;
use crate::world::{self, BookWorld};

/// The longest side of a page.
///
/// # Source
/// ISO 32000-1:2008, annex C.2: at most 14,400 units of 1/72 in, which is 5,080 mm.
pub(crate) const PAGE_MAX_MM: i64 = 5_080;

/// What the user may choose about the binder.
#[derive(Clone, Copy, Debug, Default)]
pub struct Options<'a> {
    /// The paper; none: the one that goes with the layout's units.
    pub paper: Option<Paper>,
    /// What leads from what is built to the plan; none: the binder says nothing of it.
    pub change: Option<&'a ChangeOrder>,
    /// What is built; none: the binder tells no history.
    pub record: Option<&'a Record>,
    /// The titles of the sheets to print, as [`crate::sheet_titles`] gives them; none: all.
    pub sheets: Option<&'a [String]>,
    /// The place of which alone the binder is to speak; none: of all.
    pub at: Option<&'a str>,
    /// Where the live panel is; none: no sheet has a code for a camera.
    pub live: Option<Live<'a>>,
}

/// A typeset binder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Binder {
    /// The file.
    pub pdf: Vec<u8>,
    /// How many pages it has.
    pub pages: usize,
    /// The sheets in order: each title and the page it starts on.
    pub sheets: Vec<Sheet>,
    /// How well a screen reader can read it.
    pub access: Access,
}

/// One sheet of the binder.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Sheet {
    /// Its title.
    pub title: String,
    /// Its first page, counted from 1.
    pub page: usize,
}

/// How well a screen reader can read the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Access {
    /// It meets PDF/UA-1.
    Universal,
    /// It is tagged, but a drawing holds letters that the fonts lack.
    Tagged,
}

/// The binder, or drawings as PDF, could not be made.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// A template could not be set. Always a fault of this program, never of the layout.
    #[error("the binder could not be typeset, which is a fault in this program and not in the layout: {0}")]
    Typeset(String),
    /// A drawing is larger than a page can be.
    #[error(
        "the drawing is {width_mm} by {height_mm} mm, and a page of a PDF is at most {PAGE_MAX_MM} mm long; \
         other kinds of files have no such limit"
    )]
    PageTooLarge {
        /// Its width.
        width_mm: i64,
        /// Its height.
        height_mm: i64,
    },
    /// The pages could not be written. Always a fault of this program, never of the layout.
    #[error(
        "the binder's pages could not be written, which is a fault in this program and not in the layout: {0}"
    )]
    Write(String),
}

/// Sets every sheet of a plan in type.
///
/// # Errors
/// The typesetter refuses a template or a drawing, or the pages cannot be written as PDF.
pub fn typeset(plan: &Plan, options: &Options<'_>) -> Result<Binder, Error> {
    set_whole(world::BINDER, plan, book::values(plan, options))
}

/// Sets the operator's card: one sheet, printed on both sides and folded in the middle.
///
/// # Errors
/// As [`typeset`].
pub fn card(plan: &Plan, options: &Options<'_>) -> Result<Binder, Error> {
    set_whole(world::CARD, plan, crate::card::values(plan, options))
}

fn set_whole(template: &str, plan: &Plan, values: Dict) -> Result<Binder, Error> {
    // The typesetter remembers what it set for the next time: a program that sets many books must not keep them all, and one
    // that sets a single book need not tidy up behind it.
    typst::comemo::evict(0);
    let (document, (pdf, access)) = set(template, values, &plan.network.described.layout.name)?;
    let sheets = sheets_of(&document);
    let pages = document.pages().len();
    Ok(Binder { pdf, pages, sheets, access })
}

/// Sets a template with these values and writes its pages.
pub(crate) fn set(
    template: &str,
    values: Dict,
    name: &str,
) -> Result<(PagedDocument, (Vec<u8>, Access)), Error> {
    let world = BookWorld::new(template, values).map_err(|error| Error::Typeset(error.to_string()))?;
    let Warned { output, .. } = typst::compile::<PagedDocument>(&world);
    let document = output.map_err(|faults| Error::Typeset(in_words(&world, &faults)))?;
    let written = write(&document, name).map_err(|faults| Error::Write(in_words(&world, &faults)))?;
    Ok((document, written))
}

fn write(document: &PagedDocument, layout: &str) -> SourceResult<(Vec<u8>, Access)> {
    let options = |standards| PdfOptions {
        ident: Smart::Custom(format!("throwbar binder {layout}")),
        creator: Smart::Custom(Some("throwbar".into())),
        standards,
        ..PdfOptions::default()
    };
    if let Ok(universal) = PdfStandards::new(&[PdfStandard::Ua_1])
        && let Ok(pdf) = typst_pdf::pdf(document, &options(universal))
    {
        return Ok((pdf, Access::Universal));
    }
    typst_pdf::pdf(document, &options(PdfStandards::default())).map(|pdf| (pdf, Access::Tagged))
}

/// The typesetter's complaints in one sentence, each with the template and row it comes from.
fn in_words(world: &BookWorld, faults: &[SourceDiagnostic]) -> String {
    let places = faults.iter().map(|fault| {
        let place = fault.span.id().zip(world.range(fault.span)).and_then(|(id, range)| {
            let source = world.source(id).ok()?;
            let row = source.text().get(..range.start)?.matches('\n').count() + 1;
            Some(format!(" ({} row {row})", id.get().vpath().get_without_slash()))
        });
        format!("{}{}", fault.message, place.unwrap_or_default())
    });
    places.collect::<Vec<_>>().join("; ")
}

/// The titles that open a sheet, with their pages.
fn sheets_of(document: &PagedDocument) -> Vec<Sheet> {
    let introspector = document.introspector();
    let headings = introspector.query(&HeadingElem::ELEM.select());
    let sheets = headings.iter().filter_map(|heading| {
        let page = introspector.page(heading.location()?)?.get();
        let heading = heading.to_packed::<HeadingElem>()?;
        (heading.resolve_level(StyleChain::default()) == NonZeroUsize::MIN)
            .then(|| Sheet { title: heading.body.plain_text().into(), page })
    });
    sheets.collect()
}
