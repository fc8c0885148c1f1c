//! How many coil machines fire at once, and which levers wait.

use crate::plan_of;
use plan::burst::throw_order;
use std::fmt::Write as _;

/// A ladder of five; the turnouts named in `stall` have stall motors, the others coils of 1 A.
fn ladder(supply: &str, stall: &[usize]) -> String {
    let mut text = format!(
        "[layout]\nname = \"ladder\"\n[defaults]\nmotor = \"coil machine\"\n{supply}\n[end.lead]\ntrack = \"l1\"\n"
    );
    for turnout in 1..=5 {
        let motor = if stall.contains(&turnout) { "motor = \"stall motor\"\n" } else { "" };
        write!(
            text,
            "[turnout.{turnout}]\npoints = \"l{turnout}\"\nthrough = \"l{}\"\ndiverging = \"y{turnout}\"\nhand = \"left\"\n{motor}\
             [end.y{turnout}]\ntrack = \"y{turnout}\"\n",
            turnout + 1
        )
        .unwrap();
    }
    text + "[end.l6]\ntrack = \"l6\"\n"
}

type Bursts = &'static [&'static [u16]];

/// By hand: the route to the end of the ladder throws all five. Coils of 1 A; stall motors need not wait.
#[test]
fn bursts_keep_within_the_supply() {
    let gives = |amps: &str| format!("[part.\"accessory supply\"]\ngives = \"{amps}\"");
    let cases: [(String, &[usize], Bursts); 5] = [
        (String::new(), &[], &[&[1], &[2], &[3], &[4], &[5]]),
        (gives("2.5 A"), &[], &[&[1, 2], &[3, 4], &[5]]),
        (gives("0.5 A"), &[], &[&[1], &[2], &[3], &[4], &[5]]),
        (gives("2 A"), &[2, 4], &[&[1, 2, 3, 4], &[5]]),
        (String::new(), &[1, 2, 3, 4, 5], &[&[1, 2, 3, 4, 5]]),
    ];
    for (supply, stall, expected) in cases {
        let plan = plan_of(&ladder(&supply, stall));
        let longest = plan.routes.iter().max_by_key(|route| route.needs.len()).unwrap();
        assert_eq!(throw_order(&plan, &plan.numbers(), longest), expected, "{supply} {stall:?}");
    }
}
