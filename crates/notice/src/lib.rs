//! What the tool has to say, as data: places in the user's text, diagnostics with their codes, decisions with their
//! reasons. How any of it is laid out on a terminal, a sheet or in JSON is left to the edges.
//!
//! Two kinds of saying live here. A [`Diagnostic`] is about something wrong (or doubtful) in the user's layout; it
//! carries a [`Code`] that never changes, the place, and what to write instead. A [`Because`] is about something the
//! tool decided; it carries the rule that spoke and the facts it saw. [`Decided`] binds a value to its reasons so
//! that no decision travels without one.

mod because;
mod codes;
mod diagnostic;
mod nearest;
mod span;

pub use because::{Because, Decided, Fact, Rule};
pub use codes::{Code, code};
pub use diagnostic::{Confidence, Diagnostic, Edit, FINDINGS_MAX, Fix, Outcome, Related, Severity};
pub use nearest::{natural, nearest, quoted, suggest};
pub use span::{File, Span, Spanned};
