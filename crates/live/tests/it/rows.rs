//! Entries there and back, and rows that nobody here wrote.

use description::record::Verdict;
use live::{
    Elsewhere, Entry, EntryUnreadable, Found, Happened, HeldBy, Hold, Moment, RouteName, Said, Stands, State,
};
use network::Position;
use proptest::prelude::*;

use crate::by_hand;

pub(crate) fn positions() -> impl Strategy<Value = Position> {
    prop_oneof![Just(Position::Normal), Just(Position::Reverse)]
}

fn said() -> impl Strategy<Value = Said> {
    ".*".prop_map(|words| Said::new(&words))
}

fn route_names() -> impl Strategy<Value = RouteName> {
    (said(), prop::collection::vec((any::<u16>(), positions()), 0..5))
        .prop_map(|(id, levers)| RouteName { id, levers })
}

fn stands() -> impl Strategy<Value = Stands> {
    prop_oneof![
        Just(Stands::Unknown),
        positions().prop_map(Stands::At),
        positions().prop_map(Stands::Moving),
        positions().prop_map(Stands::Sent),
        positions().prop_map(Stands::Overdue),
    ]
}

fn elsewhere() -> impl Strategy<Value = Elsewhere> {
    let held_by = || prop_oneof![Just(HeldBy::Lock), Just(HeldBy::Route)];
    prop_oneof![
        (".*", said()).prop_map(|(machine, over)| Elsewhere::Reached { machine, over }),
        (".*", said(), any::<bool>()).prop_map(|(machine, why, is_seen)| Elsewhere::Lost {
            machine,
            why,
            is_seen
        }),
        (".*", stands()).prop_map(|(machine, stands)| Elsewhere::Stands { machine, stands }),
        (".*", said(), held_by(), said(), said(), said()).prop_map(
            |(machine, server, held_by, panel, note, by)| {
                Elsewhere::Held { machine, server, hold: Hold { held_by, panel, note, by } }
            }
        ),
        (".*", said(), held_by()).prop_map(|(machine, server, by)| Elsewhere::LetGo { machine, server, by }),
        (".*", said()).prop_map(|(machine, why)| Elsewhere::Declined { machine, why }),
    ]
}

fn entries() -> impl Strategy<Value = Entry> {
    let lever = || (any::<u16>(), positions(), said());
    let what = prop_oneof![
        lever().prop_map(|(lever, position, by)| Happened::Thrown { lever, position, by }),
        lever().prop_map(|(lever, position, by)| Happened::Waits { lever, position, by }),
        lever().prop_map(|(lever, position, by)| Happened::Undone { lever, position, by }),
        lever().prop_map(|(lever, position, _)| Happened::Fired { lever, position }),
        Just(Happened::Dropped),
        (".*", positions()).prop_map(|(machine, position)| Happened::Confirmed { machine, position }),
        ".*".prop_map(|machine| Happened::Overdue { machine }),
        ".*".prop_map(|machine| Happened::NotSent { machine }),
        (".*", any::<bool>()).prop_map(|(machine, inverted)| Happened::Inverted { machine, inverted }),
        (route_names(), said()).prop_map(|(route, by)| Happened::Asked { route, by }),
        (route_names(), said()).prop_map(|(route, by)| Happened::AskedOnce { route, by }),
        route_names().prop_map(|route| Happened::Set { route }),
        (route_names(), said()).prop_map(|(route, by)| Happened::Released { route, by }),
        (any::<u16>(), said(), said()).prop_map(|(lever, by, note)| Happened::Locked { lever, by, note }),
        (any::<u16>(), said()).prop_map(|(lever, by)| Happened::Unlocked { lever, by }),
        said().prop_map(|by| Happened::Stopped { by }),
        said().prop_map(|by| Happened::Resumed { by }),
        said().prop_map(|link| Happened::LinkUp { link }),
        said().prop_map(|link| Happened::LinkDown { link }),
        (said(), said()).prop_map(|(step, by)| Happened::Turned { step, by }),
        found().prop_map(Happened::Found),
        elsewhere().prop_map(Happened::Elsewhere),
    ];
    (any::<u64>(), what).prop_map(|(at, what)| Entry { at: Moment(at), what })
}

