//! Address demands that cannot be met: every statement that a finding names is needed for the clash, and no other is.

use notice::{Diagnostic, code};
use proptest::prelude::*;
use std::ops::Range;
use testkit::{list, planned};

/// Something written in a small layout.
#[derive(Clone, Debug, PartialEq)]
enum Said {
    /// A strip of so many pairs with nothing on it, and where it starts.
    Strip(u16, Option<u16>),
    /// Addresses that something else uses.
    Taken(u16, u16),
    /// A turnout, and its address.
    Turnout(Option<u16>),
    /// The last address.
    Last(u16),
}

/// The layout that says this, and where in it each statement stands.
fn layout(said: &[(usize, Said)]) -> (String, Vec<(usize, Range<usize>)>) {
    let mut text = String::from("[layout]\nname = \"Tern Harbor\"\n");
    let mut places = Vec::new();
    for pairs in 1..=12 {
        text += &format!("[part.strip{pairs}]\nrole = \"strip\"\npairs = {pairs}\n");
    }
    for (id, said) in said {
        let from = text.len();
        match said {
            Said::Strip(pairs, start) => {
                text += &format!("[panel.s{id}]\nkind = \"strip\"\npart = \"strip{pairs}\"\ncontrols = []\n");
                if let Some(start) = start {
                    text += &format!("start = {start}\n");
                }
            }
            Said::Turnout(address) => {
                text += &format!(
                    "[turnout.w{id}]\npoints = \"a{id}\"\nthrough = \"b{id}\"\ndiverging = \"c{id}\"\nhand = \"left\"\n"
                );
                if let Some(address) = address {
                    text += &format!("address = {address}\n");
                }
                for leg in ["a", "b", "c"] {
                    text += &format!("[end.{leg}{id}]\ntrack = \"{leg}{id}\"\n");
                }
            }
            Said::Taken(..) | Said::Last(_) => continue,
        }
        places.push((*id, from..text.len()));
    }
    text += "[system]\ntaken = [";
    for (id, said) in said {
        if let Said::Taken(low, high) = said {
            let from = text.len();
            text += &format!("\"{low}-{high}\"");
            places.push((*id, from..text.len()));
            text += ", ";
        }
    }
    text += "]\n";
    for (id, said) in said {
        if let Said::Last(last) = said {
            let from = text.len();
            text += &format!("last_address = {last}\n");
            places.push((*id, from..text.len()));
        }
    }
    (text, places)
}

fn none_free(text: &str) -> Vec<Diagnostic> {
    planned(text).diagnostics.into_iter().filter(|note| note.code == code::ADDRESS_NONE_FREE).collect()
}

/// What each finding is about, and what it names beside it, by the index of the statement.
type Clashes = Vec<(usize, Vec<usize>)>;

/// For each finding that no address is free: the statement it is about, and those that it names beside it.
fn clashes(said: &[(usize, Said)]) -> Clashes {
    let (text, places) = layout(said);
    let at = |start: usize| {
        let place = places.iter().find(|(_, range)| range.contains(&start));
        place.unwrap_or_else(|| panic!("nothing is written at {start} of\n{text}")).0
    };
    none_free(&text)
        .iter()
        .map(|note| {
            (at(note.span.start), note.related.iter().map(|related| at(related.span.start)).collect())
        })
        .collect()
}

fn numbered(said: &[Said]) -> Vec<(usize, Said)> {
    said.iter().cloned().enumerate().collect()
}

/// Worked by hand, with statements by their index.
#[test]
fn what_clashes_is_named_and_nothing_else() {
    use Said::{Last, Strip, Taken, Turnout};
    let cases: [(&str, Vec<Said>, Clashes); 7] = [
        (
            "a strip longer than all there is",
            vec![Strip(12, None), Taken(40, 50), Last(10)],
            vec![(0, vec![2])],
        ),
        // Starts are 1, 5 and 9: 5 is taken, 9 would end at 15, 1 would end at 7. The pin at 3 adds nothing.
        (
            "a taken range in the middle",
            vec![Strip(7, None), Taken(5, 6), Turnout(Some(3)), Last(12)],
            vec![(0, vec![1, 3])],
        ),
        // Two strips of eight do not share twelve addresses.
        ("two strips", vec![Strip(8, None), Strip(8, None), Last(12)], vec![(1, vec![0, 2])]),
        // One of eight finds no place beside one of four in the middle.
        ("a pinned start", vec![Strip(4, Some(5)), Strip(8, None), Last(12)], vec![(1, vec![0, 2])]),
        // Four turnouts and three addresses: all that ask are named, and who takes the rest.
        (
            "levers",
            vec![Turnout(None), Turnout(None), Turnout(None), Taken(3, 3), Last(3)],
            vec![(2, vec![3, 4, 0, 1])],
        ),
        // The pinned one lies in what is taken, so it takes nothing away; nor does the range past the last address.
        (
            "a pin within what is taken",
            vec![Turnout(Some(2)), Turnout(None), Turnout(None), Taken(2, 4), Taken(9, 12), Last(4)],
            vec![(2, vec![3, 5, 1])],
        ),
        // The strip's three spare pairs are its own.
        (
            "a strip and levers",
            vec![Strip(3, Some(1)), Turnout(None), Turnout(None), Last(4)],
            vec![(2, vec![0, 3, 1])],
        ),
    ];
    for (name, said, expected) in cases {
        assert_eq!(clashes(&numbered(&said)), expected, "{name}:\n{}", {
            let (text, _) = layout(&numbered(&said));
            list(&text, &none_free(&text))
        });
    }
}

