//! A drawing as data: strokes, marks, words and holes at exact places on a sheet of a stated size.
//!
//! A scene knows nothing of railroads beyond the tags its elements carry, and nothing of file formats: each writer
//! ([`crate::svg`], [`crate::dxf`], [`crate::png`]) turns the same scene into its own. Places are in whole micrometres from
//! the top left corner of the sheet, x to the right, y down, so that every writer prints the same figures.

use crate::sheet::{Ink, Um};

/// A place on the sheet.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub struct Xy {
    /// To the right.
    pub x: Um,
    /// Down.
    pub y: Um,
}

impl Xy {
    /// The place this far to the right and down.
    pub const fn new(x: Um, y: Um) -> Self {
        Self { x, y }
    }
}

/// A rectangle with level and upright sides.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Area {
    /// Its left side.
    pub left: Um,
    /// Its upper side.
    pub top: Um,
    /// Its right side.
    pub right: Um,
    /// Its lower side.
    pub bottom: Um,
}

impl Area {
    /// The area of this width and height round a middle.
    pub const fn around(middle: Xy, width: Um, height: Um) -> Self {
        let left = middle.x - width / 2;
        let top = middle.y - height / 2;
        Self { left, top, right: left + width, bottom: top + height }
    }

    /// The same, larger by this much on every side.
    #[must_use]
    pub const fn grown(self, by: Um) -> Self {
        Self { left: self.left - by, top: self.top - by, right: self.right + by, bottom: self.bottom + by }
    }

    /// Whether the two have any paper in common.
    pub const fn overlaps(self, other: Self) -> bool {
        self.left < other.right
            && other.left < self.right
            && self.top < other.bottom
            && other.top < self.bottom
    }

    /// Whether `other` lies wholly inside.
    pub const fn holds(self, other: Self) -> bool {
        self.left <= other.left
            && self.top <= other.top
            && self.right >= other.right
            && self.bottom >= other.bottom
    }

    /// The least area that holds both.
    #[must_use]
    pub fn with(self, other: Self) -> Self {
        Self {
            left: self.left.min(other.left),
            top: self.top.min(other.top),
            right: self.right.max(other.right),
            bottom: self.bottom.max(other.bottom),
        }
    }
}

/// What a thing belongs to; drawn in this order, and written as a group of this name.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Layer {
    /// Bands under tracks.
    Band,
    /// Frames, rules, scale bars.
    Frame,
    /// Tracks, and what stands at their ends.
    Track,
    /// The legs of machines next to their joints.
    Leg,
    /// The marks of machines.
    Mark,
    /// Lines from a word to its thing.
    Leader,
    /// Words.
    Words,
    /// What a knife or saw follows.
    Cut,
    /// What a drill follows.
    Drill,
}

impl Layer {
    /// All of them, in the order they are drawn.
    pub const ALL: [Self; 9] = [
        Self::Band,
        Self::Frame,
        Self::Track,
        Self::Leg,
        Self::Mark,
        Self::Leader,
        Self::Words,
        Self::Cut,
        Self::Drill,
    ];

    /// Its name in files.
    pub const fn name(self) -> &'static str {
        match self {
            Self::Band => "band",
            Self::Frame => "frame",
            Self::Track => "track",
            Self::Leg => "leg",
            Self::Mark => "mark",
            Self::Leader => "leader",
            Self::Words => "words",
            Self::Cut => "cut",
            Self::Drill => "drill",
        }
    }

    /// What makes it when the sheet becomes a panel.
    pub const fn work(self) -> Work {
        match self {
            Self::Band | Self::Frame => Work::Print,
            Self::Track | Self::Leg | Self::Mark | Self::Leader | Self::Words => Work::Engrave,
            Self::Cut => Work::Cut,
            Self::Drill => Work::Drill,
        }
    }
}

/// How what is drawn comes onto a panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Work {
    /// It is for paper only: frames, notes, tables, bars to measure.
    Print,
    /// It is engraved, milled or scribed into the face.
    Engrave,
    /// It is cut or sawn through.
    Cut,
    /// It is drilled.
    Drill,
}