fn found() -> impl Strategy<Value = Found> {
    let verdict = prop::sample::select(Verdict::ALL.map(|(_, verdict)| verdict).to_vec());
    (said(), verdict, any::<u64>(), said(), (said(), said(), said())).prop_map(
        |(step, verdict, when, who, (reading, saw, note))| Found {
            step,
            verdict,
            when: Moment(when),
            who,
            reading,
            saw,
            note,
        },
    )
}

/// Rows as the first version wrote them.
#[test]
fn rows_of_the_first_version_read_as_before() {
    let at = Moment(1_719_835_200_000);
    let thrown = Happened::Thrown { lever: 4, position: Position::Reverse, by: Said::default() };
    let confirmed = Happened::Confirmed { machine: "4A".into(), position: Position::Reverse };
    for (row, what) in [
        ("1719835200000\tthrown\treverse\t4", thrown),
        ("1719835200000\tconfirmed\treverse\t4A", confirmed),
        ("1719835200000\toverdue\t-\t4B", Happened::Overdue { machine: "4B".into() }),
    ] {
        let entry = Entry { at, what };
        assert_eq!(Entry::read(row), Ok(entry.clone()));
        assert_eq!(entry.write(), row, "and are written as before");
    }
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
        ("5\tpolished\t-\t4", EntryUnreadable::Word),
        ("5\tlocked\t-\t4", EntryUnreadable::Short),
        ("5\tasked\t1N,4\tRuth\twest – east", EntryUnreadable::Position),
        ("5\tasked\t1N,xR\tRuth\twest – east", EntryUnreadable::Lever),
        ("5\tthrown\tsideways\t4", EntryUnreadable::Position),
        ("5\tthrown\treverse\tfour", EntryUnreadable::Lever),
        ("5\tthrown\treverse\t65536", EntryUnreadable::Lever),
        ("5\tfound\t-\tfine\t5\tRuth\t\t\t\tlever 4", EntryUnreadable::Verdict),
        ("5\tfound\t-\tgood\tnoon\tRuth\t\t\t\tlever 4", EntryUnreadable::Time),
        ("5\tfound\t-\tgood\t5\tRuth\t\t\tlever 4", EntryUnreadable::Short),
        ("5\tturned\t-\tlever 4", EntryUnreadable::Short),
    ] {
        assert_eq!(Entry::read(row), Err(wrong), "{row:?}");
    }
}

#[test]
fn rows_of_a_state_that_do_not_fit_the_railroad_make_no_state() {
    let railroad = by_hand::railroad(&[(1, &["1"]), (4, &["4A", "4B"])]);
    let read = |row: &str| State::read(&railroad, &[row.to_owned()]);
    for row in [
        "machine\tN\t-\t17\to\tc\t4A",
        "waiting\t1N,4R",
        "burst\t17\t2",
        "locked\t4\t17\tRuth\twheel in the frog",
        "thrown\t4\tR",
        "stopped\t17\t",
        "link-down\tlayout bus",
        "found\tskipped\t17\tRuth\t9.8 V\t\tno meter\tbus motors at bay 2",
        "turned\tbus motors at bay 2",
    ] {
        assert_eq!(
            read(row).unwrap().write(&railroad).iter().filter(|written| *written == row).count(),
            1,
            "{row}"
        );
    }
    for row in [
        "",
        "machine",
        "machine\tN\t-\t17\to\tc\t5",
        "machine\tX\t-\t-\t-\t-\t4A",
        "machine\tN\t-\tsoon\t-\t-\t4A",
        "machine\tN\t-\t-\t-",
        "waiting\t1N,5R",
        "waiting\t",
        "waiting\té",
        "held\t1N\t17\t-\tRuth\tno such route",
        "locked\t7\t17\tRuth\tnote",
        "thrown\t4\tX",
        "thrown\t99999\tR",
        "a later word\t4",
    ] {
        assert_eq!(read(row), None, "{row}");
    }
}
