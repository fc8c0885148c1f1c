//! The locking table: every route with its levers and everything it excludes.

use std::collections::BTreeSet;

use network::{Position, Why, reasons};
use plan::model::Plan;

use crate::fixture::{harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

fn told() -> Vec<String> {
    let binder = harbor_binder();
    Paper::of(&binder.pdf).told(pages_of(binder, "Locking table"))
}

/// Where these words stand together, and what follows them.
fn after<'a>(words: &'a [String], wanted: &str) -> &'a [String] {
    let wanted: Vec<&str> = wanted.split_whitespace().collect();
    let at = words.windows(wanted.len()).position(|window| window.iter().eq(wanted.iter()));
    &words[at.unwrap_or_else(|| panic!("no `{}` on the sheet", wanted.join(" "))) + wanted.len()..]
}

/// Takes a list off the front of the words: `–`, `1, 6–9`, `all but 3` or `all others`, of the numbers in `all`.
fn list(words: &mut &[String], all: &BTreeSet<usize>) -> BTreeSet<usize> {
    let mut next = || {
        let (first, rest) = words.split_first().unwrap();
        *words = rest;
        first.as_str()
    };
    let mut word = next();
    let but = word == "all";
    if but && next() == "others" {
        return all.clone();
    }
    if word == "–" {
        return BTreeSet::new();
    }
    let mut named = BTreeSet::new();
    if but {
        word = next();
    }
    loop {
        let number = |text: &str| text.parse::<usize>().unwrap_or_else(|_| panic!("`{word}` is no number"));
        let run = word.trim_end_matches(',');
        let (first, last) = run.split_once('–').unwrap_or((run, run));
        named.extend(number(first)..=number(last));
        if !word.ends_with(',') {
            break;
        }
        word = next();
    }
    if but { all.difference(&named).copied().collect() } else { named }
}

fn needs(plan: &Plan, route: usize, wanted: Position) -> BTreeSet<usize> {
    let numbers = plan.numbers();
    let needs = plan.routes[route].needs.iter().filter(|(_, position)| *position == wanted);
    needs.map(|(machine, _)| usize::from(numbers[&plan.network.machine(*machine).lever])).collect()
}

/// Why two routes exclude each other is asked pair by pair, which is another road than the table's.
#[test]
fn every_route_stands_with_its_levers_and_all_it_excludes() {
    let plan = tern_harbor();
    let words = told();
    assert!(plan.routes.len() > 50);
    let levers = BTreeSet::new();
    for (index, route) in plan.routes.iter().enumerate() {
        let name = |track| plan.network.track(track).name.as_str();
        let mut row = after(&words, &format!("{} {} – {}", index + 1, name(route.from()), name(route.to())));
        assert_eq!(list(&mut row, &levers), needs(&plan, index, Position::Normal), "route {}", index + 1);
        assert_eq!(list(&mut row, &levers), needs(&plan, index, Position::Reverse), "route {}", index + 1);
        let (mut by_lever, mut by_track, mut others) = (BTreeSet::new(), BTreeSet::new(), BTreeSet::new());
        for (other, with) in plan.routes.iter().enumerate().filter(|(other, _)| *other != index) {
            others.insert(other + 1);
            let why = reasons(&plan.network, route, with);
            if why.iter().any(|why| matches!(why, Why::Opposed(_))) {
                by_lever.insert(other + 1);
            } else if !why.is_empty() {
                by_track.insert(other + 1);
            }
        }
        assert_eq!(list(&mut row, &others), by_lever, "route {}", index + 1);
        assert_eq!(list(&mut row, &others), by_track, "route {}", index + 1);
    }
}

#[test]
fn every_lever_names_the_routes_that_need_it_either_way() {
    let plan = tern_harbor();
    let words = told();
    let all = (1..=plan.routes.len()).collect();
    let by_lever = after(&words, "Lever by lever");
    for planned in &plan.levers {
        let number = usize::from(planned.number.value);
        let mut row = after(by_lever, &format!("{number} {}", plan.network.lever(planned.lever).name));
        for position in [Position::Normal, Position::Reverse] {
            let users =
                (0..plan.routes.len()).filter(|&route| needs(&plan, route, position).contains(&number));
            let users: BTreeSet<usize> = users.map(|route| route + 1).collect();
            assert_eq!(list(&mut row, &all), users, "lever {number}");
        }
    }
}

/// By hand, from the description: the yard's own drill track, the siding's cannery spur to a pier, and an engine from the coal
/// track to the loop are out of each other's way; anything else takes the engine house's points, the middle crossover or the
/// throat from one of them.
#[test]
fn the_most_at_once_is_said_to_be_proven() {
    let words = told().join(" ");
    assert!(words.contains("3 routes can be set at once"), "{words}");
    assert!(words.contains("that no larger set exists is proven"), "{words}");
}
