//! The binder: everything a plan decided, typeset as one PDF that a builder can print, punch and work from.
//!
//! [`typeset()`] turns a finished [`plan::model::Plan`] into pages. The way is: the plan becomes a tree of plain values
//! (`book`), the templates in `sheets/*.typ` set that tree in type, and the pages are written as tagged PDF. User's
//! words only ever travel as values, never as template text, so no name can change a sheet.
//!
//! [`pages()`] sets drawings alone, each on a page of its own size.
//!
//! Nothing is decided here, and nothing is read: the fonts and the templates are part of the program, and the date on
//! the sheets is the one in the description, or a blank to fill in. The same plan gives the same bytes.

mod boards;
mod book;
mod card;
mod change;
mod codes;
mod commissioning;
mod cover;
mod decoders;
mod diagram;
mod diodes;
mod drawings;
mod gaps;
mod glossary;
mod harness;
mod history;
mod index;
mod ledger;
mod letters;
mod levers;
mod locking;
mod narrow;
mod panels;
mod paper;
mod parts;
mod power;
mod reasons;
mod reprint;
mod room;
mod routes;
mod runs;
mod scenes;
mod sheets;
mod strips;
mod tracks;
mod typeset;
mod world;

pub use change::{ChangeOrder, WORK_PRINTED_MAX};
pub use codes::{Live, PANEL_URL_MAX, unusable_url};
pub use commissioning::{STEPS_PRINTED_MAX, SYMPTOMS_PRINTED_MAX};
pub use diodes::WIRES_PRINTED_MAX;
pub use harness::HARNESS_PRINTED_MAX;
pub use locking::LOCKED_ROUTES_PRINTED_MAX;
pub use paper::Paper;
pub use reprint::{is_known_sheet, to_reprint};
pub use routes::ROUTES_PRINTED_MAX;
pub use scenes::pages;
pub use sheets::{places, sheet_called, sheet_titles};
pub use typeset::{Access, Binder, Error, Options, Sheet, card, typeset};
