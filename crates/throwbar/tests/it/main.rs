//! The whole tool, as a user runs it: the real program, a folder of its own, what it prints and how it ends.
#![allow(clippy::disallowed_methods, reason = "these tests run a program and look at files")]
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

/// The JSON answers have the members that the contract names.
mod answers;
/// Signals on the rails, read from files.
mod captures;
/// The order of commissioning.
mod commissioning;
/// `draw`, for every ending.
mod drawings;
/// From symptoms to faults.
mod faults;
/// The examples of the handbook.
mod handbook;
/// The as-built record, and the work order between two layouts.
mod kept;
/// The live panel, in a real browser.
mod live;
/// `show routes` with a wish.
mod narrowed;
/// DCC packets, made and read.
mod packets;
/// `show power`.
mod power;
/// A whole session on the terminal, compared word for word.
mod session;
/// The binder and the drawings.
mod sheets;
/// Files that cannot be read, folders that are none, output that cannot be written.
mod world;

use std::path::{Path, PathBuf};
use std::process::Command;

/// What one run printed and how it ended.
pub(crate) struct Ran {
    pub(crate) status: i32,
    pub(crate) out: String,
    pub(crate) err: String,
}

impl Ran {
    /// Standard output as JSON.
    pub(crate) fn json(&self) -> serde_json::Value {
        serde_json::from_str(&self.out).unwrap_or_else(|error| panic!("{error} in {}", self.out))
    }
}

/// The program itself, to be given words.
pub(crate) fn program() -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_throwbar"));
    command.env_remove("NO_COLOR");
    command
}

/// Runs the program in a folder.
pub(crate) fn run(folder: &Path, words: &[&str]) -> Ran {
    let output = program().current_dir(folder).args(words).output().unwrap();
    Ran {
        status: output.status.code().unwrap(),
        out: String::from_utf8(output.stdout).unwrap(),
        err: String::from_utf8(output.stderr).unwrap(),
    }
}

/// What a script below `tests/`, in the surroundings that stand beside it, tells of a file.
pub(crate) fn read_elsewhere(script: &str, path: &Path) -> serde_json::Value {
    let script = root().join("tests").join(script);
    let python = script.with_file_name(".venv").join("bin/python");
    let remedy = "run `cargo xtask setup`, which installs what reads files back";
    let output = Command::new(&python)
        .arg(&script)
        .arg(path)
        .output()
        .unwrap_or_else(|error| panic!("{} cannot be run ({error}): {remedy}", python.display()));
    let err = String::from_utf8_lossy(&output.stderr);
    assert!(output.status.success(), "{err}: {remedy}");
    serde_json::from_slice(&output.stdout).unwrap()
}

/// The root of the house.
pub(crate) fn root() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../..").canonicalize().unwrap()
}

/// An empty folder of a test's own, gone when the test ends.
pub(crate) struct Folder(PathBuf);

impl Folder {
    pub(crate) fn new(name: &str) -> Self {
        let path = std::env::temp_dir().join(format!("throwbar-{name}-{}", std::process::id()));
        std::fs::create_dir_all(&path).unwrap();
        Self(path)
    }

    pub(crate) fn path(&self) -> &Path {
        &self.0
    }

    /// Writes a file into it.
    pub(crate) fn write(&self, name: &str, bytes: impl AsRef<[u8]>) {
        std::fs::write(self.0.join(name), bytes).unwrap();
    }

    /// The names of all files in it, hidden ones too.
    pub(crate) fn names(&self) -> Vec<String> {
        let mut names: Vec<String> = std::fs::read_dir(&self.0)
            .unwrap()
            .map(|entry| entry.unwrap().file_name().to_string_lossy().into_owned())
            .collect();
        names.sort();
        names
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        let _ = std::fs::remove_dir_all(&self.0);
    }
}
