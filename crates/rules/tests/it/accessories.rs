//! Signals and lights that clash with something, or name what is not there.

use testkit::check;

const WHARF: &str = r#"
  [layout]
  name = "Tern Harbor"
  [turnout.wharf]
  points = "lead"
  through = "pier 1"
  diverging = "pier 2"
  hand = "left"
  address = 7
  number = 3
  [end.lead]
  track = "lead"
  [end."pier 1"]
  track = "pier 1"
  [end."pier 2"]
  track = "pier 2"
  [part.one]
  role = "strip"
  pairs = 1
  [system]
  taken = ["100-120"]
"#;

#[test]
fn each_clash_is_named_where_it_is_written() {
    let strip = "  [panel.west]\n  kind = \"strip\"\n";
    let cases = [
        "  [light.depot]\n  address = 7\n          # ^ error[address-used-twice]: `wharf` and `depot` are both at address 7\n# | write another address for one of them, or leave one of the pins out\n# @ warning[lever-no-control]: no panel\n",
        "  [light.depot]\n  address = 110\n          # ^^^ error[address-taken]: `depot` is at address 110, which is taken\n",
        "  [light.depot]\n  address = 2042\n          # ^^^^ error[address-out-of-range]: `depot` is at address 2042, past the last address 2040\n",
        "  [signal.S1]\n  number = 3\n         # ^ error[number-used-twice]: `wharf` and `S1` both have number 3\n",
        "  [signal.S1]\n  on = \"pier1\"\n     # ^^^^^^^ error[signal-name-unknown]: there is no end or track `pier1`\n# | did you mean `pier 1`?\n",
        "  [signal.S1]\n  guards = \"warf\"\n         # ^^^^^^ error[signal-name-unknown]: there is no turnout, lever or machine `warf` to guard\n# | did you mean `wharf`?\n",
        "  [light.depot]\n  guards = \"wharf\"\n# ^^^^^^ error[key-unknown]: `guards`\n",
        "  [light.depot]\n  draw = 60\n       # ^^ error[unit-missing]: `draw` is a bare number\n",
    ];
    for case in cases {
        // On a strip of its own the turnout would get out of the way of the light.
        let strip = if case.contains("lever-no-control") { "" } else { strip };
        check(&format!("{WHARF}{case}{strip}"));
    }
}

#[test]
fn a_strip_has_one_pair_for_each_and_no_more() {
    let cases = [
        "  [light.depot]\n  [panel.west]\n  kind = \"strip\"\n  controls = [\"wharf\", \"depot\", \"depot\"]\n                              # ^^^^^^^ error[control-twice]: light `depot` would stand on two pairs\n",
        "  [light.depot]\n  [panel.west]\n      #  ^^^^ error[strip-full]: strip `west` has 1 pair; none is left for `depot`\n  kind = \"strip\"\n  part = \"one\"\n  controls = [\"wharf\", \"depot\"]\n",
        "  [light.depot]\n  address = 41\n          # ^^ error[pin-differs]: `depot` is pinned to address 41, but its pair commands 8\n  [panel.west]\n  kind = \"strip\"\n  controls = [\"wharf\", \"depot\"]\n",
        "  [light.depot]\n  [panel.west]\n  kind = \"strip\"\n  controls = [\"wharf\", \"depto\"]\n                     # ^^^^^^^ error[control-unknown]: there is no line, lever or accessory `depto` to control\n# | did you mean `depot`?\n",
        "  [light.depot]\n  [panel.west]\n  kind = \"strip\"\n  [panel.face]\n  kind = \"fascia\"\n  controls = [\"depot\"]\n            # ^^^^^^^ warning[table-not-used]: `depot` is a signal or light\n",
    ];
    for case in cases {
        check(&format!("{WHARF}{case}"));
    }
}

/// A decoder of stall motors drives no lamps; one whose outputs bear less than the light takes is too weak for it.
#[test]
fn an_output_has_to_drive_the_light_and_to_bear_it() {
    let strip = "  [panel.west]\n  kind = \"strip\"\n";
    let weak = |amps: &str| format!("  [part.\"eight output lamp decoder\"]\n  gives = \"{amps}\"\n");
    let cases = [
        format!("  [light.depot]\n  draw = \"60 mA\"\n{}", weak("60 mA")),
        format!(
            "  [light.depot]\n       # ^^^^^ error[output-overloaded]: light `depot` takes 60 mA, and an output of `eight output lamp decoder` gives 50 mA\n  draw = \"60 mA\"\n{}",
            weak("50 mA")
        ),
        "  [lever.gate]\n  moves = [\"wharf\"]\n  decoder = \"D7\"\n  [light.depot]\n  decoder = \"D7\"\n          # ^^^^ error[pin-differs]: `depot` is pinned to decoder D7, but that does not drive it at address 8\n".to_owned(),
    ];
    for case in cases {
        check(&format!("{WHARF}{case}{strip}"));
    }
}
