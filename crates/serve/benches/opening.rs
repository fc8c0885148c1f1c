//! How long a panel takes from a journal of a million rows to being able to answer, with a checkpoint and without.
//!
//!     cargo bench -p serve --bench opening [-- ROWS]

#![allow(
    clippy::unwrap_used,
    clippy::print_stdout,
    reason = "a measurement that cannot go on should stop there"
)]
#![allow(clippy::disallowed_methods, reason = "it measures time and keeps a file")]

use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

use journal::Journal;
use live::{Entry, Happened, Moment, Said};
use network::Position;
use serve::Desk;

fn main() {
    // Cargo says `--bench` to every bench.
    let rows = std::env::args().find_map(|word| word.parse().ok()).unwrap_or(1_000_000);
    let plan = testkit::plan_of(include_str!("../../../demo/first-module/layout.toml"));
    let folder = PathBuf::from(env!("CARGO_TARGET_TMPDIR")).join("opening");
    drop(std::fs::remove_dir_all(&folder));
    std::fs::create_dir_all(&folder).unwrap();
    let path = folder.join("year.journal");
    fill(&path, rows);
    println!("{rows} rows, {} MB", std::fs::metadata(&path).unwrap().len() / 1_000_000);
    for what in ["every row replayed", "from the checkpoint", "from the checkpoint", "from the checkpoint"] {
        let started = Instant::now();
        let opened = Journal::open_file(&path, "Tern Harbor, first module").unwrap();
        let read = started.elapsed();
        let (desk, notes) = Desk::open(plan.clone(), opened).unwrap();
        let taken = started.elapsed();
        println!("{what}: {} ms, of which {} ms are the file's check {notes:?}", ms(taken), ms(read));
        // It keeps a checkpoint when it closes.
        desk.close();
    }
}

fn ms(time: Duration) -> u128 {
    time.as_millis()
}

/// Levers thrown and machines reporting, as an evening has them.
fn fill(path: &Path, rows: u64) {
    let mut journal = Journal::open_file(path, "Tern Harbor, first module").unwrap().journal;
    let machines = ["team", "meet", "yard", "crossA", "y1"];
    let row = |number: u64| {
        let position = if number % 4 < 2 { Position::Normal } else { Position::Reverse };
        let what = if number.is_multiple_of(2) {
            let lever = u16::try_from(number / 2 % 8).unwrap() + 1;
            Happened::Thrown { lever, position, by: Said::new("fascia tablet") }
        } else {
            let machine = usize::try_from(number / 2 % 5).unwrap();
            Happened::Confirmed { machine: machines[machine].to_owned(), position }
        };
        Entry { at: Moment(1_719_835_200_000 + number * 700), what }.write()
    };
    let all: Vec<u64> = (0..rows).collect();
    for some in all.chunks(5_000) {
        journal.append(&some.iter().map(|&number| row(number)).collect::<Vec<_>>()).unwrap();
    }
}
