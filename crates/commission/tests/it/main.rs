//! Faults found, against brute force and by injection.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]

// The model of a bus against its circuit.
mod electric;

// Minimal hitting sets against their definition, by trying every set.
mod hitting;

// Faults put into the demo and found again.
mod injected;

// The order of commissioning.
mod order;

// The tests that are chosen against the best that there are.
mod optimum;

// What people write.
mod words;
// Commissioning while it goes on: what an answer comes to, and what explains it.
mod trial;

use commission::fault::System;
use plan::model::Plan;

/// The demo.
fn harbor() -> Plan {
    testkit::plan_of(include_str!("../../../../demo/tern-harbor/layout.toml"))
}

fn first_module() -> Plan {
    testkit::plan_of(include_str!("../../../../demo/first-module/layout.toml"))
}

/// The fault of these words.
fn fault(system: &System, what: &str) -> usize {
    system.faults.iter().position(|fault| fault.what == what).unwrap_or_else(|| panic!("no fault `{what}`"))
}

/// Numbers that look thrown by dice and are the same every time.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: usize) -> usize {
        // Knuth's MMIX constants.
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from(self.0 >> 33).unwrap() % count
    }
}
