//! `throwbar new`: a commented starting description that checks clean.

use crate::Ended;
use crate::failure::Failure;
use crate::file::{make_folder, write_whole};
use crate::print::{self, Style};
use std::path::Path;

/// What a new layout starts as.
const START: &str = include_str!("start.toml");

pub(crate) fn run(style: Style, folder: &Path) -> Result<Ended, Failure> {
    let file = folder.join("layout.toml");
    if file.symlink_metadata().is_ok() || (folder.exists() && !folder.is_dir()) {
        let path = if folder.is_dir() { file } else { folder.to_owned() };
        return Err(Failure::Exists { path });
    }
    make_folder(folder)?;
    write_whole(&file, START.as_bytes())?;
    let file = file.display().to_string();
    if style.json {
        print::json(&serde_json::json!({ "schema": answers::SCHEMA, "written": [file] }))?;
    } else {
        let folder = folder.display();
        print::answer(&format!(
            "{file} is a small layout to change into yours.\n\
             Next: open it in a text editor, then run\n  throwbar check {folder}\n  throwbar binder {folder} -o {folder}/binder\n"
        ))?;
    }
    Ok(Ended::Well)
}
