//! What a page needs besides itself: style, script, icon and the fonts of `draw`, all embedded, so that a panel works
//! without any other network than the layout room's.

/// One embedded file.
#[derive(Clone, Copy)]
pub(crate) struct Asset {
    pub(crate) name: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) bytes: &'static [u8],
}

const OWN: [Asset; 3] = [
    Asset {
        name: "panel.css",
        kind: "text/css; charset=utf-8",
        bytes: include_bytes!("../assets/panel.css"),
    },
    Asset {
        name: "panel.js",
        kind: "text/javascript; charset=utf-8",
        bytes: include_bytes!("../assets/panel.js"),
    },
    Asset { name: "icon.svg", kind: "image/svg+xml", bytes: include_bytes!("../assets/icon.svg") },
];

/// Every one.
pub(crate) fn all() -> impl Iterator<Item = Asset> {
    let fonts = draw::fonts::ALL.into_iter().map(|(name, bytes)| Asset { name, kind: "font/ttf", bytes });
    OWN.into_iter().chain(fonts)
}

/// A short mark that changes when these bytes do.
pub(crate) fn tag(bytes: &[u8]) -> String {
    format!("{:08x}-{:x}", journal::checksum(&[bytes]), bytes.len())
}
