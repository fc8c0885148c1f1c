//! `throwbar check`.

use super::read;
use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use std::fmt::Write as _;
use std::io::IsTerminal;
use std::path::Path;

pub(crate) fn run(style: Style, path: &Path) -> Result<Ended, Failure> {
    let mut read = read(path)?;
    if !read.has_errors() {
        read.diagnostics.extend(::draw::unheld_nudges(&read.plan));
    }
    if style.json {
        print::json(&answers::check(read.texts(), &read.diagnostics))?;
    } else {
        let terminal = std::io::stdout().is_terminal();
        let mut printed = print::diagnostics(style, terminal, read.texts(), &read.diagnostics);
        if !read.has_errors() {
            let plan = &read.plan;
            let (tracks, levers) = (plan.network.tracks.len(), plan.levers.len());
            let _ = write!(printed, ": {tracks} tracks, {levers} levers, {} routes", plan.routes.len());
        }
        print::answer(&(printed + "\n"))?;
    }
    Ok(if read.has_errors() { Ended::WithErrors } else { Ended::Well })
}
