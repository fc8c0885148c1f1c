//! Builds the handbook into the folder named, or `target/handbook`, and says what to open.
#![allow(clippy::disallowed_methods, clippy::print_stdout, clippy::print_stderr, reason = "it is a program")]

use std::path::{Path, PathBuf};
use std::process::ExitCode;

fn main() -> ExitCode {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let root = here.parent().and_then(Path::parent).unwrap_or(&here);
    let into = std::env::args().nth(1).map_or_else(|| root.join("target/handbook"), PathBuf::from);
    match handbook::build(root, &into) {
        Ok(count) => {
            println!("{count} pages; open {}", into.join("index.html").display());
            ExitCode::SUCCESS
        }
        Err(error) => {
            eprintln!("handbook: {error}");
            ExitCode::FAILURE
        }
    }
}
