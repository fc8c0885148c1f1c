//! The same plan gives the same bytes, in one process and in another.

use std::process::Command;

use binder::{Options, typeset};

use crate::fixture::first_module;

/// Set in the second process: the file that it writes its binder to.
const SECOND_PROCESS_FILE: &str = "BINDER_TEST_SECOND_PROCESS_FILE";

#[test]
fn two_processes_write_the_same_bytes() {
    let here = typeset(&first_module(), &Options::default()).unwrap().pdf;
    if let Ok(file) = std::env::var(SECOND_PROCESS_FILE) {
        std::fs::write(file, here).unwrap();
        return;
    }
    let again = typeset(&first_module(), &Options::default()).unwrap().pdf;
    assert!(here == again, "a second run in one process differs");

    // Hash seeds, addresses and threads differ between processes, so this finds what one process cannot.
    let file =
        std::path::Path::new(env!("CARGO_TARGET_TMPDIR")).join(format!("second-{}.pdf", std::process::id()));
    let ran = Command::new(std::env::current_exe().unwrap())
        .args(["--exact", "bytes::two_processes_write_the_same_bytes"])
        .env(SECOND_PROCESS_FILE, &file)
        .output()
        .unwrap();
    assert!(ran.status.success(), "{}", String::from_utf8_lossy(&ran.stderr));
    let there = std::fs::read(&file).unwrap();
    std::fs::remove_file(&file).unwrap();
    assert!(here == there, "a run in another process differs");
}
