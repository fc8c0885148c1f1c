//! A scene as PNG: the SVG of [`crate::svg`], drawn in dots with the embedded fonts and no others.
//!
//! The file says how many dots it has to the metre, so that a program that heeds it prints it at true size. Letters that the fonts
//! lack are shown by a sign, since there is no other font to take them from.
//!
//! # Source
//! W3C, Portable Network Graphics (PNG) Specification (Second Edition), 2003: `pHYs`, pixels for each metre.

use crate::fonts::{ALL, Fonts, LABEL_FAMILY};
use crate::scene::Scene;
use crate::sheet::{DOTS_MAX, Ink};
use crate::svg;
use ::png::{BitDepth, ColorType, Encoder, PixelDimensions, Unit};
use resvg::tiny_skia::{Color, Pixmap, Transform};
use resvg::usvg::fontdb::Source;
use resvg::usvg::{Options, Tree};
use std::sync::Arc;

/// Why a scene could not be drawn in dots.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum Error {
    /// It would take too many.
    #[error(
        "at {dpi} dots to the inch the drawing would be {width} by {height} dots, more than {} million; \
         {most} to the inch is the most it can have",
        DOTS_MAX / 1_000_000
    )]
    TooLarge {
        /// How many dots to the inch were asked for.
        dpi: u32,
        /// How many dots wide it would be.
        width: u64,
        /// How many dots high.
        height: u64,
        /// The most dots to the inch that it can have.
        most: u32,
    },
    /// A library refuses. Always a fault of this program.
    #[error("the drawing could not be made, which is a fault in this program and not in the layout: {0}")]
    Render(String),
}

/// Micrometres in an inch.
const INCH: u64 = 25_400;

/// The scene as the bytes of a PNG file with so many dots to the inch.
///
/// # Errors
/// The scene would take more than [`DOTS_MAX`] dots, or a library refuses to draw it.
pub fn write(scene: &Scene, dpi: u32) -> Result<Vec<u8>, Error> {
    let [width, height] = dots(scene, dpi);
    let (Ok(across), Ok(down), true) =
        (u32::try_from(width), u32::try_from(height), width.saturating_mul(height) <= DOTS_MAX)
    else {
        return Err(Error::TooLarge { dpi, width, height, most: dpi_most(scene, dpi) });
    };
    let tree = tree(scene)?;
    let mut picture =
        Pixmap::new(across, down).ok_or_else(|| Error::Render(format!("{across} by {down} dots")))?;
    let [red, green, blue] = Ink::Paper.channels();
    picture.fill(Color::from_rgba8(red, green, blue, 255));
    #[expect(clippy::cast_precision_loss, reason = "a few thousand dots to the inch at most")]
    let scale = dpi as f32 / Options::default().dpi;
    resvg::render(&tree, Transform::from_scale(scale, scale), &mut picture.as_mut());
    encoded(&picture, dpi)
}

/// How many dots wide and high.
fn dots(scene: &Scene, dpi: u32) -> [u64; 2] {
    [scene.width, scene.height].map(|um| {
        let um = u64::try_from(um).unwrap_or(0).max(1);
        (um * u64::from(dpi)).div_ceil(INCH)
    })
}

/// The most dots to the inch that the scene can have, below what was asked for.
fn dpi_most(scene: &Scene, asked: u32) -> u32 {
    let (mut fits, mut fails) = (0, asked);
    while fails - fits > 1 {
        let middle = u32::midpoint(fits, fails);
        let [width, height] = dots(scene, middle);
        if width.saturating_mul(height) <= DOTS_MAX { fits = middle } else { fails = middle }
    }
    fits
}

/// The scene's SVG as a renderer sees it, with the embedded fonts and no others.
fn tree(scene: &Scene) -> Result<Tree, Error> {
    let fonts = Fonts::read();
    let mut shown = scene.clone();
    for words in &mut shown.words {
        words.text = fonts.shown(&words.text, words.family, words.weight);
    }
    let mut options = Options { font_family: LABEL_FAMILY.to_owned(), ..Options::default() };
    for (_, bytes) in ALL {
        options.fontdb_mut().load_font_source(Source::Binary(Arc::new(bytes)));
    }
    Tree::from_str(&svg::write(&shown), &options).map_err(|error| Error::Render(error.to_string()))
}

/// A picture without anything to see through, as a file.
fn encoded(picture: &Pixmap, dpi: u32) -> Result<Vec<u8>, Error> {
    let dots: Vec<u8> =
        picture.pixels().iter().flat_map(|dot| [dot.red(), dot.green(), dot.blue()]).collect();
    let mut bytes = Vec::new();
    let mut encoder = Encoder::new(&mut bytes, picture.width(), picture.height());
    encoder.set_color(ColorType::Rgb);
    encoder.set_depth(BitDepth::Eight);
    let to_metre = u32::try_from((u64::from(dpi) * 1_000_000 + INCH / 2) / INCH).unwrap_or(u32::MAX);
    encoder.set_pixel_dims(Some(PixelDimensions { xppu: to_metre, yppu: to_metre, unit: Unit::Meter }));
    let written = encoder
        .write_header()
        .and_then(|mut writer| writer.write_image_data(&dots).and_then(|()| writer.finish()));
    written.map_err(|error| Error::Render(error.to_string()))?;
    Ok(bytes)
}
