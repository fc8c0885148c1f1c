//! Which of several routes is meant: the user's way, or the one that reverses the fewest machines.

use crate::plan_of;
use notice::{Severity, code};
use plan::model::Plan;

/// Two tracks between west and east. The main is through at both ends; the siding is shorter and needs both reversed.
const LOOP: &str = "[layout]\nname = \"made up\"\n[end.west]\ntrack = \"west\"\n[end.east]\ntrack = \"east\"\n\
    [turnout.1]\npoints = \"west\"\nthrough = \"main\"\ndiverging = \"siding\"\nhand = \"left\"\n\
    [turnout.2]\npoints = \"east\"\nthrough = \"main\"\ndiverging = \"siding\"\nhand = \"right\"\n\
    [track.main]\nlength = \"3 m\"\n[track.siding]\nlength = \"2 m\"\n";

/// The tracks of a route, by its index.
fn tracks(plan: &Plan, route: usize) -> Vec<&str> {
    plan.routes[route].tracks.iter().map(|&track| plan.network.track(track).name.as_str()).collect()
}

/// Common practice, no source: of two ways the one over the straight legs is the usual one.
#[test]
fn the_usual_route_reverses_nothing() {
    let plan = plan_of(LOOP);
    let chosen: Vec<_> = plan.preferred.iter().map(|decided| tracks(&plan, decided.value)).collect();
    assert_eq!(chosen, [["east", "main", "west"]]);
    let why: Vec<String> = plan.preferred[0].because().map(ToString::to_string).collect();
    assert_eq!(
        why,
        ["of 2 ways between the same stops none reverses fewer machines than its 0 (fewest-reversed)"]
    );
}

#[test]
fn a_named_route_is_the_one_to_set() {
    for wish in ["prefer = \"shortest\"", "via = [\"siding\"]", "avoid = [\"main\"]"] {
        let plan = plan_of(&format!("{LOOP}[route.pass]\nfrom = \"west\"\nto = \"east\"\n{wish}\n"));
        assert_eq!(plan.named[0].name, "pass");
        assert_eq!(tracks(&plan, plan.named[0].route.value), ["east", "siding", "west"], "{wish}");
        assert_eq!(plan.preferred.len(), 1);
        assert_eq!(plan.preferred[0].value, plan.named[0].route.value, "{wish}");
    }
}

#[test]
fn a_named_route_that_no_train_can_run_is_an_error() {
    let text =
        format!("{LOOP}[route.pass]\nfrom = \"west\"\nto = \"east\"\nvia = [\"main\"]\navoid = [\"1\"]\n");
    let outcome = description::read(&text).then(network::resolve).then(plan::make);
    let found: Vec<_> = outcome.diagnostics.iter().map(|note| (note.code, note.severity)).collect();
    assert_eq!(found, [(code::ROUTE_NO_PATH, Severity::Error)]);
}
