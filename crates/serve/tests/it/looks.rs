//! The style sheet, measured: words and lines stand out from what they lie on, in both lights.

use std::collections::BTreeMap;

const STYLE: &str = include_str!("../../assets/panel.css");

/// The colours of each block that names all of them: the light sheet, the dark one as the device asks for it, and as people do.
fn sheets() -> Vec<BTreeMap<String, [u8; 3]>> {
    let blocks = STYLE.split("  color-scheme: ").skip(1).map(|block| block.split('}').next().unwrap());
    blocks.map(|block| block.split("--").skip(1).map(colour).collect()).collect()
}

/// `paper: #FBFAF7; ` as a name and three bytes.
fn colour(row: &str) -> (String, [u8; 3]) {
    let (name, rest) = row.split_once(": #").unwrap();
    let byte = |index: usize| u8::from_str_radix(&rest[index..index + 2], 16).unwrap();
    (name.to_owned(), [byte(0), byte(2), byte(4)])
}

/// # Source
/// W3C, Web Content Accessibility Guidelines 2.2, definitions of relative luminance and contrast ratio.
fn contrast(a: [u8; 3], b: [u8; 3]) -> f64 {
    let linear = |byte: u8| {
        let share = f64::from(byte) / 255.0;
        // Powers that differ in their last bit between machines do not matter for a limit.
        #[allow(clippy::disallowed_methods, reason = "the formula of the guidelines, compared with a limit")]
        if share <= 0.040_45 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    };
    let luminance = |[r, g, b]: [u8; 3]| 0.2126 * linear(r) + 0.7152 * linear(g) + 0.0722 * linear(b);
    let (a, b) = (luminance(a), luminance(b));
    (a.max(b) + 0.05) / (a.min(b) + 0.05)
}

#[test]
fn black_on_white_is_twenty_one_to_one() {
    assert!((contrast([0; 3], [255; 3]) - 21.0).abs() < 1e-9, "as the guidelines say");
}

#[test]
fn words_stand_out_four_and_a_half_to_one_and_lines_three_to_one() {
    let sheets = sheets();
    assert_eq!(sheets.len(), 3);
    assert_eq!(sheets[1], sheets[2], "dark is dark, whoever asks for it");
    let words = [
        ("ink", "paper"),
        ("ink", "lift"),
        ("ink", "band"),
        ("quiet", "paper"),
        ("quiet", "lift"),
        ("normal", "paper"),
        ("normal", "lift"),
        ("reverse", "paper"),
        ("reverse", "lift"),
        ("fault", "paper"),
        ("fault", "lift"),
        ("on-stop", "stop"),
        ("paper", "ink"),
    ];
    let lines = [
        ("unknown", "paper"),
        ("normal", "paper"),
        ("reverse", "paper"),
        ("ink", "band"),
        ("quiet", "paper"),
    ];
    for sheet in &sheets {
        let wanted = words.iter().map(|pair| (pair, 4.5)).chain(lines.iter().map(|pair| (pair, 3.0)));
        for (&(over, under), least) in wanted {
            let measured = contrast(sheet[over], sheet[under]);
            assert!(measured >= least, "{over} on {under}: {measured:.2}");
        }
    }
}

#[test]
fn a_device_that_wants_things_still_gets_no_motion() {
    let moving = STYLE.find("animation:").unwrap();
    let guard = STYLE.find("@media (prefers-reduced-motion: no-preference)").unwrap();
    assert!(guard < moving, "what moves stands under the guard");
    assert_eq!(STYLE.matches("animation:").count() + STYLE.matches("transition:").count(), 1);
}
