//! Machines that get slow or miss reports, on rows made by hand.

use live::{Entry, Happened, Moment, Railroad, Said, Sign, Signs, Wait};
use network::Position;

use crate::by_hand;

/// Throws lever 1 to and fro, a minute apart, each report so late; none is a throw without one.
fn signs(railroad: &Railroad, took: &[Option<u64>]) -> Vec<Sign> {
    let mut signs = Signs::default();
    for (throw, took) in (1..).zip(took) {
        let at = Moment(throw * 60_000);
        let position = if throw % 2 == 0 { Position::Normal } else { Position::Reverse };
        let thrown = Happened::Thrown { lever: 1, position, by: Said::default() };
        signs.take(railroad, &Entry { at, what: thrown });
        let (at, what) = match took {
            Some(ms) => (at.after(Wait(*ms)), Happened::Confirmed { machine: "1".into(), position }),
            None => (at.after(Wait(6_000)), Happened::Overdue { machine: "1".into() }),
        };
        signs.take(railroad, &Entry { at, what });
    }
    signs.noticed()
}

fn some(ms: u64, count: usize) -> Vec<Option<u64>> {
    vec![Some(ms); count]
}

#[test]
fn a_machine_that_takes_half_as_long_again_is_noticed_and_not_before() {
    let railroad = by_hand::railroad(&[(1, &["1"]), (4, &["4A", "4B"])]);
    let slow = |now: u64| Sign::Slow { machine: "1".into(), usual: Wait(1_000), now: Wait(now) };
    assert_eq!(signs(&railroad, &[some(1_000, 8), some(1_501, 5)].concat()), [slow(1_501)]);
    // Both sides of each threshold.
    assert_eq!(signs(&railroad, &[some(1_000, 8), some(1_500, 5)].concat()), []);
    assert_eq!(
        signs(&railroad, &[some(1_000, 7), some(3_000, 5)].concat()),
        [],
        "too few to know what is usual"
    );
    assert_eq!(
        signs(&railroad, &[some(1_000, 10), some(3_000, 2)].concat()),
        [],
        "two are not the middle of five"
    );
    assert_eq!(signs(&railroad, &[some(100, 8), some(299, 5)].concat()), [], "too small a difference");
    assert!(
        slow(1_501)
            .to_string()
            .starts_with("Machine 1 gets slow: it takes 1.5 s now, and used to take 1.0 s.")
    );
}

#[test]
fn a_machine_that_misses_two_of_ten_is_noticed_and_one_that_misses_one_is_not() {
    let railroad = by_hand::railroad(&[(1, &["1"]), (4, &["4A", "4B"])]);
    let misses = |missed, of| Sign::Misses { machine: "1".into(), missed, of };
    assert_eq!(signs(&railroad, &[some(900, 8), vec![None], some(900, 1)].concat()), []);
    assert_eq!(signs(&railroad, &[vec![None], some(900, 1), vec![None]].concat()), [misses(2, 3)]);
    assert_eq!(signs(&railroad, &[vec![None, None], some(900, 8)].concat()), [misses(2, 10)]);
    assert_eq!(signs(&railroad, &[vec![None, None], some(900, 9)].concat()), [], "one of the last ten");
}

#[test]
fn what_was_not_sent_and_what_reports_another_position_is_not_held_against_a_machine() {
    let railroad = by_hand::railroad(&[(1, &["1"])]);
    let mut signs = Signs::default();
    for throw in 1..20 {
        let at = Moment(throw * 60_000);
        let thrown = Happened::Thrown { lever: 1, position: Position::Normal, by: Said::default() };
        for what in
            [thrown, Happened::NotSent { machine: "1".into() }, Happened::Overdue { machine: "1".into() }]
        {
            signs.take(&railroad, &Entry { at, what });
        }
    }
    assert_eq!(signs.noticed(), []);
}

/// A lever's number may have meant another machine when the row was written: its throw was never that machine's.
#[test]
fn rows_of_a_railroad_that_was_numbered_otherwise_make_no_machine_slow() {
    let railroad = by_hand::railroad(&[(1, &["1"]), (2, &["2"])]);
    let mut signs = Signs::default();
    let mut take = |at: u64, what: Happened| signs.take(&railroad, &Entry { at: Moment(at), what });
    for throw in 0..20 {
        let (at, position) = (throw * 600_000, Position::Reverse);
        take(at, Happened::Thrown { lever: 1, position, by: Said::default() });
        if throw < 12 {
            take(at + 900, Happened::Confirmed { machine: "1".into(), position });
        } else {
            // Lever 1 was machine 2's then; machine 1 was thrown as lever 2, long after.
            take(at + 900, Happened::Confirmed { machine: "2".into(), position });
            take(at + 300_000, Happened::Thrown { lever: 2, position, by: Said::default() });
            take(at + 300_900, Happened::Confirmed { machine: "1".into(), position });
        }
    }
    assert_eq!(signs.noticed(), []);
}
