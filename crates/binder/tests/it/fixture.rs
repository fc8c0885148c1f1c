//! Layouts to bind: the two demos, and layouts of any number of turnouts with any names.

use std::fmt::Write as _;
use std::sync::LazyLock;

use binder::{Binder, Options, typeset};
use plan::model::Plan;
use testkit::plan_of;

const TERN_HARBOR: &str = include_str!("../../../../demo/tern-harbor/layout.toml");
const FIRST_MODULE: &str = include_str!("../../../../demo/first-module/layout.toml");

/// The demo with everything in it.
pub(crate) fn tern_harbor() -> Plan {
    plan_of(TERN_HARBOR)
}

/// The smallest useful demo, with something more described.
pub(crate) fn first_module_with(rest: &str) -> Plan {
    plan_of(&format!("{FIRST_MODULE}\n{rest}"))
}

/// The smallest useful demo.
pub(crate) fn first_module() -> Plan {
    plan_of(FIRST_MODULE)
}

/// A layout of ladders, eight turnouts each, in a row along a main; `name` names the turnout of each index.
pub(crate) fn ladders(layout: &str, count: usize, name: impl Fn(usize) -> String) -> Plan {
    plan_of(&ladders_text(layout, count, name))
}

fn ladders_text(layout: &str, count: usize, name: impl Fn(usize) -> String) -> String {
    const RUNGS: usize = 8;
    let mut text = format!("[layout]\nname = {}\nunits = \"metric\"\n", quoted(layout));
    let ladders = count.div_ceil(RUNGS);
    text.push_str("[end.west]\ntrack = \"main 0\"\nis = \"beyond\"\n");
    writeln!(text, "[end.east]\ntrack = \"main {ladders}\"\nis = \"beyond\"").unwrap();
    for ladder in 0..ladders {
        let rungs = RUNGS.min(count - ladder * RUNGS);
        for rung in 0..rungs {
            let index = ladder * RUNGS + rung;
            let (points, through) = if rung == 0 {
                (format!("main {ladder}"), format!("main {}", ladder + 1))
            } else {
                let through = if rung + 1 == rungs { "end".to_owned() } else { format!("rung {rung}") };
                (format!("{ladder} rung {}", rung - 1), format!("{ladder} {through}"))
            };
            let diverging = match rung {
                0 if rungs == 1 => format!("{ladder} end"),
                0 => format!("{ladder} rung 0"),
                _ => format!("{ladder} yard {rung}"),
            };
            writeln!(
                text,
                "[turnout.t{index}]\nname = {}\nhand = \"left\"\npoints = \"{points}\"\nthrough = \"{through}\"\n\
                 diverging = \"{diverging}\"\nat = \"bay {}\"",
                quoted(&name(index)),
                ladder + 1,
            )
            .unwrap();
            if rung > 0 {
                writeln!(text, "[end.\"{diverging}\"]\ntrack = \"{diverging}\"").unwrap();
            }
        }
        writeln!(text, "[end.\"{ladder} end\"]\ntrack = \"{ladder} end\"").unwrap();
        writeln!(text, "[panel.\"panel {ladder}\"]\nkind = \"strip\"\nchain = 1").unwrap();
        let levers: Vec<String> = (0..rungs).map(|rung| format!("\"t{}\"", ladder * RUNGS + rung)).collect();
        writeln!(text, "controls = [{}]", levers.join(", ")).unwrap();
    }
    text
}

/// A TOML basic string of these letters.
///
/// # Source
/// TOML 1.0.0, section "String": backslash, quotation mark and control characters are escaped.
fn quoted(letters: &str) -> String {
    let escaped: String = letters
        .chars()
        .map(|letter| match letter {
            '\\' | '"' => format!("\\{letter}"),
            letter if letter.is_control() => format!("\\u{:04X}", u32::from(letter)),
            letter => letter.to_string(),
        })
        .collect();
    format!("\"{escaped}\"")
}

/// The binder of Tern Harbor Terminal, typeset once for all tests.
pub(crate) fn harbor_binder() -> &'static Binder {
    static BINDER: LazyLock<Binder> = LazyLock::new(|| typeset(&tern_harbor(), &Options::default()).unwrap());
    &BINDER
}

/// The pages of one sheet, counted from 0.
pub(crate) fn pages_of(binder: &Binder, title: &str) -> std::ops::Range<usize> {
    let at = binder.sheets.iter().position(|sheet| sheet.title == title);
    let at = at.unwrap_or_else(|| panic!("no sheet `{title}` among {:?}", binder.sheets));
    let end = binder.sheets.get(at + 1).map_or(binder.pages, |next| next.page - 1);
    binder.sheets[at].page - 1..end
}
