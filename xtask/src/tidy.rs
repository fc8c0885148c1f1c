//! House rules that no compiler knows: headers, lengths, words, layers, code pages, dependencies.
//!
//! Reads every file of the house that git would track. Returns one row of text for each thing that is untidy, so that
//! all come out in one run.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

/// Rows of a Rust file past which it has to be split.
const ROWS_MAX: usize = 600;

/// Rows past which it should be thought about; how many such files there are is printed, not refused.
pub const ROWS_SOFT: usize = 400;

/// Folders that are not ours to keep tidy.
const SKIPPED: [&str; 9] =
    [".git", "target", "node_modules", ".venv", "out", "reference", "fonts", "corpus", "found"];

/// Words that must not stand anywhere in the house, and why. Built from halves so that this list does not find itself.
fn banned() -> Vec<(String, &'static str)> {
    [
        (("TO", "DO"), "an open matter is an issue or a test"),
        (("FIX", "ME"), "an open matter is an issue or a test"),
        (("todo", "!("), "nothing is a stub"),
        (("unimple", "mented!("), "nothing is a stub"),
        (("#[ign", "ore"), "every test runs"),
        (("#[should_", "panic"), "a failure is a value"),
        (("thread::", "sleep"), "wait on a condition"),
        (("crates", ".io"), "no registry's host is named"),
        (("npmjs", ".org"), "no registry's host is named"),
        (("pypi", ".org"), "no registry's host is named"),
        (("/work", "/main"), "no path of a machine is named"),
        (("/ro", "ot/"), "no path of a machine is named"),
    ]
    .into_iter()
    .map(|((a, b), why)| (format!("{a}{b}"), why))
    .collect()
}

/// Which of our crates each may use. Lower rooms never learn of higher ones.
const LAYERS: [(&str, &[&str]); 17] = [
    ("measure", &[]),
    ("notice", &[]),
    ("packet", &[]),
    ("electric", &["measure"]),
    ("description", &["measure", "notice"]),
    ("network", &["description", "measure", "notice"]),
    ("plan", &["description", "electric", "measure", "network", "notice", "packet"]),
    ("rules", &["description", "measure", "network", "notice", "packet", "plan"]),
    ("commission", &["description", "electric", "measure", "network", "notice", "plan"]),
    ("draw", &["description", "measure", "network", "notice", "packet", "plan"]),
    (
        "binder",
        &["commission", "description", "draw", "measure", "network", "notice", "packet", "plan", "tables"],
    ),
    ("live", &["description", "network", "notice", "packet", "plan"]),
    ("journal", &["notice"]),
    ("answers", &["commission", "description", "draw", "measure", "network", "notice", "packet", "plan"]),
    ("tables", &["answers", "measure", "network", "plan"]),
    (
        "serve",
        &[
            "answers",
            "commission",
            "description",
            "draw",
            "journal",
            "live",
            "network",
            "notice",
            "packet",
            "plan",
        ],
    ),
    ("testkit", &["description", "draw", "journal", "network", "notice", "plan", "rules"]),
];

/// Everything that is untidy below `root`.
pub fn check(root: &Path) -> Vec<String> {
    let mut files = Vec::new();
    gather(root, &mut files);
    files.sort();
    let mut untidy = Vec::new();
    let banned = banned();
    for path in &files {
        let shown = path.strip_prefix(root).unwrap_or(path).display().to_string();
        let Ok(text) = fs::read_to_string(path) else { continue };
        if path.extension().is_some_and(|ext| ext == "rs") {
            rust_file(path, &shown, &text, &mut untidy);
        }
        // Lock files are written by the package tools.
        if path.file_name().is_some_and(|name| name == "Cargo.lock" || name == "package-lock.json") {
            continue;
        }
        for (index, row) in text.lines().enumerate() {
            for (word, why) in &banned {
                if row.contains(word.as_str()) {
                    untidy.push(format!("{shown}:{}: `{word}`: {why}", index + 1));
                }
            }
        }
    }
    layers(root, &mut untidy);
    bare(root, &mut untidy);
    code_pages(root, &mut untidy);
    dependencies(root, &mut untidy);
    untidy
}

