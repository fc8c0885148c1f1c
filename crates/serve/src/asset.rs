//! What a page needs besides itself: style, script, icon and the fonts of `draw`, all embedded, so that a panel works
//! without any other network than the layout room's.

/// One embedded file.
#[derive(Clone, Copy)]
pub(crate) struct Asset {
    pub(crate) name: &'static str,
    pub(crate) kind: &'static str,
    pub(crate) bytes: &'static [u8],
}

const OWN: [Asset; 14] = [
    own("panel.css", "text/css; charset=utf-8", include_bytes!("../assets/panel.css")),
    own("panel.js", "text/javascript; charset=utf-8", include_bytes!("../assets/panel.js")),
    own("ask.js", "text/javascript; charset=utf-8", include_bytes!("../assets/ask.js")),
    own("diagram.js", "text/javascript; charset=utf-8", include_bytes!("../assets/diagram.js")),
    own("routes.js", "text/javascript; charset=utf-8", include_bytes!("../assets/routes.js")),
    own("levers.js", "text/javascript; charset=utf-8", include_bytes!("../assets/levers.js")),
    own("practice.js", "text/javascript; charset=utf-8", include_bytes!("../assets/practice.js")),
    own("records.js", "text/javascript; charset=utf-8", include_bytes!("../assets/records.js")),
    own("trial.css", "text/css; charset=utf-8", include_bytes!("../assets/trial.css")),
    own("follow.js", "text/javascript; charset=utf-8", include_bytes!("../assets/follow.js")),
    own("commissioning.js", "text/javascript; charset=utf-8", include_bytes!("../assets/commissioning.js")),
    own("faults.js", "text/javascript; charset=utf-8", include_bytes!("../assets/faults.js")),
    own("enter.js", "text/javascript; charset=utf-8", include_bytes!("../assets/enter.js")),
    own("icon.svg", "image/svg+xml", include_bytes!("../assets/icon.svg")),
];

const fn own(name: &'static str, kind: &'static str, bytes: &'static [u8]) -> Asset {
    Asset { name, kind, bytes }
}

/// Every one.
pub(crate) fn all() -> impl Iterator<Item = Asset> {
    let fonts = draw::fonts::ALL.into_iter().map(|(name, bytes)| Asset { name, kind: "font/ttf", bytes });
    OWN.into_iter().chain(fonts)
}

/// A short mark that changes when these bytes do.
pub(crate) fn tag(bytes: &[u8]) -> String {
    format!("{:08x}-{:x}", journal::checksum(&[bytes]), bytes.len())
}
