//! How frogs are fed, joint by joint.
//!
//! # Source
//! A live frog is fed over a contact that moves with the points; a diamond's frogs need a unit: common practice, no source.
//! Which machine of a slip tells the leg is worked out by hand from the positions of each move.

use plan::model::Plan;
use testkit::plan_of;

/// A layout of this one joint, every track of it with an end.
fn joint(table: &str, keys: &str, tracks: &[&str]) -> String {
    let mut text = format!("[layout]\nname = \"Tern Harbor Terminal\"\n[{table}.J]\n{keys}\n");
    for track in tracks {
        text += &format!("[end.\"{track}\"]\ntrack = \"{track}\"\n");
    }
    text
}

/// The frogs of a plan: name, feed, machine.
fn frogs(plan: &Plan) -> Vec<String> {
    let row = |frog: &plan::model::Frog| {
        let machine = match frog.feed.value {
            plan::model::Feed::Contact(Some(machine)) => format!(" {}", plan.network.machine(machine).name),
            plan::model::Feed::Contact(None) | plan::model::Feed::PolarityUnit | plan::model::Feed::Dead => {
                String::new()
            }
        };
        format!("{}: {}{machine}", frog.name, frog.feed.value.word())
    };
    plan.frogs.iter().map(row).collect()
}

fn check(table: &str, keys: &str, tracks: &[&str], expected: &[&str]) {
    assert_eq!(frogs(&plan_of(&joint(table, keys, tracks))), expected, "{table}: {keys}");
}

const TURNOUT: &str = "points = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"";
const THREEWAY: &str = "points = \"a\"\nthrough = \"b\"\nleft = \"c\"\nright = \"d\"";
const FOUR: &str = "one = [\"a\", \"b\"]\nother = [\"c\", \"d\"]";

#[test]
fn a_turnout_feeds_its_frog_over_its_motor() {
    check("turnout", TURNOUT, &["a", "b", "c"], &["frog: switched J"]);
    check("turnout", &format!("{TURNOUT}\nnormal = \"diverging\""), &["a", "b", "c"], &["frog: switched J"]);
    check("wye", "points = \"a\"\nleft = \"b\"\nright = \"c\"", &["a", "b", "c"], &["frog: switched J"]);
}

#[test]
fn a_motor_without_contacts_leaves_the_frog_to_a_unit() {
    let bare = format!("{TURNOUT}\nmotor = \"coil machine\"");
    check("turnout", &bare, &["a", "b", "c"], &["frog: polarity unit"]);
    // The user's own words about a part count.
    let with_contact = format!("{bare}\n[part.\"coil machine\"]\ncontacts = 1");
    check("turnout", &with_contact, &["a", "b", "c"], &["frog: switched J"]);
}

#[test]
fn what_the_user_writes_is_kept_with_its_reason() {
    for (word, expected) in
        [("dead", "frog: dead"), ("polarity unit", "frog: polarity unit"), ("switched", "frog: switched J")]
    {
        let keys = format!("{TURNOUT}\nmotor = \"servo\"\nfrog_feed = \"{word}\"");
        let plan = plan_of(&joint("turnout", &keys, &["a", "b", "c"]));
        assert_eq!(frogs(&plan), [expected]);
        let reasons: Vec<&str> = plan.frogs[0].feed.because().map(|because| because.rule.name).collect();
        let more: &[&str] = if word == "switched" { &["contact-to-add"] } else { &[] };
        assert_eq!(reasons, [&["pinned"], more].concat(), "{word}");
    }
    check(
        "crossing",
        &format!("{FOUR}\nfrog_feed = \"switched\""),
        &["a", "b", "c", "d"],
        &["frog between a and c: switched", "frog between b and d: switched"],
    );
}

/// A stall motor carries two contacts, so the left machine of a three-way feeds its own frog and the one in the middle.
#[test]
fn a_threeway_has_three_frogs() {
    let ends = ["a", "b", "c", "d"];
    check(
        "threeway",
        THREEWAY,
        &ends,
        &["left frog: switched JL", "right frog: switched JR", "middle frog: switched JL"],
    );
    check(
        "threeway",
        &format!("{THREEWAY}\n[part.\"stall motor\"]\ncontacts = 1"),
        &ends,
        &["left frog: switched JL", "right frog: switched JR", "middle frog: polarity unit"],
    );
}

#[test]
fn crossovers_and_scissors_have_a_frog_at_each_turnout() {
    let ends = ["a", "b", "c", "d"];
    check("crossover", FOUR, &ends, &["frog of A: switched JA", "frog of B: switched JB"]);
    check(
        "scissors",
        FOUR,
        &ends,
        &[
            "frog of A: switched JA",
            "frog of B: switched JB",
            "frog of C: switched JC",
            "frog of D: switched JD",
            "first frog of the diamond: polarity unit",
            "second frog of the diamond: polarity unit",
        ],
    );
}

/// By hand, from a–b: W N, E N; c–d: W R, E R; a–d: W R, E N; c–b: W N, E R. Trains use a with E normal and c with E
/// reverse, whatever W does. With the other linkage a–d has W N, E R and c–b W R, E N, so that W tells a from c.
#[test]
fn a_double_slip_feeds_each_frog_over_the_machine_of_the_far_end() {
    let ends = ["a", "b", "c", "d"];
    check("slip", FOUR, &ends, &["frog between a and c: switched JE", "frog between b and d: switched JW"]);
    check(
        "slip",
        &format!("{FOUR}\nswap_ends = true"),
        &ends,
        &["frog between a and c: switched JW", "frog between b and d: switched JE"],
    );
}

/// By hand: a–b needs W normal and leaves E as it stands, so that no machine tells a from c.
#[test]
fn a_single_slip_and_a_diamond_need_units() {
    let ends = ["a", "b", "c", "d"];
    let units = ["frog between a and c: polarity unit", "frog between b and d: polarity unit"];
    check("slip", &format!("{FOUR}\nslips = \"one\""), &ends, &units);
    check("crossing", FOUR, &ends, &units);
    check("turntable", "approach = [\"a\"]\nstalls = [\"b\", \"c\"]", &["a", "b", "c"], &[]);
}
