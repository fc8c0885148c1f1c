//! Entries there and back, and rows that nobody here wrote.

use live::{Entry, EntryUnreadable, Happened, Moment};
use network::Position;
use proptest::prelude::*;

pub(crate) fn positions() -> impl Strategy<Value = Position> {
    prop_oneof![Just(Position::Normal), Just(Position::Reverse)]
}

fn entries() -> impl Strategy<Value = Entry> {
    let what = prop_oneof![
        (any::<u16>(), positions()).prop_map(|(lever, position)| Happened::Thrown { lever, position }),
        (".*", positions()).prop_map(|(machine, position)| Happened::Confirmed { machine, position }),
        ".*".prop_map(|machine| Happened::Overdue { machine }),
    ];
    (any::<u64>(), what).prop_map(|(at, what)| Entry { at: Moment(at), what })
}

proptest! {
    #[test]
    fn prop_an_entry_reads_back_as_it_was_written(entry in entries()) {
        prop_assert_eq!(Entry::read(&entry.write()), Ok(entry));
    }

    #[test]
    fn prop_any_row_is_read_or_refused(row in ".*") {
        if let Ok(entry) = Entry::read(&row) {
            prop_assert_eq!(Entry::read(&entry.write()), Ok(entry));
        }
    }
}

#[test]
fn a_row_says_what_is_wrong_with_it() {
    for (row, wrong) in [
        ("", EntryUnreadable::Short),
        ("5\tthrown\treverse", EntryUnreadable::Short),
        ("noon\tthrown\treverse\t4", EntryUnreadable::Time),
        ("5\tlocked\t-\t4", EntryUnreadable::Word),
        ("5\tthrown\tsideways\t4", EntryUnreadable::Position),
        ("5\tthrown\treverse\tfour", EntryUnreadable::Lever),
        ("5\tthrown\treverse\t65536", EntryUnreadable::Lever),
    ] {
        assert_eq!(Entry::read(row), Err(wrong), "{row:?}");
    }
}
