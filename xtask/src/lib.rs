//! What chores and their tests share: where the house stands, the tidy rules, and the reader of neutral networks.
#![allow(clippy::disallowed_methods, reason = "chores read files")]

pub mod circuit;
pub mod tidy;

use std::path::PathBuf;

/// The folder that holds the whole house.
pub fn root() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    here.parent().map(PathBuf::from).unwrap_or(here)
}
