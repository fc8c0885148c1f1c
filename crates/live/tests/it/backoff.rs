//! When a link is tried again.

use live::Moment;
use live::link::{Backoff, STEADY, STEPS};

#[test]
fn waits_grow_to_the_longest_and_begin_anew_only_after_a_link_was_steady() {
    let mut backoff = Backoff::default();
    let mut lost = |up: Option<u64>, at: u64| {
        if let Some(up) = up {
            backoff.up(Moment(up));
        }
        backoff.lost(Moment(at)).0
    };
    let waits: Vec<u64> = (0..8).map(|at| lost(None, at)).collect();
    assert_eq!(waits, [250, 500, 1_000, 2_000, 5_000, 15_000, 15_000, 15_000]);
    // Taken and closed at once, as a far end in trouble does.
    assert_eq!(lost(Some(1_000), 1_000 + STEADY.0 - 1), 15_000);
    assert_eq!(lost(Some(1_000), 1_000 + STEADY.0), STEPS[0].0);
    assert_eq!(lost(None, 20_000), STEPS[1].0);
    // A clock that was set back makes nothing steady.
    assert_eq!(lost(Some(90_000), 10), STEPS[2].0);
}
