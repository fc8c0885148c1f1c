//! The handbook can be built, looks nothing up elsewhere, and every link in it and in the repository's texts leads somewhere.
#![allow(clippy::disallowed_methods, reason = "these tests build pages and look at them")]
#![allow(clippy::unwrap_used, reason = "a failing check is a panic in a test")]

use handbook::link::{self, Links};
use std::path::{Path, PathBuf};

fn root() -> PathBuf {
    let here = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    here.parent().and_then(Path::parent).unwrap().to_owned()
}

/// A folder of this test's own, empty.
fn folder(name: &str) -> PathBuf {
    let folder = std::env::temp_dir().join(format!("throwbar-handbook-{}-{name}", std::process::id()));
    let _ = std::fs::remove_dir_all(&folder);
    std::fs::create_dir_all(&folder).unwrap();
    folder
}

#[test]
fn every_link_of_the_built_pages_leads_somewhere() {
    let into = folder("built");
    let pages = handbook::build(&root(), &into).unwrap();
    assert!(pages > notice::Code::all().count(), "a page for each code, and chapters");
    let Links { followed, broken } = link::in_pages(&into);
    assert!(followed > 15 * pages, "only {followed} links were found in {pages} pages");
    assert!(broken.is_empty(), "{}", broken.join("\n"));
    std::fs::remove_dir_all(&into).unwrap();
}

#[test]
fn the_pages_need_no_network_and_run_nothing() {
    let into = folder("offline");
    handbook::build(&root(), &into).unwrap();
    let mut files = Vec::new();
    link::gather(&into, "html", &mut files);
    link::gather(&into, "css", &mut files);
    for file in &files {
        let text = std::fs::read_to_string(file).unwrap();
        let (name, text) = (file.display(), text.to_lowercase());
        assert!(!text.contains("<script"), "{name} runs something");
        for outside in ["src=\"http", "<link rel=\"stylesheet\" href=\"http", "url(http", "@import"] {
            assert!(!text.contains(outside), "{name} has `{outside}`");
        }
        assert!(!text.contains("<!-- contents -->"), "{name} has no list of contents");
    }
    let mut scripts = Vec::new();
    link::gather(&into, "js", &mut scripts);
    assert!(scripts.is_empty(), "{scripts:?}");
    std::fs::remove_dir_all(&into).unwrap();
}

#[test]
fn every_link_of_the_repositorys_texts_leads_somewhere() {
    let root = root();
    let mut files = Vec::new();
    link::gather(&root, "md", &mut files);
    let Links { followed, broken } = link::in_markdown(&root, &files);
    assert!(followed >= 20, "only {followed} links were found in {} files", files.len());
    assert!(broken.is_empty(), "{}", broken.join("\n"));
}

#[test]
fn a_chapter_that_nothing_lists_is_noticed() {
    let docs = root().join("docs");
    let listed = std::fs::read_to_string(docs.join("SUMMARY.md")).unwrap();
    let mut files = Vec::new();
    link::gather(&docs, "md", &mut files);
    for file in files {
        let name = file.strip_prefix(&docs).unwrap().to_string_lossy().into_owned();
        let is_listed = listed.contains(&format!("({name})"));
        assert!(is_listed || name.starts_with("codes/") || name == "SUMMARY.md", "{name} is in no chapter");
    }
}

/// By hand: each way in which a link can break, and each that is whole.
#[test]
fn broken_links_are_told_and_whole_ones_are_not() {
    let folder = folder("links");
    let write = |name: &str, text: &str| std::fs::write(folder.join(name), text).unwrap();
    write(
        "a.md",
        "# One two\n\n[x](b.md#a-heading) [y](#one-two) [z](https://tern.example/)\n`[no](link)`\n",
    );
    write("b.md", "# A heading\n\n[x](c.md) [y](a.md#three)\n\n```md\n[no](link.md)\n```\n");
    let files = [folder.join("a.md"), folder.join("b.md")];
    let Links { followed, broken } = link::in_markdown(&folder, &files);
    assert_eq!(followed, 4);
    assert_eq!(
        broken,
        ["b.md: `c.md`: there is no such file", "b.md: `a.md#three`: nothing there is called `three`"]
    );

    write("a.html", "<h1 id=\"top\">x</h1><a href=\"b.html#low\">b</a><a href=\"b.html#no\">b</a>");
    write(
        "b.html",
        "<p id=\"low\"><img src=\"gone.svg\"><a href=\"../out.html\">o</a><a href=\"#low\">l</a>",
    );
    let Links { followed, broken } = link::in_pages(&folder);
    assert_eq!(followed, 5);
    assert_eq!(
        broken,
        [
            "a.html: `b.html#no`: nothing there is called `no`",
            "b.html: `gone.svg`: there is no such file",
            "b.html: `../out.html` leads out of the folder"
        ]
    );
    std::fs::remove_dir_all(&folder).unwrap();
}