/// What an element stands for, so that a page can find it and restyle it.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Tag {
    /// What kind of thing it is, as a class.
    pub class: &'static str,
    /// The lever it belongs to, by id.
    pub lever: Option<String>,
    /// The machine it belongs to, by name.
    pub machine: Option<String>,
    /// `normal`, `reverse` or `unknown`.
    pub position: Option<&'static str>,
    /// The track it belongs to, by name.
    pub track: Option<String>,
    /// The joint or end it belongs to, by id.
    pub joint: Option<String>,
    /// When it is shown: alternatives, each a list of machines with positions that must all hold. Empty: always.
    pub when: Vec<Vec<(String, &'static str)>>,
}

impl Tag {
    /// A tag that says only what kind of thing it is.
    pub fn class(class: &'static str) -> Self {
        Self { class, ..Self::default() }
    }
}

/// A line along a path.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Stroke {
    /// The corners of the path, two or more.
    pub path: Vec<Xy>,
    /// How wide it is.
    pub width: Um,
    /// What it is drawn with.
    pub ink: Ink,
    /// What it belongs to.
    pub layer: Layer,
    /// Whether its ends are round; else they are cut square at the last corner.
    pub round: bool,
    /// Whether it is dashed.
    pub dashed: bool,
    /// Whether it is there but not seen, until a page shows it.
    pub hidden: bool,
    /// What it stands for.
    pub tag: Tag,
}

/// The shape of a mark.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Shape {
    /// A filled round.
    Round,
    /// A filled diamond.
    Diamond,
    /// An open square, dashed.
    OpenSquare,
    /// An open circle on paper.
    Ring,
    /// An open circle, nothing inside: a turntable's pit.
    Pit,
    /// An upright bar.
    Bar,
    /// Two upright bars.
    TwinBar,
    /// A diode that lets current pass upward: a filled triangle with a bar at its tip.
    ///
    /// # Source
    /// IEC 60617, the semiconductor diode; from memory.
    Diode,
    /// A filled arrow head that looks to the left.
    ArrowLeft,
    /// A filled arrow head that looks to the right.
    ArrowRight,
}

/// A shape at a place.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mark {
    /// Its shape.
    pub shape: Shape,
    /// Its middle.
    pub at: Xy,
    /// Its height and, where it is as wide as high, its width.
    pub size: Um,
    /// What it is drawn with.
    pub ink: Ink,
    /// What it belongs to.
    pub layer: Layer,
    /// Whether it is there but not seen, until a page shows it.
    pub hidden: bool,
    /// What it stands for.
    pub tag: Tag,
}

/// Which place of a word its own place is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Anchor {
    /// The left end of its foot.
    Left,
    /// The middle of its foot.
    Middle,
    /// The right end of its foot.
    Right,
}

/// Which of the two families.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Family {
    /// Labels on drawings.
    Label,
    /// Tables and running text.
    Table,
}

/// How heavy the letters are.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Weight {
    /// Weight 400.
    Regular,
    /// Weight 600.
    SemiBold,
}

/// A row of text.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Words {
    /// What it says.
    pub text: String,
    /// The place on its foot that [`Words::anchor`] names.
    pub at: Xy,
    /// Which place of it that is.
    pub anchor: Anchor,
    /// The size of its em.
    pub size: Um,
    /// Its family.
    pub family: Family,
    /// Its weight.
    pub weight: Weight,
    /// What it is drawn with.
    pub ink: Ink,
    /// What it belongs to.
    pub layer: Layer,
    /// The paper it takes: from its foot to its capitals' tops, and below the foot where letters reach down.
    pub area: Area,
    /// What it stands for.
    pub tag: Tag,
}

/// A hole to be drilled. Writers for paper draw a cross through its middle that reaches past its rim, for the punch.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Hole {
    /// Its middle.
    pub at: Xy,
    /// How wide.
    pub diameter: Um,
    /// What goes into it.
    pub tag: Tag,
}

/// A drawing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Scene {
    /// What it is called, for those who cannot see it.
    pub title: String,
    /// Width of the sheet.
    pub width: Um,
    /// Height of the sheet.
    pub height: Um,
    /// Strokes, in the order they are drawn within their layer.
    pub strokes: Vec<Stroke>,
    /// Marks, likewise.
    pub marks: Vec<Mark>,
    /// Words, likewise.
    pub words: Vec<Words>,
    /// Holes.
    pub holes: Vec<Hole>,
}

impl Scene {
    /// The whole sheet.
    pub const fn sheet(&self) -> Area {
        Area { left: 0, top: 0, right: self.width, bottom: self.height }
    }
}
