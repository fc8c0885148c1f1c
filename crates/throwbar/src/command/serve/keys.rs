//! New keys of the panel, shown this once: as text, and as a code that a device's camera reads.
//!
//! # Source
//! ISO/IEC 18004:2015: four light modules on every side (clause 6.3.8). The modules come from the crate `qrcodegen`.

use qrcodegen::{QrCode, QrCodeEcc};
use serde_json::{Value, json};

/// Light modules on every side.
const QUIET: i32 = 4;

/// What is printed of new keys; nothing when there are none.
pub(super) fn rows(open: &serve::Open) -> Vec<String> {
    let mut rows = Vec::new();
    for key in &open.keys {
        let (role, address) = (key.role.word(), address(open, key));
        rows.push(String::new());
        rows.push(format!("key to {role}: {}", grouped(&key.key)));
        rows.push(address.clone());
        rows.extend(code(&address));
    }
    if let (Some(network), true) = (&open.network, open.keys.is_empty()) {
        rows.push(format!("on the network: {network}"));
    }
    if !open.keys.is_empty() {
        rows.push(String::new());
        rows.push(
            "these keys are shown this once; keep them, or delete the file of keys to have new ones made"
                .into(),
        );
    }
    rows
}

/// The same for programs.
pub(super) fn told(open: &serve::Open) -> Vec<Value> {
    let told =
        |key: &serve::NewKey| json!({ "role": key.role.word(), "key": key.key, "url": address(open, key) });
    open.keys.iter().map(told).collect()
}

/// The key stands behind the `#`, which no browser sends.
fn address(open: &serve::Open, key: &serve::NewKey) -> String {
    format!("{}enter#{}", open.network.as_ref().unwrap_or(&open.url), key.key)
}

/// In groups of four, which are read and typed more surely.
fn grouped(key: &str) -> String {
    let letters: Vec<char> = key.chars().collect();
    letters.chunks(4).map(|four| four.iter().collect::<String>()).collect::<Vec<_>>().join("-")
}

/// A code in rows of half blocks, dark on light whatever the terminal's colours: light modules are what is printed. A
/// terminal of dark letters on light shows it the other way round, which cameras read as well.
pub(super) fn code(text: &str) -> Vec<String> {
    let Ok(code) = QrCode::encode_text(text, QrCodeEcc::Low) else { return Vec::new() };
    let side = -QUIET..code.size() + QUIET;
    let light = |x, y| !code.get_module(x, y);
    let half = |x, y| match (light(x, y), y + 1 < side.end && light(x, y + 1)) {
        (true, true) => '█',
        (true, false) => '▀',
        (false, true) => '▄',
        (false, false) => ' ',
    };
    side.clone().step_by(2).map(|y| side.clone().map(|x| half(x, y)).collect()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_printed_code_is_the_code_with_its_quiet_margin() {
        let text = "http://192.0.2.7:7417/enter#0123456789abcdefghjkmnpqrs";
        let rows = code(text);
        let modules = QrCode::encode_text(text, QrCodeEcc::Low).unwrap();
        let side = usize::try_from(modules.size() + 2 * QUIET).unwrap();
        assert_eq!(rows.len(), side.div_ceil(2));
        let letters: Vec<Vec<char>> = rows.iter().map(|row| row.chars().collect()).collect();
        for y in 0..side {
            assert_eq!(letters[y / 2].len(), side);
            for (x, letter) in letters[y / 2].iter().enumerate() {
                let light = match letter {
                    '█' => true,
                    '▀' => y % 2 == 0,
                    '▄' => y % 2 == 1,
                    _ => false,
                };
                let at = |index: usize| i32::try_from(index).unwrap() - QUIET;
                assert_eq!(light, !modules.get_module(at(x), at(y)), "{x}, {y}");
            }
        }
        assert!(side <= 80, "it fits a terminal");
    }

    #[test]
    fn a_key_is_shown_in_groups() {
        assert_eq!(grouped("0123456789abcdefghjkmnpqrs"), "0123-4567-89ab-cdef-ghjk-mnpq-rs");
    }
}
