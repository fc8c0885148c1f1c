//! Packets made, and signals read: edge by edge in memory, as rows, as a dump, and beside the reader of `tests/rails` on the
//! same dump in the same run.
//!
//! `cargo bench -p packet`; `cargo xtask setup` before it installs the other reader.
#![allow(
    clippy::unwrap_used,
    clippy::panic,
    clippy::print_stdout,
    clippy::disallowed_methods,
    reason = "a bench is no product"
)]

use divan::counter::{BytesCount, ItemsCount};
use divan::{Bencher, black_box};
use packet::{
    Basic, BinaryAddress, Bits, Bytes, Csv, CsvReader, Direction, Event, Ns, Packet, Preamble, Read,
    Receiver, Vcd, VcdReader, Watch, Wave,
};
use std::path::Path;
use std::process::Command;
use std::time::Instant;

fn main() {
    beside_another();
    divan::main();
}

/// Every throw of every address, with an idle packet after each.
fn packets() -> impl Iterator<Item = Bytes> {
    (0..=BinaryAddress::MAX).flat_map(|bits| {
        let address = BinaryAddress::new(bits).unwrap();
        let throw = |direction| Packet::Basic(Basic { address, direction, active: true }).encode();
        let idle = Packet::Idle.encode();
        [throw(Direction::Zero), idle, throw(Direction::One), idle]
    })
}

fn halves() -> impl Iterator<Item = Ns> {
    packets().flat_map(|bytes| Bits::new(bytes, Preamble::STANDARD)).flat_map(|bit| Wave::NOMINAL.halves(bit))
}

fn dump() -> String {
    let mut text = String::new();
    let mut file = Vcd::new(&mut text, "rails").unwrap();
    halves().for_each(|half| file.half(half).unwrap());
    text
}

fn rows() -> String {
    let mut text = String::new();
    let mut file = Csv::new(&mut text).unwrap();
    halves().for_each(|half| file.half(half).unwrap());
    text
}

/// What a signal says: packets with a right error byte, and the faults of each.
#[derive(Default)]
struct Heard {
    packets: usize,
    faults: usize,
}

struct Listening {
    receiver: Receiver,
    watch: Watch,
    heard: Heard,
}

impl Listening {
    fn new() -> Self {
        Self { receiver: Receiver::new(0), watch: Watch::new(), heard: Heard::default() }
    }

    fn edge(&mut self, at: Ns, level: bool) {
        let Self { receiver, watch, heard } = self;
        receiver.edge(at, level, &mut |event| match event {
            Event::Packet(packet) => {
                let watched = watch.packet(&packet, &mut |_, _| heard.faults += 1);
                heard.packets += usize::from(watched.decoded.checksum_ok());
            }
            Event::Fault { .. } => heard.faults += 1,
        });
    }

    fn take(&mut self, read: Read) {
        match read {
            Read::Change(change) => self.edge(change.at, change.level),
            Read::Fault { .. } => self.heard.faults += 1,
        }
    }
}

#[divan::bench]
fn encode_4096_throws(bencher: Bencher<'_, '_>) {
    bencher.counter(ItemsCount::new(4_096u32)).bench(|| {
        for bits in 0..=BinaryAddress::MAX {
            let address = black_box(BinaryAddress::new(bits).unwrap());
            for direction in [Direction::Zero, Direction::One] {
                black_box(Packet::Basic(Basic { address, direction, active: true }).encode());
            }
        }
    });
}

#[divan::bench]
fn edges_in_memory(bencher: Bencher<'_, '_>) {
    let mut at = 0;
    let edges: Vec<Ns> = halves()
        .map(|half| {
            at += half;
            at
        })
        .collect();
    bencher.counter(ItemsCount::new(edges.len())).bench(|| {
        let mut listening = Listening::new();
        let mut level = false;
        for &at in &edges {
            listening.edge(at, level);
            level = !level;
        }
        assert!(listening.heard.packets > 8_000);
        listening.heard.faults
    });
}

#[divan::bench]
fn rows_of_text(bencher: Bencher<'_, '_>) {
    let text = rows();
    bencher.counter(BytesCount::new(text.len())).bench(|| {
        let mut listening = Listening::new();
        CsvReader::new(None).feed(text.as_bytes(), &mut |read| listening.take(read));
        assert!(listening.heard.packets > 8_000);
    });
}

#[divan::bench]
fn dump_of_text(bencher: Bencher<'_, '_>) {
    let text = dump();
    bencher.counter(BytesCount::new(text.len())).bench(|| read_dump(&text));
}

fn read_dump(text: &str) -> usize {
    let mut listening = Listening::new();
    VcdReader::new().feed(text.as_bytes(), &mut |read| listening.take(read));
    assert!(listening.heard.packets > 8_000);
    listening.heard.packets
}

/// The reader of `tests/rails` on the same dump, from file to packets, and ours from the same file.
fn beside_another() {
    let tools = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../tests/rails");
    let file = std::env::temp_dir().join(format!("throwbar-bench-{}.vcd", std::process::id()));
    std::fs::write(&file, dump()).unwrap();
    let ran = Command::new(tools.join(".venv/bin/python")).arg(tools.join("read_vcd.py")).arg(&file).output();
    let Ok(ran) = ran else {
        println!("the reader of tests/rails is not installed: cargo xtask setup");
        return;
    };
    let told: serde_json::Value = serde_json::from_slice(&ran.stdout).unwrap();
    let theirs = told["seconds"].as_f64().unwrap();
    let begun = Instant::now();
    let packets = read_dump(&std::fs::read_to_string(&file).unwrap());
    let ours = begun.elapsed().as_secs_f64();
    std::fs::remove_file(&file).unwrap();
    assert_eq!(told["packets"].as_array().unwrap().len(), packets);
    println!(
        "{packets} packets, {} edges in one dump: {:.1} ms here, {:.0} ms in Python on vcdvcd, {:.0} times as long\n",
        told["edges"],
        ours * 1e3,
        theirs * 1e3,
        theirs / ours
    );
}