fn gather(folder: &Path, files: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() {
            if !SKIPPED.contains(&name.as_str()) {
                gather(&path, files);
            }
        } else {
            files.push(path);
        }
    }
}

fn rust_file(path: &Path, shown: &str, text: &str, untidy: &mut Vec<String>) {
    if !text.starts_with("//!") {
        untidy.push(format!("{shown}: opens without a `//!` header"));
    }
    let rows = text.lines().count();
    if rows > ROWS_MAX {
        untidy.push(format!("{shown}: {rows} rows, past {ROWS_MAX}: it asks to be two"));
    }
    let stem = path.file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
    if ["utils", "util", "helpers", "common", "manager", "data", "info", "prelude", "mod"]
        .contains(&stem.as_str())
    {
        untidy.push(format!("{shown}: a module is a trade noun, not `{stem}`"));
    }
}

/// Every crate uses only rooms below it.
fn layers(root: &Path, untidy: &mut Vec<String>) {
    let names: BTreeSet<&str> = LAYERS.iter().map(|(name, _)| *name).collect();
    for (name, allowed) in LAYERS {
        let Ok(manifest) = fs::read_to_string(root.join("crates").join(name).join("Cargo.toml")) else {
            untidy.push(format!("crates/{name}: the layer table names it, but it is not there"));
            continue;
        };
        let uses = manifest.split("[dependencies]").nth(1).unwrap_or_default();
        let uses = uses.split("\n[").next().unwrap_or_default();
        for row in uses.lines() {
            let used = row.split(['.', ' ', '=']).next().unwrap_or_default();
            if names.contains(used) && !allowed.contains(&used) {
                untidy.push(format!("crates/{name}: may not use `{used}`, which is not a room below it"));
            }
        }
    }
}

/// The packets need nothing but the core library, which is all that a decoder has.
fn bare(root: &Path, untidy: &mut Vec<String>) {
    let folder = root.join("crates/packet");
    let library = fs::read_to_string(folder.join("src/lib.rs")).unwrap_or_default();
    if !library.lines().any(|row| row == "#![no_std]") || library.contains("extern crate") {
        untidy.push("crates/packet: its library has to do without the standard library".to_owned());
    }
    let manifest = fs::read_to_string(folder.join("Cargo.toml")).unwrap_or_default();
    let uses = manifest.split("[dependencies]").nth(1).unwrap_or_default();
    if uses.split("\n[").next().unwrap_or_default().lines().any(|row| row.contains('=')) {
        untidy.push("crates/packet: it has no dependencies".to_owned());
    }
}

/// Every page of a code is in the catalogue; that every code has a page, the compiler sees to.
fn code_pages(root: &Path, untidy: &mut Vec<String>) {
    let catalogue = fs::read_to_string(root.join("crates/notice/src/codes.rs")).unwrap_or_default();
    let Ok(pages) = fs::read_dir(root.join("docs/codes")) else {
        untidy.push("docs/codes: not there".to_owned());
        return;
    };
    for page in pages.flatten() {
        let name =
            page.path().file_stem().map(|stem| stem.to_string_lossy().into_owned()).unwrap_or_default();
        if !catalogue.contains(&format!("\"{name}\"")) {
            untidy.push(format!("docs/codes/{name}.md: no code has this name"));
        }
    }
}

/// Every dependency from outside has a row that says what it is for.
fn dependencies(root: &Path, untidy: &mut Vec<String>) {
    let manifest = fs::read_to_string(root.join("Cargo.toml")).unwrap_or_default();
    let page = fs::read_to_string(root.join("docs/dependencies.md")).unwrap_or_default();
    let table = manifest.split("[workspace.dependencies]").nth(1).unwrap_or_default();
    let table = table.split("\n[").next().unwrap_or_default();
    for row in table.lines().filter(|row| row.contains('=') && !row.contains("path =")) {
        let name = row.split([' ', '=']).next().unwrap_or_default();
        if !page.contains(&format!("`{name}`")) {
            untidy.push(format!("docs/dependencies.md: no row for `{name}`"));
        }
    }
}
