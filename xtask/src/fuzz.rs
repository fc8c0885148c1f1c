//! The targets of `fuzz/` under a coverage-guided fuzzer, each for as long as is asked, on the toolchain of the house.

use crate::ci::finish;
use std::process::Command;

const TARGETS: [&str; 5] = ["bytes", "signal", "dump", "rows", "frames"];

/// What the compiler adds so that the fuzzer sees where a run has been.
const COVERAGE: &str = "-Cpasses=sancov-module -Cllvm-args=-sanitizer-coverage-level=4 \
    -Cllvm-args=-sanitizer-coverage-inline-8bit-counters -Cllvm-args=-sanitizer-coverage-pc-table \
    -Cllvm-args=-sanitizer-coverage-trace-compares -Ccodegen-units=1 --cfg fuzzing";

/// Runs every target for so many seconds; stops at the first that fails.
pub(crate) fn run(seconds: &str) -> Result<(), String> {
    let seconds: u32 = seconds.parse().map_err(|_| format!("`{seconds}` is no number of seconds"))?;
    let folder = xtask::root().join("fuzz");
    let host = host()?;
    for target in TARGETS {
        println!("── {target}: {seconds} s");
        let found = folder.join("found").join(target);
        std::fs::create_dir_all(&found)
            .map_err(|error| format!("cannot make {}: {error}", found.display()))?;
        finish(
            Command::new(std::env::var("CARGO").unwrap_or_else(|_| "cargo".to_owned()))
                .current_dir(&folder)
                .env("RUSTFLAGS", COVERAGE)
                // A target is named, so that build scripts are not instrumented.
                .args(["run", "--quiet", "--release", "--target", &host, "--bin", target, "--"])
                .arg(&found)
                .arg(folder.join("corpus").join(target))
                .arg(format!("-max_total_time={seconds}"))
                .arg(format!("-artifact_prefix={}/", found.display()))
                .args(["-timeout=10", "-print_final_stats=1", "-verbosity=0"]),
        )?;
    }
    Ok(())
}

/// The name of the machine that the compiler runs on.
fn host() -> Result<String, String> {
    let ran =
        Command::new("rustc").arg("-vV").output().map_err(|error| format!("cannot run rustc: {error}"))?;
    let told = String::from_utf8_lossy(&ran.stdout).into_owned();
    let row = told.lines().find_map(|row| row.strip_prefix("host: "));
    row.map(str::to_owned).ok_or_else(|| format!("rustc names no host: {told}"))
}
