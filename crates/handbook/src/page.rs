//! What every page gets after mdBook has written it: the list of contents, with links that fit the folder it stands in.

use crate::{BookError, told};
use mdbook_driver::MDBook;
use mdbook_driver::book::BookItem;
use std::fmt::Write as _;
use std::fs;
use std::path::Path;

/// Where the template leaves room for the list of contents.
const MARK: &str = "<!-- contents -->";

/// Puts the contents into every page. Returns how many there are.
pub(crate) fn finish(book: &MDBook, into: &Path) -> Result<usize, BookError> {
    let mut pages = vec!["index.html".to_owned()];
    for item in book.iter() {
        if let BookItem::Chapter(chapter) = item
            && let Some(path) = &chapter.path
        {
            pages.push(path.with_extension("html").to_string_lossy().into_owned());
        }
    }
    for page in &pages {
        let path = into.join(page);
        let text = fs::read_to_string(&path).map_err(told("read", &path))?;
        let text = text.replace(MARK, &contents(book, page));
        fs::write(&path, text).map_err(told("write", &path))?;
    }
    Ok(pages.len())
}

/// The parts and chapters; the pages of codes are listed in their own chapter.
fn contents(book: &MDBook, page: &str) -> String {
    let up = "../".repeat(page.matches('/').count());
    let mut list = String::from("<ul>");
    for item in &book.book.items {
        match item {
            BookItem::PartTitle(title) => {
                let _ = write!(list, "<li class=\"part\">{title}</li>");
            }
            BookItem::Chapter(chapter) => {
                let Some(path) = &chapter.path else { continue };
                let to = path.with_extension("html").to_string_lossy().into_owned();
                let here = if to == page { " aria-current=\"page\"" } else { "" };
                let _ = write!(list, "<li><a href=\"{up}{to}\"{here}>{}</a></li>", chapter.name);
            }
            BookItem::Separator => list.push_str("<li class=\"part\"></li>"),
        }
    }
    list.push_str("</ul>");
    list
}

/// The first row of text under the heading of a page.
pub(crate) fn first_sentence(page: &str) -> &str {
    page.lines().find(|row| !row.is_empty() && !row.starts_with('#')).unwrap_or_default()
}