/// Findings about single demands name what they clash with, however far away that is written: letters under the finding, then letters of
/// each other statement.
#[test]
fn the_other_side_of_a_clash_is_named() {
    let strip = |id: &str, rest: &str| format!("[panel.{id}]\nkind = \"strip\"\npart = \"p4\"\n{rest}");
    let turnout = |id: &str, rest: &str| {
        let ends: String =
            ["a", "b", "c"].map(|leg| format!("[end.{leg}{id}]\ntrack = \"{leg}{id}\"\n")).concat();
        format!(
            "[turnout.{id}]\npoints = \"a{id}\"\nthrough = \"b{id}\"\ndiverging = \"c{id}\"\nhand = \"left\"\n{rest}{ends}"
        )
    };
    let none = "controls = []\n";
    let cases: [(&str, String, &[&str]); 6] = [
        (
            "address-out-of-range",
            turnout("w", "address = 11\n") + "[system]\nlast_address = 10\n",
            &["11", "10"],
        ),
        (
            "strip-start-misfit",
            strip("s", &format!("start = 9\n{none}")) + "[system]\nlast_address = 10\n",
            &["9", "10"],
        ),
        // The second strip follows the first, so the start of the first is what passes the last address.
        (
            "strip-start-misfit",
            strip("s", &format!("chain = 1\nstart = 5\n{none}"))
                + &strip("t", &format!("chain = 1\n{none}"))
                + "[system]\nlast_address = 10\n",
            &["t", "5", "10"],
        ),
        (
            "strip-start-misfit",
            strip("s", &format!("chain = 1\nstart = 5\n{none}"))
                + &strip("t", &format!("chain = 1\n{none}"))
                + "[system]\ntaken = [\"12\"]\n",
            &["t", "\"12\"", "5"],
        ),
        // The pin of the first lever puts the strip at 21, so that the second is at 22.
        (
            "pin-differs",
            turnout("w", "address = 21\n")
                + &turnout("x", "address = 40\n")
                + &strip("s", "controls = [\"w\", \"x\"]\n"),
            &["40", "s", "21"],
        ),
        // The second strip follows at 9, where the third is pinned to start.
        (
            "address-used-twice",
            turnout("w", "")
                + &turnout("x", "")
                + &strip("s", &format!("chain = 1\nstart = 5\n{none}"))
                + &strip("t", "chain = 1\ncontrols = [\"w\"]\n")
                + &strip("u", "start = 9\ncontrols = [\"x\"]\n"),
            &["9", "t", "5"],
        ),
    ];
    for (code, rows, expected) in cases {
        let text =
            format!("[layout]\nname = \"Tern Harbor\"\n[part.p4]\nrole = \"strip\"\npairs = 4\n{rows}");
        let notes = planned(&text).diagnostics;
        let found: Vec<Vec<&str>> = notes
            .iter()
            .filter(|note| note.code.name() == code)
            .map(|note| {
                let others = note.related.iter().map(|related| related.span);
                [note.span].into_iter().chain(others).map(|span| &text[span.start..span.end]).collect()
            })
            .collect();
        assert_eq!(found, [expected], "{code} in\n{text}\n{}", list(&text, &notes));
    }
}

fn any_said() -> impl Strategy<Value = Said> {
    let start = proptest::option::weighted(0.4, 1_u16..12);
    prop_oneof![
        3 => (1_u16..9, start).prop_map(|(pairs, start)| Said::Strip(pairs, start)),
        3 => (1_u16..14, 0_u16..3).prop_map(|(low, more)| Said::Taken(low, low + more)),
        4 => proptest::option::weighted(0.4, 1_u16..14).prop_map(Said::Turnout),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// Alone, what is named cannot be met; without any one statement of it, it can. Both are asked of the planner itself.
    #[test]
    fn prop_what_clashes_is_irreducible(said in prop::collection::vec(any_said(), 1..9), last in 3_u16..14) {
        let said = numbered(&[said, vec![Said::Last(last)]].concat());
        for (about, named) in clashes(&said) {
            prop_assert!(!named.contains(&about));
            let alone = |out: Option<usize>| -> Vec<(usize, Said)> {
                let stays = |id: usize| Some(id) != out && (id == about || named.contains(&id));
                said.iter().filter(|(id, _)| stays(*id)).cloned().collect()
            };
            let all = clashes(&alone(None));
            prop_assert_eq!(all.len(), 1, "{:?} names {:?} of {:?}", about, named, said);
            for out in &named {
                let (text, _) = layout(&alone(Some(*out)));
                let left = none_free(&text);
                prop_assert!(left.is_empty(), "without {} of {:?} for {}: {}\n{}", out, named, about, list(&text, &left), text);
            }
        }
    }
}
