//! Which ways are open through each kind of joint, for every combination of its machines' positions.
//!
//! Each table has a row for every combination, the machines in the order of its heading: what a person sees who looks
//! along the blades. A way is open when each machine it needs stands as it needs it.
//!
//! # Source
//! `description.md` for turnouts, wyes, three-ways, crossovers and slips (that both machines of a slip move both pairs
//! of blades of their end is common practice, no source). Which machine of a scissors stands where: A and D on line
//! one, C and B on line other, crossovers A–B and C–D: common practice, no source. Tables by hand.

use network::{Joint, Network, Position};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write as _;

use Position::{Normal as N, Reverse as R};

/// A joint whose legs are called by one letter each, its machines, and what is open for each combination of them.
struct Table {
    joint: &'static str,
    machines: &'static [&'static str],
    rows: &'static [(&'static [Position], &'static [&'static str])],
}

const CROSS: &str = "one = [\"a\", \"b\"]\nother = [\"c\", \"d\"]";

const TURNOUT: Table = Table {
    joint: "[turnout.J]\npoints = \"p\"\nthrough = \"t\"\ndiverging = \"d\"\nhand = \"left\"",
    machines: &["J"],
    rows: &[(&[N], &["p-t"]), (&[R], &["p-d"])],
};

const TURNOUT_NORMAL_DIVERGING: Table = Table {
    joint: "[turnout.J]\npoints = \"p\"\nthrough = \"t\"\ndiverging = \"d\"\nhand = \"left\"\nnormal = \"diverging\"",
    machines: &["J"],
    rows: &[(&[N], &["p-d"]), (&[R], &["p-t"])],
};

const WYE: Table = Table {
    joint: "[wye.J]\npoints = \"p\"\nleft = \"l\"\nright = \"r\"",
    machines: &["J"],
    rows: &[(&[N], &["p-l"]), (&[R], &["p-r"])],
};

const WYE_NORMAL_RIGHT: Table = Table {
    joint: "[wye.J]\npoints = \"p\"\nleft = \"l\"\nright = \"r\"\nnormal = \"right\"",
    machines: &["J"],
    rows: &[(&[N], &["p-r"]), (&[R], &["p-l"])],
};

/// Both reversed at once is forbidden.
const THREEWAY: Table = Table {
    joint: "[threeway.J]\npoints = \"p\"\nthrough = \"t\"\nleft = \"l\"\nright = \"r\"",
    machines: &["JL", "JR"],
    rows: &[(&[N, N], &["p-t"]), (&[R, N], &["p-l"]), (&[N, R], &["p-r"]), (&[R, R], &[])],
};

/// One line is open while its own turnout is normal; the crossing move needs both.
const CROSSOVER: Table = Table {
    joint: "[crossover.J]",
    machines: &["JA", "JB"],
    rows: &[(&[N, N], &["a-b", "c-d"]), (&[N, R], &["a-b"]), (&[R, N], &["c-d"]), (&[R, R], &["a-d"])],
};

/// `a` and `b` are on line one, with A at `a` and D at `b`; `c` and `d` on line other, with C at `c` and B at `d`.
const SCISSORS: Table = Table {
    joint: "[scissors.J]",
    machines: &["JA", "JB", "JC", "JD"],
    rows: &[
        (&[N, N, N, N], &["a-b", "c-d"]),
        (&[N, N, N, R], &["c-d"]),
        (&[N, N, R, N], &["a-b"]),
        (&[N, N, R, R], &["b-c"]),
        (&[N, R, N, N], &["a-b"]),
        (&[N, R, N, R], &[]),
        (&[N, R, R, N], &["a-b"]),
        (&[N, R, R, R], &["b-c"]),
        (&[R, N, N, N], &["c-d"]),
        (&[R, N, N, R], &["c-d"]),
        (&[R, N, R, N], &[]),
        (&[R, N, R, R], &["b-c"]),
        (&[R, R, N, N], &["a-d"]),
        (&[R, R, N, R], &["a-d"]),
        (&[R, R, R, N], &["a-d"]),
        (&[R, R, R, R], &["a-d", "b-c"]),
    ],
};

/// W is at `a` and `c`, E at `b` and `d`.
const DOUBLE_SLIP: Table = Table {
    joint: "[slip.J]",
    machines: &["JW", "JE"],
    rows: &[(&[N, N], &["a-b"]), (&[N, R], &["b-c"]), (&[R, N], &["a-d"]), (&[R, R], &["c-d"])],
};

