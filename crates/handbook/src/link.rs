//! Links that lead nowhere: in built pages, and in Markdown as it stands in the repository.
//!
//! Of a page every `href` and `src` is followed to a file and, behind `#`, to an `id` in it. Of Markdown every `[words](target)` is
//! followed to a file and to a heading. Links out into the network are not followed: the check works without one.

use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Component, Path, PathBuf};

/// What a check of links found.
#[derive(Debug, Default)]
pub struct Links {
    /// Links that were followed.
    pub followed: usize,
    /// A row for each that leads nowhere: the file, the target, what is missing.
    pub broken: Vec<String>,
}

/// Follows every link of the built pages below `folder`.
pub fn in_pages(folder: &Path) -> Links {
    let mut files = Vec::new();
    gather(folder, "html", &mut files);
    let mut read = BTreeMap::new();
    for file in &files {
        read.insert(file.clone(), fs::read_to_string(file).unwrap_or_default());
    }
    let ids: BTreeMap<&PathBuf, BTreeSet<String>> =
        read.iter().map(|(file, text)| (file, attributes(text, &["id"]).into_iter().collect())).collect();
    let mut links = Links::default();
    for (file, text) in &read {
        for target in attributes(text, &["href", "src"]) {
            links.follow(folder, file, &target, |path, anchor| {
                ids.get(path).is_some_and(|ids| ids.contains(anchor))
            });
        }
    }
    links
}

/// Follows every link of the Markdown files given, which stand below `root`.
pub fn in_markdown(root: &Path, files: &[PathBuf]) -> Links {
    let mut links = Links::default();
    for file in files {
        let text = fs::read_to_string(file).unwrap_or_default();
        for target in targets(&text) {
            links.follow(root, file, &target, |path, anchor| {
                headings(&fs::read_to_string(path).unwrap_or_default()).contains(anchor)
            });
        }
    }
    links
}

/// Every file of this ending below a folder, except what git does not track there.
pub fn gather(folder: &Path, ending: &str, files: &mut Vec<PathBuf>) {
    let Ok(entries) = fs::read_dir(folder) else { return };
    for entry in entries.flatten() {
        let path = entry.path();
        let name = entry.file_name().to_string_lossy().into_owned();
        if path.is_dir() {
            if !["target", "node_modules", ".venv", ".git", "out", "found"].contains(&name.as_str()) {
                gather(&path, ending, files);
            }
        } else if path.extension().is_some_and(|found| found == ending) {
            files.push(path);
        }
    }
    files.sort();
}

impl Links {
    fn follow(
        &mut self,
        root: &Path,
        file: &Path,
        target: &str,
        has_anchor: impl Fn(&PathBuf, &str) -> bool,
    ) {
        if ["http://", "https://", "mailto:", "data:"].iter().any(|outside| target.starts_with(outside)) {
            return;
        }
        self.followed += 1;
        let (path, anchor) = target.split_once('#').unwrap_or((target, ""));
        let to = if path.is_empty() {
            file.to_owned()
        } else {
            flat(&file.parent().unwrap_or(root).join(path.replace("%20", " ")))
        };
        let shown = file.strip_prefix(root).unwrap_or(file).display();
        if !to.starts_with(root) {
            self.broken.push(format!("{shown}: `{target}` leads out of the folder"));
        } else if !to.exists() {
            self.broken.push(format!("{shown}: `{target}`: there is no such file"));
        } else if !anchor.is_empty() && !has_anchor(&to, anchor) {
            self.broken.push(format!("{shown}: `{target}`: nothing there is called `{anchor}`"));
        }
    }
}

/// A path without `.` and `..`.
fn flat(path: &Path) -> PathBuf {
    let mut flat = PathBuf::new();
    for part in path.components() {
        match part {
            Component::ParentDir => {
                flat.pop();
            }
            Component::CurDir => {}
            Component::Prefix(_) | Component::RootDir | Component::Normal(_) => flat.push(part),
        }
    }
    flat
}

/// The values of these attributes, in all tags of a page.
fn attributes(page: &str, names: &[&str]) -> Vec<String> {
    let mut values = Vec::new();
    for tag in page.split('<').skip(1) {
        let tag = tag.split('>').next().unwrap_or_default();
        for name in names {
            let start = format!(" {name}=\"");
            for rest in tag.split(start.as_str()).skip(1) {
                let value = rest.split('"').next().unwrap_or_default();
                values.push(value.replace("&amp;", "&").replace("&quot;", "\""));
            }
        }
    }
    values
}

/// The targets of Markdown links and pictures, outside code.
fn targets(text: &str) -> Vec<String> {
    let mut found = Vec::new();
    for row in prose(text) {
        // What stands between backticks is shown, not followed.
        let bare: String = row.split('`').step_by(2).collect::<Vec<_>>().join("code");
        for rest in bare.split("](").skip(1) {
            found.push(rest.split([')', ' ']).next().unwrap_or_default().to_owned());
        }
    }
    found
}

/// The rows outside fenced blocks.
fn prose(text: &str) -> impl Iterator<Item = &str> {
    let mut fenced = false;
    text.lines().filter(move |row| {
        let fence = row.trim_start().starts_with("```");
        fenced ^= fence;
        !fenced && !fence
    })
}

/// What the headings of a text are called in links to them: small letters and digits, hyphens for spaces.
fn headings(text: &str) -> BTreeSet<String> {
    let rows = prose(text).filter(|row| row.starts_with('#'));
    rows.map(|row| {
        let words = row.trim_start_matches('#').trim().to_lowercase();
        let kept = words.chars().filter(|c| c.is_alphanumeric() || " -_".contains(*c));
        kept.map(|c| if c == ' ' { '-' } else { c }).collect()
    })
    .collect()
}
