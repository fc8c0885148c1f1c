//! The binder as a reader meets it: each test reads back the PDF with poppler's tools, which share no code with the
//! typesetter that made it.
#![allow(clippy::disallowed_methods, reason = "these tests run programs and hand them files")]
#![allow(clippy::unwrap_used, clippy::panic, reason = "what helps a test fails by panicking, as a test does")]

/// The same plan gives the same bytes, in one process and in another.
mod bytes;
/// The operator's card: how it folds, and what is on it.
mod card;
/// The change order: every piece of work, and what it comes to.
mod change;
/// Codes for a camera, read back from the page.
mod codes;
/// Commissioning and the fault sheets.
mod commissioning;
/// The diode matrix: every wire with its diodes.
mod diodes;
/// Title, language, tags, bookmarks, page numbers, paper.
mod file;
/// Layouts to bind.
mod fixture;
/// The gap plan: every gap and every section.
mod gaps;
/// How to use it, the glossary, the history.
mod guide;
/// Names that look like markup, names too long for any column, layouts too big for a club.
mod hostile;
/// Labels and number plates.
mod labels;
/// The locking table: every route with its levers and everything it excludes.
mod locking;
/// Some sheets, or one place.
mod part;
/// Poppler's programs, and what they say about a file.
mod poppler;
/// Which sheets are to be printed again after a change.
mod reprint;
/// What is on each sheet: every number, name, address and stop, on the page where the index says it is.
mod sheets;
/// What is printed at true size measures what it should.
mod true_size;