const DOUBLE_SLIP_SWAPPED: Table = Table {
    joint: "[slip.J]\nswap_ends = true",
    machines: &["JW", "JE"],
    rows: &[(&[N, N], &["a-b"]), (&[N, R], &["a-d"]), (&[R, N], &["b-c"]), (&[R, R], &["c-d"])],
};

const SINGLE_SLIP: Table = Table {
    joint: "[slip.J]\nslips = \"one\"",
    machines: &["JW", "JE"],
    rows: &[(&[N, N], &["a-b", "c-d"]), (&[N, R], &["a-b"]), (&[R, N], &["c-d"]), (&[R, R], &["a-d"])],
};

const CROSSING: Table = Table { joint: "[crossing.J]", machines: &[], rows: &[(&[], &["a-b", "c-d"])] };

/// An approach reaches each stall, and no other approach. Common practice, no source.
const TURNTABLE: Table = Table {
    joint: "[turntable.J]\napproach = [\"a\", \"b\"]\nstalls = [\"x\", \"y\", \"z\"]",
    machines: &[],
    rows: &[(&[], &["a-x", "a-y", "a-z", "b-x", "b-y", "b-z"])],
};

const TABLES: [Table; 12] = [
    TURNOUT,
    TURNOUT_NORMAL_DIVERGING,
    WYE,
    WYE_NORMAL_RIGHT,
    THREEWAY,
    CROSSOVER,
    SCISSORS,
    DOUBLE_SLIP,
    DOUBLE_SLIP_SWAPPED,
    SINGLE_SLIP,
    CROSSING,
    TURNTABLE,
];

#[test]
fn ways_through_a_joint_are_open_as_its_table_says() {
    for table in TABLES {
        let network = alone(table.joint);
        let joint = network.joints.iter().find(|joint| joint.id == "J").unwrap();
        let machines: BTreeSet<&str> = names(&network, joint).into_iter().collect();
        assert_eq!(machines, table.machines.iter().copied().collect(), "{}", table.joint);
        let combinations: BTreeSet<&[Position]> = table.rows.iter().map(|row| row.0).collect();
        assert_eq!(combinations.len(), 1 << table.machines.len(), "{}: every combination", table.joint);
        for (positions, open) in table.rows {
            let stand = table.machines.iter().copied().zip(positions.iter().copied()).collect();
            let expected: BTreeSet<String> = open.iter().map(|&way| way.to_owned()).collect();
            assert_eq!(open_ways(&network, joint, &stand), expected, "{}: {stand:?}", table.joint);
        }
    }
}

/// A joint with an end on each of its legs.
fn alone(joint: &str) -> Network {
    let crosses =
        ["[crossover", "[scissors", "[slip", "[crossing"].iter().any(|table| joint.starts_with(table));
    let joint = if crosses { format!("{joint}\n{CROSS}") } else { joint.to_owned() };
    let mut text = format!("[layout]\nname = \"made up\"\n{joint}\n");
    let legs: BTreeSet<&str> = joint.split('"').skip(1).step_by(2).filter(|word| word.len() == 1).collect();
    for leg in legs {
        writeln!(text, "[end.{leg}]\ntrack = \"{leg}\"").unwrap();
    }
    let read = description::read(&text).then(network::resolve);
    assert!(read.diagnostics.is_empty(), "{:?}\n{text}", read.diagnostics);
    read.value
}

fn names<'a>(network: &'a Network, joint: &Joint) -> Vec<&'a str> {
    joint.machines.iter().map(|&machine| network.machine(machine).name.as_str()).collect()
}

/// The ways that are open when the machines stand so, each as the names of its two tracks in order.
fn open_ways(network: &Network, joint: &Joint, stand: &BTreeMap<&str, Position>) -> BTreeSet<String> {
    let is_open = |needs: &[(network::MachineId, Position)]| {
        needs.iter().all(|(machine, position)| stand[network.machine(*machine).name.as_str()] == *position)
    };
    let ways = joint.moves.iter().filter(|way| is_open(&way.needs)).map(|way| {
        let mut ends = way.ports.map(|port| network.track(joint.tracks[port as usize]).name.as_str());
        // A turnout's ways are told from its points, the others by the alphabet.
        if ends[1] == "p" || (ends[0] != "p" && ends[1] < ends[0]) {
            ends.reverse();
        }
        ends.join("-")
    });
    ways.collect()
}
