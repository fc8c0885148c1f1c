//! What is on each sheet: every number, name, address and stop, on the page where the index says it is.

use std::collections::BTreeSet;

use crate::fixture::{first_module_with, harbor_binder, pages_of, tern_harbor};
use crate::poppler::Paper;

/// The pages of one sheet of the demo's binder, as text.
fn sheet(title: &str) -> String {
    let binder = harbor_binder();
    Paper::of(&binder.pdf).pages()[pages_of(binder, title)].join("\n")
}

fn words(row: &str) -> Vec<&str> {
    row.split_whitespace().collect()
}

#[test]
fn every_lever_has_a_row_with_its_number_name_address_board_and_output() {
    let plan = tern_harbor();
    let table = sheet("Levers");
    for planned in &plan.levers {
        let name = &plan.network.lever(planned.lever).name;
        let address = planned.address.value.number();
        // NMRA S-9.2.1, section D, user numbering of LCC TN-9.7.0.4: four outputs to a board, both counted from 1.
        let (board, output) = ((address - 1) / 4 + 1, (address - 1) % 4 + 1);
        let number = planned.number.value.to_string();
        let row = table
            .lines()
            .find(|row| words(row).first() == Some(&number.as_str()) && row.contains(name.as_str()));
        let row = row.unwrap_or_else(|| panic!("no row for lever {number} {name} in\n{table}"));
        let figures = format!(" {address} {board} {output} ");
        assert!(words(row).join(" ").contains(&figures), "no `{figures}` in {row}");
    }
}

#[test]
fn the_address_map_shows_every_output_of_every_board_in_use() {
    let plan = tern_harbor();
    let map = sheet("Addresses by board");
    let used: BTreeSet<u16> = plan.addresses.iter().map(|planned| planned.address.number()).collect();
    let boards: BTreeSet<u16> = used.iter().map(|address| (address - 1) / 4).collect();
    let expected: Vec<u16> = boards.iter().flat_map(|board| board * 4 + 1..=board * 4 + 4).collect();
    let all = words(&map);
    let shown: Vec<u16> = all
        .windows(2)
        .filter(|pair| pair[0] == "address")
        .filter_map(|pair| pair[1].parse().ok())
        .filter(|address| expected.contains(address))
        .collect();
    for address in &expected {
        assert!(shown.contains(address), "address {address} is not on the map\n{map}");
    }
    let free = all.iter().filter(|&&word| word == "free").count();
    assert_eq!(free, expected.len() - used.len(), "free outputs in\n{map}");
}

/// A strip that starts at 101 and names a light alone: it is on pair 1, at 101.
#[test]
fn a_light_stands_in_the_address_map_and_on_its_pair() {
    let more =
        "[light.depot]\nnumber = 77\n[panel.shed]\nkind = \"strip\"\nstart = 101\ncontrols = [\"depot\"]\n";
    let binder = binder::typeset(&first_module_with(more), &binder::Options::default()).unwrap();
    let paper = Paper::of(&binder.pdf);
    let sheet = |title: &str| words(&paper.pages()[pages_of(&binder, title)].join("\n")).join(" ");
    let map = sheet("Addresses by board");
    assert!(map.contains("address 101") && map.contains("77 light depot"), "{map}");
    assert!(!map.contains("no decoder output drives it"), "{map}");
    let decoders = sheet("Decoders");
    assert!(decoders.contains("1 101 77 light depot light depot lamp"), "{decoders}");
    let strips = sheet("Setting up the strips");
    assert!(strips.contains("1 101 77 light depot"), "{strips}");
    assert!(sheet("Index").contains("101"), "{}", sheet("Index"));
}

#[test]
fn every_route_stands_with_its_levers_in_the_order_a_train_meets_them() {
    let plan = tern_harbor();
    let table = sheet("Routes");
    let all = words(&table).join(" ");
    for stop in plan.network.stops() {
        let name = &plan.network.track(stop).name;
        assert!(table.contains(name.as_str()), "no stop {name}");
    }
    // By hand, from the description: from the cannery spur a train to the ice house meets the cannery's points, the
    // middle crossover, the wharf's and the ice house's.
    assert!(all.contains("ice house 8 reverse 3 normal 9 reverse 11 reverse"), "{all}");
}

#[test]
fn every_decoder_and_strip_is_listed_with_its_addresses() {
    let plan = tern_harbor();
    let (decoders, strips) = (sheet("Decoders"), sheet("Setting up the strips"));
    for decoder in &plan.decoders {
        let last = decoder.first.value.number() + decoder.outputs - 1;
        let span = format!("{}–{last}", decoder.first.value.number());
        let row = decoders.lines().find(|row| words(row).first() == Some(&decoder.id.as_str()));
        assert!(
            row.is_some_and(|row| row.contains(&span)),
            "no row `{} … {span}` in\n{decoders}",
            decoder.id
        );
    }
    for strip in &plan.strips {
        assert!(strips.contains(&format!("Strip {}", strip.panel)));
        assert!(
            strips.contains(&format!("Set its start address to {}.", strip.first.value.number())),
            "{strips}"
        );
    }
    for chain in &plan.chains {
        assert!(strips.contains(&format!("Set its cab-bus address to {}.", chain.cab.value)), "{strips}");
    }
}

