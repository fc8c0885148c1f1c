//! Codes for a camera: the pages of the live panel, each as a QR code that is drawn, not a picture of dots.
//!
//! # Source
//! ISO/IEC 18004:2015: four light modules on every side (clause 6.3.8). The modules come from the crate `qrcodegen`.

use std::fmt::Write as _;

use qrcodegen::{QrCode, QrCodeEcc};
use typst::foundations::{Bytes, Dict, IntoValue, Value, dict};

/// Light modules on every side.
const QUIET: i32 = 4;

/// The longest address of a panel: with more, the modules are too small for a telephone at arm's length.
pub const PANEL_URL_MAX: usize = 200;

/// Where the live panel is, and a key to it if the user wants that on paper.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Live<'a> {
    /// The address that a browser opens it at.
    pub url: &'a str,
    /// A key, which lets everyone who sees the sheet work the railroad.
    pub key: Option<&'a str>,
}

/// Why an address is none that a telephone can open.
#[must_use]
pub fn unusable_url(url: &str) -> Option<&'static str> {
    let rest = url.strip_prefix("http://").or_else(|| url.strip_prefix("https://"));
    match rest {
        None => Some("it begins with neither http:// nor https://"),
        Some(rest) if rest.trim_start_matches('/').is_empty() => Some("it names no machine"),
        Some(_) if url.len() > PANEL_URL_MAX => Some("it is too long for a code that a camera can read"),
        Some(_) if url.contains(|letter: char| letter.is_whitespace() || letter.is_control()) => {
            Some("it holds a space")
        }
        Some(_) if url.contains('#') => {
            Some("it holds a #, behind which a key could stand; give a key with --panel-key")
        }
        Some(_) => None,
    }
}

/// The codes: `(panel, log, key)`, each `(url, svg)`; the key's holds no key in its words. None without a panel.
pub(crate) fn codes(live: Option<&Live<'_>>) -> Value {
    let Some(live) = live else { return Value::None };
    let base = live.url.trim_end_matches('/');
    let page = |path: &str| code(&format!("{base}/{path}"), &format!("{base}/{path}"));
    let enter = live.key.map(|key| code(&format!("{base}/enter#{key}"), &format!("{base}/enter")));
    dict! {
        "panel" => page(""),
        "log" => page("log"),
        "key" => enter.map_or(Value::None, IntoValue::into_value),
    }
    .into_value()
}

/// A code that opens this, and what is printed below it: `(url, svg)`.
fn code(opens: &str, said: &str) -> Dict {
    dict! { "url" => said, "svg" => svg(opens).map_or(Value::None, IntoValue::into_value) }
}

/// The code as a drawing; none for a text that no code can hold.
fn svg(text: &str) -> Option<Bytes> {
    let code = QrCode::encode_text(text, QrCodeEcc::Medium).ok()?;
    let side = code.size() + 2 * QUIET;
    let mut path = String::new();
    for y in 0..code.size() {
        for x in (0..code.size()).filter(|&x| code.get_module(x, y)) {
            // Writing to a `String` cannot fail.
            let _ = write!(path, "M{} {}h1v1h-1z", x + QUIET, y + QUIET);
        }
    }
    let svg = format!(
        "<svg xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"0 0 {side} {side}\" width=\"{side}\" height=\"{side}\">\
         <path d=\"{path}\" fill=\"#1F2933\" shape-rendering=\"crispEdges\"/></svg>"
    );
    Some(Bytes::from_string(svg))
}
