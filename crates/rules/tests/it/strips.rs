//! Strips that are too short, chains that find no address, and levers that no strip has.

use testkit::{check, plan_of};

/// Three turnouts in a row, their ends, and a strip part of two pairs.
const PIERS: &str = r#"
  [layout]
  name = "Tern Harbor Terminal"
  [turnout.1]
  points = "lead"
  through = "pier 1"
  diverging = "wharf"
  hand = "left"
  [turnout.2]
  points = "pier 1"
  through = "pier 2"
  diverging = "ice house"
  hand = "left"
  [turnout.3]
  points = "pier 2"
  through = "pier 3"
  diverging = "cannery"
  hand = "left"
  [end.yard]
  track = "lead"
  [end.wharf]
  track = "wharf"
  [end."ice house"]
  track = "ice house"
  [end.cannery]
  track = "cannery"
  [end.pier]
  track = "pier 3"
  [line.piers]
  from = "yard"
  to = "pier"
  [part.short]
  role = "strip"
  pairs = 2
"#;

fn check_piers(rows: &str) {
    check(&format!("{PIERS}{rows}"));
}

/// What each pair of each strip moves, strip by strip.
fn pairs(rows: &str) -> Vec<Vec<Option<String>>> {
    let plan = plan_of(&format!("{PIERS}{rows}"));
    let id = |lever: &network::LeverId| plan.network.lever(*lever).id.clone();
    plan.strips.iter().map(|strip| strip.pairs.iter().map(|pair| pair.as_ref().map(id)).collect()).collect()
}

const FULL: &str = r#"
  [panel.harbor]
#        ^^^^^^ error[strip-full]: strip `harbor` has 2 pairs; none is left for `3`
# | add a strip and name them there:
# | [panel."harbor 2"]
# | kind = "strip"
# | controls = ["3"]
  kind = "strip"
  part = "short"
  controls = ["piers"]
"#;

#[test]
fn a_full_strip_names_what_is_left_over() {
    check_piers(FULL);
}

#[test]
fn what_the_help_of_a_full_strip_says_mends_it() {
    let pasted = "[panel.\"harbor 2\"]\nkind = \"strip\"\ncontrols = [\"3\"]\n";
    let strips = pairs(&format!("{FULL}{pasted}"));
    assert_eq!(strips[0], [Some("1".to_owned()), Some("2".to_owned())]);
    assert_eq!(strips[1][0].as_deref(), Some("3"));
}

#[test]
fn a_line_goes_on_where_the_next_strip_names_it_or_names_nothing() {
    for controls in ["controls = [\"piers\"]", ""] {
        let strips = pairs(&format!(
            "[panel.a]\nkind = \"strip\"\npart = \"short\"\nchain = 1\ncontrols = [\"piers\"]\n\
             [panel.b]\nkind = \"strip\"\npart = \"short\"\nchain = 1\n{controls}\n"
        ));
        assert_eq!(strips[1], [Some("3".to_owned()), None], "{controls}");
    }
}

#[test]
fn a_lever_on_no_strip_is_named() {
    check_piers(
        r#"
  [panel.harbor]
  kind = "strip"
  controls = ["1", "3"]
  # @ warning[lever-no-control]: no panel has a control for `2`
  # | add "2" to the `controls` of a panel
"#,
    );
}

#[test]
fn a_control_that_is_misspelt_is_one_mistake() {
    check_piers(
        r#"
  [panel.harbor]
  kind = "strip"
  controls = ["peirs"]
#             ^^^^^^^ error[control-unknown]: there is no line, lever or accessory `peirs` to control
# | did you mean `piers`?
"#,
    );
}

#[test]
fn a_strip_that_finds_no_addresses_is_one_mistake() {
    check_piers(
        r#"
  [panel.harbor]
#        ^^^^^^ error[address-none-free]: no 12 addresses in a row are free up to 2040 for the chain of strip `harbor`
  kind = "strip"
  [system]
  taken = ["5-2035"]
"#,
    );
}

/// # Source
/// Eleven bits hold 2048 addresses: NMRA S-9.2.1 (July 2012), section D.
#[test]
fn a_strip_behind_the_very_last_address_is_refused() {
    check_piers(
        r#"
  [panel.a]
  kind = "strip"
  part = "short"
  chain = 1
  start = 2047
  controls = ["1", "2"]
  [panel.b]
#        ^ error[address-none-free]: no address is left for strip `b` behind strip `a` on its chain
# | start the chain lower, or give the strip a chain of its own
  kind = "strip"
  part = "short"
  chain = 1
  controls = ["3"]
  [system]
  last_address = 2048
"#,
    );
}

#[test]
fn a_pin_on_the_second_strip_of_a_chain_moves_the_chain() {
    let text = PIERS.replace("[turnout.3]", "[turnout.3]\n  address = 43");
    let rows = "[panel.a]\nkind = \"strip\"\npart = \"short\"\nchain = 1\ncontrols = [\"1\", \"2\"]\n\
                [panel.b]\nkind = \"strip\"\npart = \"short\"\nchain = 1\ncontrols = [\"3\"]\n";
    let plan = plan_of(&format!("{text}{rows}"));
    let addresses: Vec<u16> = plan.levers.iter().map(|lever| lever.address.value.number()).collect();
    assert_eq!(addresses, [41, 42, 43]);
}

#[test]
fn a_strip_that_starts_inside_another_or_leaves_a_gap_is_refused() {
    check_piers(
        r#"
  [panel.a]
  kind = "strip"
  chain = 1
  start = 1
  controls = ["1"]
  [panel.b]
  kind = "strip"
  chain = 1
  start = 21
#         ^^ error[strip-start-misfit]: strip `b` is pinned to start at 21, but on its chain it goes on at 13
# | leave `start` out, write start = 13, or give it a chain of its own
  controls = ["2"]
  [panel.c]
  kind = "strip"
  start = 30
#         ^^ error[strip-start-misfit]: strips `b` (21–32) and `c` (30–41) command some of the same addresses
  controls = ["3"]
"#,
    );
}