#[test]
fn every_decision_about_a_lever_says_why() {
    let plan = tern_harbor();
    let why: String = sheet("Why it is so").split_whitespace().collect();
    for planned in &plan.levers {
        for because in planned.number.because().chain(planned.address.because()) {
            assert!(why.contains(because.rule.name), "no rule {}", because.rule.name);
        }
    }
}

#[test]
fn the_index_gives_exactly_the_pages_where_a_track_is_named() {
    // A name that is part of no other words in the book.
    let track = "cannery spur";
    let binder = harbor_binder();
    let pages = Paper::of(&binder.pdf).pages();
    let last_sheet = binder.sheets.last().unwrap();
    assert_eq!(last_sheet.title, "Index");
    // These go by place, as the index says.
    let by_place =
        binder.sheets.iter().map(|sheet| sheet.title.as_str()).filter(|title| {
            ["Commissioning", "Fault finding"].contains(title) || title.starts_with("Labels")
        });
    let by_place: Vec<_> = by_place.map(|title| pages_of(binder, title)).collect();
    let indexed = |page: &usize| !by_place.iter().any(|pages| pages.contains(&(page - 1)));
    let named: Vec<usize> = (1..last_sheet.page)
        .filter(indexed)
        .filter(|page| words(&pages[page - 1]).join(" ").contains(track))
        .collect();
    let index = pages[last_sheet.page - 1..].join("\n");
    let entry = index.lines().find_map(|row| row.split_once(track)).map(|(_, pages)| pages).unwrap();
    // The columns of the index stand side by side; an entry ends where a wide gap begins.
    let entry = entry.trim_start().split("  ").next().unwrap();
    let given: Vec<usize> = entry
        .split(", ")
        .flat_map(|run| {
            let (first, last) = run.split_once('–').unwrap_or((run, run));
            first.trim().parse::<usize>().unwrap()..=last.trim().parse().unwrap()
        })
        .collect();
    assert_eq!(given, named, "the entry is `{entry}`");
}

#[test]
fn the_safety_page_comes_before_anything_to_build_from() {
    let binder = harbor_binder();
    assert_eq!(
        binder.sheets.first().map(|sheet| (sheet.title.as_str(), sheet.page)),
        Some(("Safety first", 2))
    );
    let page = words(&sheet("Safety first")).join(" ");
    for caution in [
        "licensed electrician",
        "local codes",
        "Fuse every supply",
        "Eye protection",
        "alone",
        "not a safety device",
    ] {
        assert!(page.to_lowercase().contains(&caution.to_lowercase()), "nothing about `{caution}`");
    }
}

#[test]
fn every_wire_stands_under_the_place_it_serves_with_its_length() {
    let plan = tern_harbor();
    let list = sheet("Wires by place");
    for wire in &plan.wires {
        let row = list.lines().find(|row| words(row).first() == Some(&wire.id.value.as_str()));
        let row = row.unwrap_or_else(|| panic!("no row for {} in\n{list}", wire.id.value));
        if let Some(length) = wire.length.value {
            let printed = length.print(measure::Units::Imperial);
            assert!(words(row).join(" ").ends_with(&printed), "no {printed} in {row}");
        }
    }
    // By hand: machine coal stands at bay 1 and its decoder at bay 3, two benches of 4 ft with 15 % slack and 18 in at each end.
    let coal = plan.wires.iter().find(|wire| wire.key == "machine coal motor").unwrap();
    let row = list.lines().find(|row| words(row).first() == Some(&coal.id.value.as_str())).unwrap();
    assert!(row.contains("12 ft 2.5 in"), "{row}");
}

#[test]
fn terminals_and_pins_are_listed_with_their_conductors() {
    let plan = tern_harbor();
    let (terminals, pins) = (sheet("Terminals"), sheet("Connectors between modules"));
    for strip in &plan.terminal_strips {
        assert!(terminals.contains(&format!("At {}", strip.at)), "{terminals}");
    }
    let [joint] = plan.module_joints.as_slice() else { panic!("{:?}", plan.module_joints) };
    for &(pin, at) in &joint.pins {
        let core = &plan.wires[at.wire].cores[at.core].id;
        let start = format!("1 {pin} {core} ");
        assert!(pins.lines().any(|row| words(row).join(" ").starts_with(&start)), "no `{start}` in\n{pins}");
    }
}

#[test]
fn what_to_buy_is_listed_with_its_count() {
    let plan = tern_harbor();
    let list = sheet("Parts and wire");
    for part in &plan.parts_list {
        let row = list.lines().find(|row| row.trim_start().starts_with(&part.what));
        let row = words(row.unwrap_or_else(|| panic!("no row for {} in\n{list}", part.what))).join(" ");
        let figures = format!("{} {} ", part.what, part.needed);
        assert!(row.starts_with(&figures) && row.contains(&format!(" {} the plan", part.buy.value)), "{row}");
    }
}
