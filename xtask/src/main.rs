//! Chores, in Rust. `cargo xtask ci` is the whole check: it sets the machine up, then runs format, lints, tests, docs and
//! a little of the fuzzer.
//!
//! `setup` installs what the tests use besides Rust; `ci` runs everything; `tidy` runs the house rules that no compiler
//! knows; `shared` checks against data that may not be copied here; `fuzz` tries made-up input on the readers
//! of packets and captures; `handbook` builds the handbook into `target/handbook`; `pages` turns the demo binder's pages into PNG files to look at.
#![allow(
    clippy::disallowed_methods,
    clippy::print_stdout,
    clippy::print_stderr,
    reason = "chores run programs, read files and talk on the terminal"
)]

mod ci;
mod fuzz;
mod setup;
mod shared;
mod solve;

use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let words: Vec<&str> = words.iter().map(String::as_str).collect();
    let done = match words.as_slice() {
        ["setup"] => setup::run(),
        ["ci"] => setup::run().and_then(|()| ci::run()),
        ["solve", "placement", file] => solve::placement(file),
        ["solve", "circuit", file] => solve::circuit(file),
        ["shared"] => shared::run(),
        ["fuzz", seconds] => fuzz::run(seconds),
        ["tidy"] => tidy(),
        ["handbook"] => ci::handbook(),
        ["pages", folder] => ci::pages(folder),
        _ => Err(
            "usage: cargo xtask setup | ci | shared | solve placement|circuit FILE | fuzz SECONDS | tidy | \
             handbook | pages FOLDER"
                .to_owned(),
        ),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(words) => {
            eprintln!("xtask: {words}");
            ExitCode::FAILURE
        }
    }
}

fn tidy() -> Result<(), String> {
    let untidy = xtask::tidy::check(&xtask::root());
    for row in &untidy {
        eprintln!("{row}");
    }
    if untidy.is_empty() { Ok(()) } else { Err(format!("{} things are untidy", untidy.len())) }
}
