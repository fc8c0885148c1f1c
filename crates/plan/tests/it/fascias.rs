//! What stands on a fascia and what it does, against what a builder would say of small layouts.

use crate::plan_of;
use network::Position;
use plan::model::{Does, Plan};

/// A ladder of three tracks behind a lead; a panel for it.
fn ladder(keys: &str) -> Plan {
    plan_of(&format!(
        "[layout]\nname = \"ladder\"\n\
         [turnout.1]\npoints = \"lead\"\nthrough = \"ladder\"\ndiverging = \"a\"\nhand = \"left\"\n\
         [turnout.2]\npoints = \"ladder\"\nthrough = \"c\"\ndiverging = \"b\"\nhand = \"left\"\n\
         [end.lead]\ntrack = \"lead\"\n[end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n\
         [panel.desk]\nkind = \"fascia\"\n{keys}"
    ))
}

/// Each device in a row: its id and what it does, levers by their ids.
fn says(plan: &Plan) -> Vec<String> {
    let stand = |(lever, position): &(network::LeverId, Position)| {
        format!("{}{}", plan.network.lever(*lever).id, if *position == Position::Normal { "N" } else { "R" })
    };
    let devices = plan.fascias.iter().flat_map(|fascia| &fascia.devices);
    let row = |device: &plan::model::Device| {
        let does = match &device.does.value {
            Does::Holds(lever) => format!("holds {}", plan.network.lever(*lever).id),
            Does::Shines(levers) => levers.iter().map(stand).collect::<Vec<_>>().join(" "),
            Does::Throws(bursts) => {
                let burst = |burst: &Vec<_>| burst.iter().map(stand).collect::<Vec<_>>().join(" ");
                bursts.iter().map(burst).collect::<Vec<_>>().join(" | ")
            }
        };
        format!("{}: {does}", device.id)
    };
    devices.map(row).collect()
}

#[test]
fn a_pair_has_a_button_on_each_leg() {
    let plan = ladder("lamps = false\n");
    assert_eq!(says(&plan), ["B1: 1N", "B2: 1R", "B3: 2N", "B4: 2R"]);
}

#[test]
fn a_toggle_stands_at_each_lever_and_lamps_show_the_legs() {
    let plan = ladder("buttons = \"toggle\"\n");
    assert_eq!(says(&plan), ["T1: holds 1", "T2: holds 2", "L1: 1N", "L2: 1R", "L3: 2N", "L4: 2R"]);
}

/// By hand: to a 1 must be reverse; to b and c it must be normal and 2 reverse or normal. To the lead every way needs
/// something else, so its button takes the way that reverses the fewest.
#[test]
fn one_push_sets_what_every_way_there_needs() {
    let plan = ladder("buttons = \"one-push\"\nlamps = false\n");
    assert_eq!(says(&plan), ["B1: 1R", "B2: 1N 2R", "B3: 1N 2N", "B4: 1N 2N"]);
    let why: Vec<String> = plan.fascias[0].devices[1].does.because().map(ToString::to_string).collect();
    assert_eq!(why, ["all ways there (1 of them) need these levers so (alike-there)"]);
}

#[test]
fn a_named_route_is_the_way_that_one_push_sets() {
    let plan =
        ladder("buttons = \"one-push\"\nlamps = false\n[route.departure]\nfrom = \"lead\"\nto = \"b\"\n");
    assert_eq!(says(&plan), ["B1: 1R", "B2: 1N 2R", "B3: 1N 2N", "B4: 1N 2R"]);
}

/// A push does not reach past another panel's levers, and what it leaves has a pair.
#[test]
fn one_push_stops_where_another_panel_begins() {
    let plan =
        ladder("buttons = \"one-push\"\nlamps = false\ncontrols = [\"2\"]\n[panel.west]\nkind = \"strip\"\n");
    assert_eq!(says(&plan), ["B1: 2R", "B2: 2N", "B3: 2N"]);
    assert_eq!(plan.strips[0].pairs.iter().flatten().count(), 1, "the strip takes what no fascia names");
}

#[test]
fn coils_on_a_fascia_wait_for_one_another() {
    let plan = ladder("buttons = \"one-push\"\nlamps = false\n[defaults]\nmotor = \"coil machine\"\n");
    assert_eq!(says(&plan), ["B1: 1R", "B2: 1N | 2R", "B3: 1N | 2N", "B4: 1N | 2N"]);
}

/// Both sides of a three-way at once is forbidden: no button may leave one reverse while it reverses the other.
#[test]
fn a_three_way_has_one_button_a_leg() {
    let text = "[layout]\nname = \"three\"\n\
                [threeway.T]\npoints = \"lead\"\nthrough = \"b\"\nleft = \"a\"\nright = \"c\"\n\
                [end.lead]\ntrack = \"lead\"\n[end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n\
                [panel.desk]\nkind = \"fascia\"\n";
    let plan = plan_of(text);
    assert_eq!(
        says(&plan),
        ["B1: TLR TRN", "B2: TLN TRN", "B3: TLN TRR", "L1: TLR TRN", "L2: TLN TRN", "L3: TLN TRR"]
    );
}

#[test]
fn a_lever_on_a_fascia_has_the_lowest_free_address() {
    let plan = ladder("");
    let addresses: Vec<u16> = plan.levers.iter().map(|lever| lever.address.value.number()).collect();
    assert_eq!(addresses, [1, 2]);
    assert!(plan.levers.iter().all(|lever| plan.fascia_of(lever.lever).is_some()));
}

#[test]
fn buttons_and_lamps_are_on_the_list_of_parts() {
    let plan = ladder("");
    let count = |what: &str| plan.parts.iter().find(|part| part.what == what).map(|part| part.count.value);
    assert_eq!((count("push button"), count("lamp")), (Some(4), Some(4)));
}

#[test]
fn nothing_changes_when_panels_change_places() {
    let first = "[panel.a]\nkind = \"fascia\"\ncontrols = [\"1\"]\n";
    let second = "[panel.b]\nkind = \"fascia\"\ncontrols = [\"2\"]\n";
    let devices = |panels: &str| {
        let plan = ladder(&format!("controls = []\n{panels}"));
        let mut rows: Vec<String> = plan
            .fascias
            .iter()
            .map(|fascia| {
                format!(
                    "{}: {:?}",
                    fascia.panel,
                    fascia.devices.iter().map(|device| &device.does.value).collect::<Vec<_>>()
                )
            })
            .collect();
        rows.sort();
        rows
    };
    assert_eq!(devices(&format!("{first}{second}")), devices(&format!("{second}{first}")));
}
