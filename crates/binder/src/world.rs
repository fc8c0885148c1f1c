//! All that the typesetter may see: the embedded fonts, the templates, and the book's values. No files, no clock.
//!
//! The templates are compiled into the program and found by name; anything else is "not found". The date is absent, so
//! a template that asks for today fails instead of making two runs differ.

use std::sync::LazyLock;

use typst::diag::{FileError, FileResult};
use typst::foundations::{Bytes, Datetime, Dict, Duration};
use typst::syntax::{FileId, RootedPath, Source, VirtualPath, VirtualRoot};
use typst::text::{Font, FontBook};
use typst::utils::LazyHash;
use typst::{Library, LibraryExt, World};

/// The template of the binder.
pub(crate) const BINDER: &str = "binder.typ";
/// The template of the operator's card.
pub(crate) const CARD: &str = "card.typ";
/// The template of drawings alone, each on a page of its own size.
pub(crate) const SCENES: &str = "scenes.typ";

/// The templates, by the name they import each other with.
const TEMPLATES: &[(&str, &str)] = &[
    (BINDER, include_str!("../sheets/binder.typ")),
    (CARD, include_str!("../sheets/card.typ")),
    (SCENES, include_str!("../sheets/scenes.typ")),
    ("look.typ", include_str!("../sheets/look.typ")),
    ("cover.typ", include_str!("../sheets/cover.typ")),
    ("safety.typ", include_str!("../sheets/safety.typ")),
    ("guide.typ", include_str!("../sheets/guide.typ")),
    ("place.typ", include_str!("../sheets/place.typ")),
    ("panels.typ", include_str!("../sheets/panels.typ")),
    ("codes.typ", include_str!("../sheets/codes.typ")),
    ("change.typ", include_str!("../sheets/change.typ")),
    ("drawings.typ", include_str!("../sheets/drawings.typ")),
    ("levers.typ", include_str!("../sheets/levers.typ")),
    ("addresses.typ", include_str!("../sheets/addresses.typ")),
    ("decoders.typ", include_str!("../sheets/decoders.typ")),
    ("routes.typ", include_str!("../sheets/routes.typ")),
    ("locking.typ", include_str!("../sheets/locking.typ")),
    ("diodes.typ", include_str!("../sheets/diodes.typ")),
    ("gaps.typ", include_str!("../sheets/gaps.typ")),
    ("tracks.typ", include_str!("../sheets/tracks.typ")),
    ("strips.typ", include_str!("../sheets/strips.typ")),
    ("harness.typ", include_str!("../sheets/harness.typ")),
    ("parts.typ", include_str!("../sheets/parts.typ")),
    ("power.typ", include_str!("../sheets/power.typ")),
    ("commissioning.typ", include_str!("../sheets/commissioning.typ")),
    ("reasons.typ", include_str!("../sheets/reasons.typ")),
    ("index.typ", include_str!("../sheets/index.typ")),
];

/// The texts of the templates of sheets.
pub(crate) fn prose() -> impl Iterator<Item = &'static str> {
    TEMPLATES.iter().filter(|(name, _)| *name != CARD && *name != SCENES).map(|&(_, text)| text)
}

/// The fonts that are part of the program.
pub(crate) struct Fonts {
    faces: Vec<Font>,
    book: LazyHash<FontBook>,
}

impl Fonts {
    /// The embedded fonts, read once.
    pub(crate) fn embedded() -> &'static Self {
        static FONTS: LazyLock<Fonts> = LazyLock::new(|| {
            let faces: Vec<Font> =
                draw::fonts::ALL.iter().flat_map(|&(_, data)| Font::iter(Bytes::new(data))).collect();
            let book = LazyHash::new(FontBook::from_fonts(&faces));
            Fonts { faces, book }
        });
        &FONTS
    }

    /// Every face.
    pub(crate) fn faces(&self) -> impl Iterator<Item = &Font> {
        self.faces.iter()
    }
}

/// The typesetter's world for one book.
pub(crate) struct BookWorld {
    library: LazyHash<Library>,
    fonts: &'static Fonts,
    main: FileId,
    sources: Vec<(FileId, Source)>,
}

impl BookWorld {
    /// A world that sets this template and holds these values, under the name `sys.inputs`.
    ///
    /// # Errors
    /// The typesetter refuses the name of a template.
    pub(crate) fn new(main: &str, values: Dict) -> FileResult<Self> {
        let mut sources = Vec::with_capacity(TEMPLATES.len());
        for &(name, text) in TEMPLATES {
            let id = template_id(name)?;
            sources.push((id, Source::new(id, text.to_owned())));
        }
        Ok(Self {
            library: LazyHash::new(Library::builder().with_inputs(values).build()),
            fonts: Fonts::embedded(),
            main: template_id(main)?,
            sources,
        })
    }
}

fn template_id(name: &str) -> FileResult<FileId> {
    let path = VirtualPath::new(name).map_err(|error| FileError::Other(Some(error.to_string().into())))?;
    Ok(RootedPath::new(VirtualRoot::Project, path).intern())
}

impl World for BookWorld {
    fn library(&self) -> &LazyHash<Library> {
        &self.library
    }

    fn book(&self) -> &LazyHash<FontBook> {
        &self.fonts.book
    }

    fn main(&self) -> FileId {
        self.main
    }

    fn source(&self, id: FileId) -> FileResult<Source> {
        self.sources
            .iter()
            .find(|(known, _)| *known == id)
            .map(|(_, source)| source.clone())
            .ok_or_else(|| FileError::NotFound(id.get().vpath().get_with_slash().into()))
    }

    fn file(&self, id: FileId) -> FileResult<Bytes> {
        self.source(id).map(|source| Bytes::from_string(source.text().to_owned()))
    }

    fn font(&self, index: usize) -> Option<Font> {
        self.fonts.faces.get(index).cloned()
    }

    fn today(&self, _offset: Option<Duration>) -> Option<Datetime> {
        None
    }
}
