//! The handbook: `docs/` as pages to read in a browser, without a network. mdBook reads the chapters that `docs/SUMMARY.md` lists
//! and turns them into pages; this crate adds a page for every diagnostic code, the list of contents in each page and the house's look.
//!
//! [`build`] makes the book; [`link`] finds links that lead nowhere. Development only: the program never needs it.
#![allow(clippy::disallowed_methods, reason = "it reads chapters and writes pages")]

pub mod link;
mod page;

use mdbook_driver::MDBook;
use mdbook_driver::book::{BookItem, Chapter};
use mdbook_driver::config::Config;
use notice::Code;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};

/// Where the index of codes is put into the chapter on diagnostics.
const INDEX_MARK: &str = "<!-- the index of codes -->";

/// The chapter under which the pages of codes stand.
const DIAGNOSTICS: &str = "diagnostics.md";

/// The fonts of sheets and screens.
const FONTS: [&str; 4] = [
    "Barlow-Regular.ttf",
    "Barlow-SemiBold.ttf",
    "BarlowSemiCondensed-Regular.ttf",
    "BarlowSemiCondensed-SemiBold.ttf",
];

/// What mdBook writes for its own look, which these pages do without.
const UNUSED: [&str; 12] = [
    "ayu-highlight.css",
    "book.js",
    "book.toml",
    "clipboard.min.js",
    "css",
    "favicon.png",
    "favicon.svg",
    "highlight.css",
    "highlight.js",
    "toc.html",
    "toc.js",
    "tomorrow-night.css",
];

/// Why there is no book.
#[derive(Debug, thiserror::Error)]
pub enum BookError {
    /// A chapter is missing or cannot be read, or a page cannot be written by mdBook.
    #[error("the chapters make no book: {0}")]
    Chapters(String),
    /// A file cannot be read or written.
    #[error("{doing} {}: {source}", path.display())]
    File {
        /// What was being done.
        doing: &'static str,
        /// To which file.
        path: PathBuf,
        /// What the system says.
        source: std::io::Error,
    },
}

/// Builds the book of `root/docs` into the folder `into`, which is emptied first. Returns the number of pages.
///
/// # Errors
/// When a chapter of `SUMMARY.md` is not there, or a file cannot be read or written.
pub fn build(root: &Path, into: &Path) -> Result<usize, BookError> {
    let docs = root.join("docs");
    if into.exists() {
        fs::remove_dir_all(into).map_err(told("empty", into))?;
    }
    let chapters = |error: mdbook_driver::errors::Error| BookError::Chapters(format!("{error:#}"));
    let mut config = Config::from_disk(docs.join("book.toml")).map_err(chapters)?;
    into.clone_into(&mut config.build.build_dir);
    let mut book = MDBook::load_with_config(&docs, config).map_err(chapters)?;
    for item in &mut book.book.items {
        if let BookItem::Chapter(chapter) = item
            && chapter.path.as_deref() == Some(Path::new(DIAGNOSTICS))
        {
            add_codes(chapter);
        }
    }
    book.build().map_err(chapters)?;
    for name in UNUSED {
        remove(&into.join(name))?;
    }
    remove(&into.join("look"))?;
    dress(root, into)?;
    page::finish(&book, into)
}

/// A page for every code, and the index of them.
fn add_codes(chapter: &mut Chapter) {
    let mut index = String::new();
    for code in Code::all() {
        let name = code.name();
        let says = page::first_sentence(code.page());
        let _ = writeln!(index, "- [`{name}`](codes/{name}.md): {says}");
        let above = vec![chapter.name.clone()];
        let page = Chapter::new(name, code.page().to_owned(), format!("codes/{name}.md"), above);
        chapter.sub_items.push(BookItem::Chapter(page));
    }
    chapter.content = chapter.content.replace(INDEX_MARK, &index);
}

/// The style sheet and its fonts.
fn dress(root: &Path, into: &Path) -> Result<(), BookError> {
    let fonts = into.join("fonts");
    if fonts.exists() {
        remove(&fonts)?;
    }
    fs::create_dir_all(&fonts).map_err(told("make", &fonts))?;
    for font in FONTS {
        let from = root.join("crates/draw/fonts").join(font);
        fs::copy(&from, fonts.join(font)).map_err(told("copy", &from))?;
    }
    let from = root.join("docs/look/handbook.css");
    fs::copy(&from, into.join("handbook.css")).map_err(told("copy", &from))?;
    Ok(())
}

fn remove(path: &Path) -> Result<(), BookError> {
    let removed = if path.is_dir() {
        fs::remove_dir_all(path)
    } else if path.exists() {
        fs::remove_file(path)
    } else {
        Ok(())
    };
    removed.map_err(told("remove", path))
}

/// Puts the file and what was being done into an error.
fn told(doing: &'static str, path: &Path) -> impl FnOnce(std::io::Error) -> BookError {
    let path = path.to_owned();
    move |source| BookError::File { doing, path, source }
}
