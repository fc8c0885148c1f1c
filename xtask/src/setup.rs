//! Installs what the tests use besides Rust: a browser and what drives it, a circuit simulator, and the tools that read a PDF, a DXF,
//! a workbook and a captured signal back.
//!
//! Does nothing, quickly, on a machine that has it all. Needs the rights to install Debian packages on one that has not.

use std::path::Path;
use std::process::Command;

/// A machine without an operating system.
pub(crate) const BARE: &str = "thumbv7em-none-eabihf";

/// A program that has to be there, and the Debian package it comes in.
const PROGRAMS: [(&str, &str); 10] = [
    // The fuzzer is written in C++.
    ("c++", "g++"),
    ("node", "nodejs"),
    ("npm", "npm"),
    ("chromium", "chromium"),
    ("pdftotext", "poppler-utils"),
    ("pdftoppm", "poppler-utils"),
    ("qpdf", "qpdf"),
    ("python3", "python3"),
    ("ngspice", "ngspice"),
    // The message broker that panels share a railroad over.
    ("mosquitto", "mosquitto"),
];

pub(crate) fn run() -> Result<(), String> {
    let mut packages: Vec<&str> =
        PROGRAMS.iter().filter(|(program, _)| !on_path(program)).map(|(_, package)| *package).collect();
    packages.sort_unstable();
    packages.dedup();
    if !packages.is_empty() {
        println!("installing {}", packages.join(", "));
        let install = ["install", "-y", "--no-install-recommends"];
        as_root(&["update"])?;
        as_root(&[&install[..], &packages].concat())?;
    }
    let folder = xtask::root().join("tests/browser");
    let installed = folder.join("node_modules/.package-lock.json");
    let wanted = folder.join("package-lock.json");
    if !is_newer(&installed, &wanted) {
        println!("installing what drives the browser");
        crate::ci::finish(
            Command::new("npm")
                .args(["ci", "--no-audit", "--no-fund", "--ignore-scripts"])
                .current_dir(&folder),
        )?;
    }
    bare_machine();
    reader("dxf", "DXF")?;
    reader("tables", "workbooks")?;
    reader("rails", "captured signals")?;
    reader("accessible", "binders")?;
    reader("api", "the live panel's answers")
}

/// The core library for a machine without an operating system, for which the packets are checked. Where there is no
/// `rustup`, or it reaches nothing, that one check is left out and said to be; `tidy` holds the rest.
fn bare_machine() {
    if !has_bare_machine() {
        println!("installing the core library for {BARE}");
        if !succeeds(Command::new("rustup").args(["target", "add", BARE]).current_dir(xtask::root())) {
            println!("it cannot be installed");
        }
    }
}

/// Whether the core library for such a machine is there.
pub(crate) fn has_bare_machine() -> bool {
    let mut rustup = Command::new("rustup");
    let listed = rustup.args(["target", "list", "--installed"]).current_dir(xtask::root()).output();
    listed.is_ok_and(|listed| String::from_utf8_lossy(&listed.stdout).lines().any(|target| target == BARE))
}

/// A Python of its own for a reader, beside its script.
fn reader(folder: &str, what: &str) -> Result<(), String> {
    let folder = xtask::root().join("tests").join(folder);
    let (wanted, own) = (folder.join("requirements.txt"), folder.join(".venv"));
    // Written last, so that an installation broken off is begun again.
    let installed = own.join("requirements.txt");
    if is_newer(&installed, &wanted) {
        return Ok(());
    }
    println!("installing what reads {what} back");
    if !succeeds(Command::new("python3").args(["-c", "import ensurepip"])) {
        as_root(&["update"])?;
        as_root(&["install", "-y", "--no-install-recommends", "python3-venv"])?;
    }
    crate::ci::finish(Command::new("python3").args(["-m", "venv"]).arg(&own))?;
    let install = ["install", "--quiet", "--disable-pip-version-check", "--requirement"];
    crate::ci::finish(Command::new(own.join("bin/pip")).args(install).arg(&wanted))?;
    std::fs::copy(&wanted, &installed)
        .map(|_| ())
        .map_err(|error| format!("cannot write {}: {error}", installed.display()))
}

/// Whether a program can be run and ends well; what it says is not shown.
fn succeeds(command: &mut Command) -> bool {
    command.output().is_ok_and(|ran| ran.status.success())
}

fn on_path(program: &str) -> bool {
    let path = std::env::var_os("PATH").unwrap_or_default();
    // Servers are kept where only the administrator's path leads.
    let folders = std::env::split_paths(&path).chain(["/usr/sbin".into()]);
    folders.into_iter().any(|folder| folder.join(program).is_file())
}

fn as_root(words: &[&str]) -> Result<(), String> {
    let mut command = if on_path("sudo") {
        let mut sudo = Command::new("sudo");
        sudo.arg("apt-get");
        sudo
    } else {
        Command::new("apt-get")
    };
    crate::ci::finish(command.args(words).env("DEBIAN_FRONTEND", "noninteractive"))
}

fn is_newer(file: &Path, than: &Path) -> bool {
    let changed = |path: &Path| path.metadata().and_then(|facts| facts.modified()).ok();
    match (changed(file), changed(than)) {
        (Some(file), Some(than)) => file >= than,
        (None, _) | (_, None) => false,
    }
}
