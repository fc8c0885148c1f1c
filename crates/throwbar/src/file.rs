//! Files: reading a layout, and writing a file whole or not at all.

use crate::failure::Failure;
use std::io::{Read, Write};
use std::path::{Path, PathBuf};

/// The name of the as-built record, which stands beside the layout.
const RECORD: &str = "as-built.toml";

/// The file that a path to a layout means: itself, or the `layout.toml` in the folder it names.
fn layout_file(path: &Path) -> Result<PathBuf, Failure> {
    if !path.is_dir() {
        return Ok(path.to_owned());
    }
    let inside = path.join("layout.toml");
    if inside.is_dir() {
        return Err(Failure::Folder { path: inside });
    }
    // Whether it is there or not, a link in a circle is a thing to say.
    if !inside.exists() && inside.symlink_metadata().is_err() {
        return Err(Failure::NoLayout { path: path.to_owned() });
    }
    Ok(inside)
}

/// The bytes of a layout, and the file they came from. One byte past the longest layout is enough to refuse it, so a
/// longer file is not read to its end.
pub(crate) fn read_layout(path: &Path) -> Result<(PathBuf, Vec<u8>), Failure> {
    let file_path = layout_file(path)?;
    let failed = |source| Failure::Read { path: file_path.clone(), source };
    let file = std::fs::File::open(&file_path).map_err(failed)?;
    let mut bytes = Vec::new();
    file.take(description::TEXT_MAX as u64 + 1).read_to_end(&mut bytes).map_err(failed)?;
    Ok((file_path, bytes))
}

/// The record beside a layout, and its bytes; none where there is no such file.
pub(crate) fn read_record(layout: &Path) -> Result<(PathBuf, Option<Vec<u8>>), Failure> {
    let path = layout.with_file_name(RECORD);
    let file = match std::fs::File::open(&path) {
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok((path, None)),
        opened => opened,
    };
    let mut bytes = Vec::new();
    let most = description::TEXT_MAX as u64 + 1;
    match file.and_then(|file| file.take(most).read_to_end(&mut bytes)) {
        Ok(_) => Ok((path, Some(bytes))),
        Err(source) => Err(Failure::ReadRecord { path, source }),
    }
}

/// Writes a file whole: aside, synced, then renamed over what was there. On failure nothing has changed.
pub(crate) fn write_whole(path: &Path, bytes: &[u8]) -> Result<(), Failure> {
    let failed = |source| Failure::Write { path: path.to_owned(), source };
    let folder = match path.parent() {
        Some(folder) if !folder.as_os_str().is_empty() => folder,
        _ => Path::new("."),
    };
    let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
    let aside = folder.join(format!(".{name}.{}.part", std::process::id()));
    let written = (|| {
        let mut file = std::fs::File::create(&aside)?;
        file.write_all(bytes)?;
        file.sync_all()?;
        std::fs::rename(&aside, path)?;
        // The rename itself is only safe once the folder is on disk.
        std::fs::File::open(folder)?.sync_all()
    })();
    if written.is_err() {
        // Best effort: the aside file is ours alone, and the reason to report is the first failure.
        let _ = std::fs::remove_file(&aside);
    }
    written.map_err(failed)
}

/// Makes a folder and those above it.
pub(crate) fn make_folder(path: &Path) -> Result<(), Failure> {
    std::fs::create_dir_all(path).map_err(|source| Failure::Write { path: path.to_owned(), source })
}
