//! The whole check, in the order in which it fails fastest, and the demo's pages as pictures.

use crate::setup::{BARE, has_bare_machine};
use std::process::Command;
use std::time::Instant;

/// How long each target runs under the fuzzer; enough to see that it still does. The corpus itself is a test.
const FUZZ_SECONDS: &str = "3";

pub(crate) fn run() -> Result<(), String> {
    let steps: [(&str, &[&str]); 5] = [
        ("format", &["fmt", "--all", "--check"]),
        ("lints", &["clippy", "--workspace", "--all-targets", "--", "-D", "warnings"]),
        // For a machine without an operating system, on which nothing but the core library is to be had.
        ("packets without the standard library", &["check", "-p", "packet", "--lib", "--target", BARE]),
        ("tests", &["test", "--workspace"]),
        ("docs", &["doc", "--workspace", "--no-deps"]),
    ];
    for (name, words) in steps {
        if words.contains(&BARE) && !has_bare_machine() {
            println!("── {name} left out: there is no core library for {BARE}");
            continue;
        }
        println!("── {name}: cargo {}", words.join(" "));
        let started = Instant::now();
        cargo(words)?;
        println!("── {name} passed in {} s", started.elapsed().as_secs());
    }
    crate::fuzz::run(FUZZ_SECONDS)
}

/// Builds the handbook. A program of its own, so that other chores do not wait for what it needs.
pub(crate) fn handbook() -> Result<(), String> {
    cargo(&["run", "--quiet", "--package", "handbook"])
}

/// Makes the demo's binder and turns every page into a PNG in `folder`.
pub(crate) fn pages(folder: &str) -> Result<(), String> {
    let demo = xtask::root().join("demo/tern-harbor");
    let demo = demo.to_string_lossy();
    cargo(&["run", "--", "binder", &demo, "-o", folder])?;
    let pdf = format!("{folder}/binder.pdf");
    finish(Command::new("pdftoppm").args(["-png", "-r", "110", &pdf, &format!("{folder}/page")]))
}

fn cargo(words: &[&str]) -> Result<(), String> {
    let cargo = std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned());
    // Laws of random cases try the same cases in every run of the whole check; `cargo test` alone tries new ones each time.
    let seed = ("PROPTEST_RNG_SEED", "1848");
    let mut command = Command::new(cargo);
    finish(
        command.args(words).env("RUSTDOCFLAGS", "-D warnings").env(seed.0, seed.1).current_dir(xtask::root()),
    )
}

/// Runs a program to its end.
pub(crate) fn finish(command: &mut Command) -> Result<(), String> {
    let words = format!("{command:?}");
    let status = command.status().map_err(|error| format!("cannot run {words}: {error}"))?;
    if status.success() { Ok(()) } else { Err(format!("{words} failed: {status}")) }
}
