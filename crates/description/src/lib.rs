//! `layout.toml`: from text to typed values, with the place of everything.
//!
//! The text is parsed with recovery, so that one broken line does not hide the mistakes behind it, and lowered by hand
//! into [`Description`], so that every mistake comes out in one run. Names are not resolved here: a lever may still
//! name a machine that does not exist.

mod accessory;
mod harness;
pub mod keys;
mod lower;
mod model;
pub mod record;
pub mod template;
mod text;

pub use accessory::{Accessory, AccessoryKind};
pub use harness::{ColourPreset, Colours, Conductors, Job, WireUse};
pub use lower::read;
pub use model::{
    AddressScheme, Bench, BenchRun, Bus, BusKind, BusShape, BusSource, Buttons, Buy, Bytes, Defaults,
    Description, Drawing, Drive, End, EndKind, FasciaFacts, FrogFeed, Hand, Joint, JointKind,
    LAST_ADDRESS_USUAL, LEVEL_MAX, Labels, LayoutFacts, Lever, Line, Link, LinkKind, Name, NormalLeg,
    Numbering, Panel, PanelKind, Part, Pins, Place, Port, Preference, Role, Route, SocketName, System,
    TrackFacts, Unread, Work,
};
pub use text::{TEXT_MAX, decode};
