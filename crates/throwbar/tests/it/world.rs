//! The world failing around the tool: each time a plain sentence, exit status 2, and nothing half written.

use crate::{Folder, program, run};
use std::os::unix::fs::PermissionsExt;

#[test]
fn a_folder_without_a_layout_is_said() {
    let folder = Folder::new("empty-folder");
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("holds no layout.toml"), "{}", ran.err);
    assert_eq!(ran.out, "");
}

#[test]
fn a_layout_that_is_a_folder_is_said() {
    let folder = Folder::new("folder-layout");
    std::fs::create_dir(folder.path().join("layout.toml")).unwrap();
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("is a folder, not a layout file"), "{}", ran.err);
}

#[test]
fn a_layout_that_is_a_link_to_itself_is_said() {
    let folder = Folder::new("circular-link");
    std::os::unix::fs::symlink("layout.toml", folder.path().join("layout.toml")).unwrap();
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.status, 2);
    assert!(ran.err.contains("cannot read the layout"), "{}", ran.err);
}

/// Root may read everything, so as root the program is run as nobody, from a copy that nobody may run.
#[test]
fn a_layout_that_may_not_be_read_is_said() {
    let folder = Folder::new("no-permission");
    folder.write("layout.toml", "[layout]\nname = \"Pier\"\n");
    let layout = folder.path().join("layout.toml");
    std::fs::set_permissions(&layout, std::fs::Permissions::from_mode(0o000)).unwrap();
    let mut command = if std::fs::read(&layout).is_ok() {
        let copy = folder.path().join("throwbar");
        std::fs::copy(program().get_program(), &copy).unwrap();
        let mut command = std::process::Command::new("setpriv");
        command.args(["--reuid=65534", "--regid=65534", "--clear-groups"]).arg(copy);
        command
    } else {
        program()
    };
    let output = command.arg("check").arg(&layout).output().unwrap();
    let err = String::from_utf8_lossy(&output.stderr);
    assert_eq!(output.status.code(), Some(2), "{err}");
    assert!(err.contains("Permission denied"), "{err}");
}

#[test]
fn an_empty_file_gets_a_place_and_a_way_on() {
    let folder = Folder::new("empty-file");
    folder.write("layout.toml", "");
    let ran = run(folder.path(), &["check"]);
    assert_eq!(ran.status, 1);
    assert!(ran.out.contains("layout-missing") && ran.out.contains("layout.toml:1:1"), "{}", ran.out);
}

/// 100 MB of brackets: only as much is read as tells that it is too long.
#[test]
fn a_huge_file_is_refused_without_reading_it_all() {
    let folder = Folder::new("huge-file");
    folder.write("layout.toml", vec![b'['; 100 << 20]);
    let ran = run(folder.path(), &["check", "--json"]);
    assert_eq!(ran.status, 1);
    assert_eq!(ran.json()["diagnostics"][0]["code"], "text-too-long");
}

#[test]
fn a_binary_file_is_told_by_its_first_bad_byte() {
    let folder = Folder::new("binary-file");
    folder.write("layout.toml", [b'[', b'l', 0xFF, 0xFE, 0, 1]);
    let ran = run(folder.path(), &["check", "--json"]);
    assert_eq!(ran.status, 1);
    let note = &ran.json()["diagnostics"][0];
    assert_eq!(note["code"], "text-not-utf8");
    assert!(note["message"].as_str().unwrap().contains("byte 3"), "{note}");
}

#[test]
fn new_never_writes_over_a_layout() {
    let folder = Folder::new("new-twice");
    let first = run(folder.path(), &["new", "mine"]);
    assert_eq!(first.status, 0, "{}", first.err);
    let checked = run(folder.path(), &["check", "mine"]);
    assert_eq!((checked.status, checked.out.lines().next().unwrap().contains("nothing wrong")), (0, true));
    folder.write("mine/layout.toml", "[layout]\nname = \"kept\"\n");
    let second = run(folder.path(), &["new", "mine"]);
    assert_eq!(second.status, 2);
    assert!(second.err.contains("is there already"), "{}", second.err);
    let kept = std::fs::read_to_string(folder.path().join("mine/layout.toml")).unwrap();
    assert!(kept.contains("kept"));
}

#[test]
fn a_reader_that_has_seen_enough_is_no_failure() {
    let mut child = program()
        .current_dir(crate::root())
        .args(["show", "routes", "demo/tern-harbor", "--json"])
        .stdout(std::process::Stdio::piped())
        .spawn()
        .unwrap();
    drop(child.stdout.take());
    assert_eq!(child.wait().unwrap().code(), Some(0));
}

/// `/dev/full` takes nothing, as a full disk does.
#[test]
fn an_answer_that_cannot_be_printed_is_a_failure() {
    let full = std::fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
    let output = program()
        .current_dir(crate::root())
        .args(["show", "levers", "demo/first-module"])
        .stdout(full)
        .output()
        .unwrap();
    assert_eq!(output.status.code(), Some(2));
    assert!(String::from_utf8_lossy(&output.stderr).contains("cannot print the answer"));
}
