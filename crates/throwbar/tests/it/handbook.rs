//! The examples of the handbook: what a page tells you to write is written, what it tells you to type is run, and what it
//! shows is what the program says.
//!
//! A page is followed from top to bottom in an empty folder. A remark before a block says what is done with it:
//!
//! | remark | block |
//! |---|---|
//! | `<!-- write FILE -->`, `<!-- add FILE -->` | becomes the file, or is put at its end |
//! | `<!-- change FILE -->` | rows with `-` are found once in the file and replaced by those with `+` |
//! | `<!-- copy FOLDER FOLDER -->` | no block: the layout and its record |
//! | `<!-- same TABLES as FOLDER -->` | no block: the tables of `module` are those of a folder of this repository |
//! | `<!-- shows N rows -->`, `… from "WORDS"` | of what is printed so many rows are shown, from the first that has the words |
//! | `<!-- ends with N -->` | the exit status; 0 where nothing is said |
//!
//! `UPDATE_EXPECT=1` writes what is shown anew.

use crate::{Folder, program, root};
use std::fmt::Write as _;
use std::path::Path;

/// What the remarks before a block ask for.
#[derive(Default)]
struct Asked {
    file: Option<(String, String)>,
    rows: Option<usize>,
    from: Option<String>,
    status: i32,
}

/// Follows a page. Returns it as it would be with what the program says now, and how many commands were run.
fn follow(page: &str, folder: &Path) -> (String, usize) {
    let mut out = String::new();
    let mut asked = Asked::default();
    let mut count = 0;
    let mut rows = page.lines();
    while let Some(row) = rows.next() {
        out.push_str(row);
        out.push('\n');
        if let Some(remark) = row.strip_prefix("<!-- ").and_then(|row| row.strip_suffix(" -->")) {
            read_remark(remark, &mut asked, folder);
        }
        let Some(kind) = row.strip_prefix("```") else { continue };
        let block: Vec<&str> = rows.by_ref().take_while(|row| *row != "```").collect();
        let asked = std::mem::take(&mut asked);
        if kind == "console" {
            count += 1;
            out.push_str(&run(block[0], &asked, folder));
        } else {
            for row in &block {
                out.push_str(row);
                out.push('\n');
            }
            if let Some((how, file)) = asked.file {
                put(&how, &folder.join(file), &block);
            }
        }
        out.push_str("```\n");
    }
    (out, count)
}

fn read_remark(remark: &str, asked: &mut Asked, folder: &Path) {
    let words: Vec<&str> = remark.split(' ').collect();
    match words.as_slice() {
        [how @ ("write" | "add" | "change"), file] => {
            asked.file = Some(((*how).to_owned(), (*file).to_owned()));
        }
        ["shows", count, "rows", rest @ ..] => {
            asked.rows = Some(count.parse().unwrap());
            let words = rest.join(" ");
            asked.from = words.strip_prefix("from ").map(|words| words.trim_matches('"').to_owned());
        }
        ["ends", "with", status] => asked.status = status.parse().unwrap(),
        ["copy", from, to] => {
            std::fs::create_dir_all(folder.join(to)).unwrap();
            for file in ["layout.toml", "as-built.toml"] {
                std::fs::copy(folder.join(from).join(file), folder.join(to).join(file)).unwrap();
            }
        }
        ["same", tables @ .., "as", other] => same(tables, folder, &root().join(other)),
        _ => panic!("`{remark}` is no remark that this test knows"),
    }
}

/// Puts a block into a file.
fn put(how: &str, file: &Path, block: &[&str]) {
    std::fs::create_dir_all(file.parent().unwrap()).unwrap();
    let text = std::fs::read_to_string(file).unwrap_or_default();
    let joined = |mark: &str| {
        let rows = block.iter().filter_map(|row| row.strip_prefix(mark));
        rows.flat_map(|row| [row, "\n"]).collect::<String>()
    };
    let text = match how {
        "write" => joined(""),
        "add" => format!("{text}{}", joined("")),
        _ => {
            let (old, new) = (joined("-"), joined("+"));
            assert_eq!(text.matches(&old).count(), 1, "{old} does not stand once in {}", file.display());
            text.replace(&old, &new)
        }
    };
    std::fs::write(file, text).unwrap();
}

/// Words as a shell would part them, with quotation marks and nothing else.
fn parted(row: &str) -> Vec<String> {
    let mut words = Vec::new();
    for (index, piece) in row.split('"').enumerate() {
        if index % 2 == 1 {
            words.push(piece.to_owned());
        } else {
            words.extend(piece.split_whitespace().map(str::to_owned));
        }
    }
    words
}

/// Runs what stands behind `$`. Returns the block as it should be.
fn run(row: &str, asked: &Asked, folder: &Path) -> String {
    let words = parted(row.strip_prefix("$ throwbar ").unwrap_or_else(|| panic!("`{row}` runs no throwbar")));
    let output = program().current_dir(folder).args(&words).output().unwrap();
    let said = String::from_utf8(output.stdout).unwrap() + &String::from_utf8(output.stderr).unwrap();
    assert_eq!(output.status.code(), Some(asked.status), "{row}\n{said}");
    let mut shown: Vec<&str> = said.lines().collect();
    let mut block = format!("{row}\n");
    if let Some(from) = &asked.from {
        let first = shown.iter().position(|row| row.contains(from.as_str()));
        let first = first.unwrap_or_else(|| panic!("{row} says nothing of `{from}`:\n{said}"));
        if first > 0 {
            block.push_str("…\n");
        }
        shown.drain(..first);
    }
    let count = asked.rows.unwrap_or(shown.len());
    for row in shown.iter().take(count) {
        let _ = writeln!(block, "{row}");
    }
    if shown.len() > count {
        block.push_str("…\n");
    }
    block
}

/// The tables of the layout in `folder/module` and of another are the same.
fn same(tables: &[&str], folder: &Path, other: &Path) {
    assert!(!tables.is_empty());
    for table in tables {
        let show = |layout: &Path| {
            program().args(["show", table]).arg(layout).output().map(|ran| ran.stdout).unwrap()
        };
        let (ours, theirs) = (show(&folder.join("module")), show(other));
        assert_eq!(String::from_utf8(ours), String::from_utf8(theirs), "{table}");
    }
}

fn check(name: &str, commands: usize) {
    let path = root().join("docs").join(name);
    let page = std::fs::read_to_string(&path).unwrap();
    let folder = Folder::new(&format!("handbook-{}", name.replace('/', "-")));
    let (followed, count) = follow(&page, folder.path());
    assert!(count >= commands, "{name} runs {count} commands");
    expect_test::expect_file![path].assert_eq(&followed);
}

#[test]
fn the_tutorial_can_be_followed() {
    check("tutorial.md", 15);
}

#[test]
fn the_first_page_can_be_followed() {
    check("start.md", 3);
}

/// By hand: a page whose example says something else than the program is found out.
#[test]
fn an_example_that_is_not_so_is_found() {
    let folder = Folder::new("handbook-false");
    let page = "<!-- write a/layout.toml -->\n```toml\n[layout]\nname = \"Pier\"\n```\n```console\n$ throwbar check a\nall is well\n```\n";
    let (followed, count) = follow(page, folder.path());
    assert_eq!(count, 1);
    assert_ne!(followed, page);
    assert!(followed.contains("nothing wrong: 0 tracks"), "{followed}");
}
