//! throwbar: from one plain-text description of a layout to everything about its turnout controls.
//!
//! This is the edge: arguments, files, the terminal and the exit status. 0: done, nothing wrong. 1: done, the layout
//! has errors. 2: the command could not do its work.
#![allow(
    clippy::disallowed_methods,
    reason = "the program is the edge: files and environment are its business"
)]

mod arguments;
mod command;
mod failure;
mod file;
mod print;

use arguments::{Arguments, Command};
use clap::Parser;
use failure::Failure;
use print::Style;
use std::process::ExitCode;

/// How a command that did its work ended.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Ended {
    /// Nothing is wrong.
    Well,
    /// The layout has errors, or the packet is no good.
    WithErrors,
    /// Some of what was asked for could not be answered; each answer said so.
    Unusable,
}

fn main() -> ExitCode {
    let arguments = Arguments::parse();
    let style = Style::new(arguments.json, arguments.color);
    match run(style, arguments.command) {
        Ok(Ended::Well) => ExitCode::SUCCESS,
        Ok(Ended::WithErrors) => ExitCode::from(1),
        Ok(Ended::Unusable) => ExitCode::from(2),
        Err(failure) => {
            let words = chain(&failure);
            print::say(&format!("throwbar: {words}"));
            if style.json {
                // The answer cannot be printed if this fails too; the exit status still says so.
                let _ = print::json(&serde_json::json!({ "schema": answers::SCHEMA, "failure": words }));
            }
            ExitCode::from(2)
        }
    }
}

fn run(style: Style, command: Command) -> Result<Ended, Failure> {
    match command {
        Command::New { folder } => command::new::run(style, &folder),
        Command::Check(layout) => command::check::run(style, &layout.path),
        Command::Plan { layout, keep, findings } => {
            command::plan::run(style, &layout.path, keep, findings.as_deref())
        }
        Command::Show { what, layout, narrowed, flank, spice, symptoms } => {
            let wish = command::show::Wish { narrowed, flank, spice, symptoms };
            command::show::run(style, what, &layout.path, &wish)
        }
        Command::Changes { old, new } => command::changes::run(style, &old, &new),
        Command::Packet { batch, what } => command::packet::run(style, batch, what.as_ref()),
        Command::Capture(capture) => command::capture::run(style, &capture),
        Command::Explain { code } => command::explain::run(style, code.as_deref()),
        Command::Completions { shell } => command::manual::completions(shell),
        Command::Manual => command::manual::manual(),
        Command::Serve { layout, port, listen, journal, address, keep_days, tls } => {
            let wish = command::serve::Wish {
                listen: (listen, port).into(),
                journal,
                address,
                keep_days,
                tls: tls.wish(),
            };
            command::serve::run(style, &layout.path, wish)
        }
        Command::Draw { layout, output, sheet, from, dpi, grid } => {
            let wish = command::draw::Wish { sheet, from, dpi, grid };
            command::draw::run(style, &layout.path, &output, &wish)
        }
        Command::Binder { layout, output, paper, since, part } => {
            let wish = command::binder::Wish { paper, since, part };
            command::binder::run(style, &layout.path, &output, &wish)
        }
    }
}

/// A failure and what caused it, in one sentence.
pub(crate) fn chain(failure: &Failure) -> String {
    let mut words = failure.to_string();
    let mut source = std::error::Error::source(failure);
    while let Some(error) = source {
        words = format!("{words}: {error}");
        source = error.source();
    }
    words
}
