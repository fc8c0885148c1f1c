//! The plan against what builders do, and against the rules.
#![allow(
    clippy::unwrap_used,
    clippy::expect_used,
    clippy::panic,
    reason = "a failing check is a panic in a test"
)]
#![allow(clippy::format_push_string, reason = "fixtures are short and built once")]

// Signals and lights, by hand.
mod accessories;

// What a practitioner would expect: strips, chains, cab addresses, numbers.
mod practice;

// What decoders are programmed with, and what wrong values do.
mod programs;

// What is heard on the rails beside what is planned, placed by hand.
mod traffic;

// The work order between two plans, by hand.
mod changes;

// What stays where something is built, by hand.
mod kept;

// The same after hundreds of edits in a row.
mod kept_edits;

// That no other plan would change less, by trying them all.
mod kept_fewest;

// Records that nobody wrote with care.
mod kept_hostile;

// The same for strips that have to move.
mod kept_strips;

// Which levers fire together.
mod bursts;

// Which of several routes is meant.
mod choice;

// One-push routes in wire.
mod diodes;

/// Single-source facility location against published optima and brute force.
mod facility;

/// Which decoders a layout gets.
mod decoders;

/// Where decoders go, against brute force.
mod placement;
/// Decoders along a bench that is a tree.
mod placement_bench;

/// A plan beside a record, verified; nothing is drawn.
fn beside(text: &str, record: &description::record::Record) -> notice::Outcome<plan::model::Plan> {
    let network = description::read(text).then(network::resolve);
    network.then(|network| plan::make_kept(network, record)).then(rules::verify)
}

fn plan_of(text: &str) -> plan::model::Plan {
    let outcome = description::read(text).then(network::resolve).then(plan::make);
    assert!(!outcome.has_errors(), "{:?}", outcome.diagnostics);
    outcome.value
}
/// How each frog gets its polarity.
mod frogs;
/// Reversing sections and power districts.
mod sections;

/// What stands on fascias.
mod fascias;
/// Wires, terminals, pins, and what to buy.
mod harness;

/// What buses lose, what a short draws, what is bought and what a meter reads.
mod power;

// The conductors of buses, by hand.
mod bus_wires;

/// What to do about machines that move the wrong way.
mod wrong_way;
