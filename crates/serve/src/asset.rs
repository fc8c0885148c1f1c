//! What a page needs besides itself: style, script, fonts and icon, all embedded, so that a panel works without any other
//! network than the layout room's.

/// One embedded file.
pub(crate) struct Asset {
    pub(crate) name: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) bytes: &'static [u8],
}

macro_rules! asset {
    ($name:literal, $kind:literal) => {
        asset!($name, $kind, concat!("../assets/", $name))
    };
    ($name:literal, $kind:literal, $path:expr) => {
        Asset { name: $name, kind: $kind, bytes: include_bytes!($path) }
    };
}

/// Every one.
pub(crate) const ALL: &[Asset] = &[
    asset!("panel.css", "text/css; charset=utf-8"),
    asset!("panel.js", "text/javascript; charset=utf-8"),
    asset!("icon.svg", "image/svg+xml"),
    asset!("label-regular.ttf", "font/ttf", "../../draw/fonts/Barlow-Regular.ttf"),
    asset!("label-semibold.ttf", "font/ttf", "../../draw/fonts/Barlow-SemiBold.ttf"),
    asset!("table-regular.ttf", "font/ttf", "../../draw/fonts/BarlowSemiCondensed-Regular.ttf"),
    asset!("table-semibold.ttf", "font/ttf", "../../draw/fonts/BarlowSemiCondensed-SemiBold.ttf"),
];

/// A short mark that changes when these bytes do.
pub(crate) fn tag(bytes: &[u8]) -> String {
    format!("{:08x}-{:x}", journal::checksum(&[bytes]), bytes.len())
}
