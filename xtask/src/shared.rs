//! Checks against data that may not be copied into this repository: read where a folder `../shared/reference/` is there.

use std::path::Path;
use std::process::Command;

pub(crate) fn run() -> Result<(), String> {
    placements(&xtask::root().join("../shared/reference/placement"))?;
    station(&xtask::root().join("../shared/reference/drawing"))
}

/// Solves every placement case and compares with its published optimum.
fn placements(folder: &Path) -> Result<(), String> {
    let Ok(listed) = std::fs::read_dir(folder) else {
        println!("no shared placement cases beside this repository: none checked");
        return Ok(());
    };
    let mut files: Vec<_> = listed.filter_map(|entry| Some(entry.ok()?.path())).collect();
    files.retain(|path| path.extension().is_some_and(|ending| ending == "json"));
    files.sort();
    for path in files {
        let (cost, proven, optimum) = crate::solve::beside_optimum(&path)?;
        println!("{}: {cost}, published {optimum}", path.display());
        if !proven || (cost - optimum).abs() > 1e-6 * optimum.abs() {
            return Err(format!("{}: the optimum is not reached, or not proven", path.display()));
        }
    }
    Ok(())
}

/// Draws the real station and compares its height and bends with the published figures.
fn station(folder: &Path) -> Result<(), String> {
    let (layout, expected) = (folder.join("eidsvoll.toml"), folder.join("eidsvoll.json"));
    if !layout.is_file() || !expected.is_file() {
        println!("no shared drawing beside this repository: none checked");
        return Ok(());
    }
    let expected = std::fs::read_to_string(&expected).map_err(|error| error.to_string())?;
    let peer = expected.split_once("\"criteria\": \"hbw\"").ok_or("no published figures")?.1;
    let told = show_drawing(&layout)?;
    for key in ["height", "bends"] {
        let (ours, theirs) = (number(&told, key)?, number(peer, key)?);
        println!("the real station: {key} {ours}, published {theirs}");
        if ours > theirs {
            return Err(format!("{key} is more than published"));
        }
    }
    if !told.contains("\"proven\":true") && !told.contains("\"proven\": true") {
        return Err("the height is not proven".to_owned());
    }
    Ok(())
}

fn show_drawing(layout: &Path) -> Result<String, String> {
    let ran = Command::new(env!("CARGO"))
        .current_dir(xtask::root())
        .args(["run", "-q", "-p", "throwbar", "--", "show", "drawing", "--json"])
        .arg(layout)
        .output()
        .map_err(|error| error.to_string())?;
    String::from_utf8(ran.stdout).map_err(|error| error.to_string())
}

/// The whole number behind the first key of this name.
fn number(json: &str, key: &str) -> Result<i64, String> {
    let missing = || format!("no {key} in {json}");
    let rest = json.split_once(&format!("\"{key}\":")).ok_or_else(missing)?.1.trim_start();
    let digits: String = rest.chars().take_while(char::is_ascii_digit).collect();
    digits.parse().map_err(|_| missing())
}
