//! What chores and their tests share: where the house stands, and the tidy rules.
#![allow(clippy::disallowed_methods, reason = "chores read files")]

pub mod tidy;

use std::path::PathBuf;

/// The folder that holds the whole house.
pub fn root() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    here.parent().map(PathBuf::from).unwrap_or(here)
}
