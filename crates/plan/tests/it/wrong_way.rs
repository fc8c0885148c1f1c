//! Machines that move the wrong way: what is done about each kind.

use network::MachineId;
use plan::wrong_way::{Remedy, remedy};
use testkit::plan_of;

/// A crossover, whose two machines answer one lever's packets, and a turnout behind it, all driven in this way.
fn layout(drive: &str) -> String {
    format!(
        "[layout]\nname = \"Tern Harbor\"\n[part.mover]\nrole = \"motor\"\n{drive}\n\
         [crossover.1]\none = [\"a\", \"b\"]\nother = [\"c\", \"d\"]\nmotor = \"mover\"\n\
         [turnout.2]\npoints = \"b\"\nthrough = \"e\"\ndiverging = \"f\"\nhand = \"left\"\nmotor = \"mover\"\n\
         [end.a]\ntrack = \"a\"\n[end.c]\ntrack = \"c\"\n[end.d]\ntrack = \"d\"\n[end.e]\ntrack = \"e\"\n[end.f]\ntrack = \"f\"\n"
    )
}

/// A servo's three wires carry no direction, and a machine with its decoder inside has no wires of its own.
///
/// # Source
/// Two wires of a stall motor, or two coils, say which way it goes: common practice, no source.
#[test]
fn wires_are_swapped_a_lone_machine_is_inverted_one_of_several_has_its_ends_swapped() {
    let cases = [
        ("drive = \"stall\"", "2", "swap", "wires-to-swap"),
        ("drive = \"coil\"", "1A", "swap", "wires-to-swap"),
        ("drive = \"servo\"", "2", "invert", "no-direction"),
        ("drive = \"servo\"", "1A", "swap ends", "no-direction same-packets"),
        ("drive = \"stall\"\ndecoder = \"inside\"", "2", "invert", "no-wires-to-swap"),
        ("drive = \"stall\"\ndecoder = \"inside\"", "1B", "swap ends", "no-wires-to-swap same-packets"),
    ];
    for (drive, name, expected, rules) in cases {
        let plan = plan_of(&layout(drive));
        let index = plan.network.machines.iter().position(|machine| machine.name == name).unwrap();
        let decided = remedy(&plan, MachineId::at(index));
        let word = match decided.value {
            Remedy::SwapWires { .. } => "swap",
            Remedy::Invert => "invert",
            Remedy::SwapEnds => "swap ends",
        };
        let why: Vec<&str> = decided.because().map(|because| because.rule.name).collect();
        assert_eq!((word, why.join(" ").as_str()), (expected, rules), "{drive}: {name}");
    }
}
