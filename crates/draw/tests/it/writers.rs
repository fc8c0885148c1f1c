//! The writers beside SVG: PNG by what its dots show, DXF by what stands in it and what does not; the renderer finds a
//! letter for every letter. `throwbar`'s tests have DXF read by another program.

use crate::layouts::{DEMO, LOOPED, OPEN, network};
use draw::scene::{Hole, Layer, Scene, Stroke, Tag, Xy};
use draw::sheet::{DOTS_MAX, HAIR_WIDTH, Ink, MM};
use draw::{dxf, plates, png, schematic_of, svg};
use resvg::usvg::{Group, Node, Options, TextChunk, Tree};

/// The scene's SVG as an independent renderer reads it, with the embedded fonts alone.
fn tree(scene: &Scene) -> Tree {
    let mut options = Options::default();
    for (_, bytes) in draw::fonts::ALL {
        options.fontdb_mut().load_font_data(bytes.to_vec());
    }
    Tree::from_str(&svg::write(scene), &options).expect("a renderer reads it")
}

/// Every row of text: what it says, and whether each letter has a shape.
fn texts(group: &Group, found: &mut Vec<(String, bool)>) {
    for node in group.children() {
        match node {
            Node::Group(inner) => texts(inner, found),
            Node::Text(text) => {
                let said = text.chunks().iter().map(TextChunk::text).collect();
                let glyphs = text.layouted().iter().flat_map(|span| &span.positioned_glyphs);
                // Glyph 0 of a font is the one for letters it does not have.
                let ids: Vec<u16> = glyphs.map(|glyph| glyph.id.0).collect();
                found.push((said, !ids.is_empty() && !ids.contains(&0)));
            }
            Node::Path(_) | Node::Image(_) => {}
        }
    }
}

#[test]
fn a_renderer_finds_a_shape_for_every_letter() {
    for (name, text) in OPEN.iter().chain(&LOOPED) {
        let scene = schematic_of(&network(text)).scene;
        let mut found = Vec::new();
        texts(tree(&scene).root(), &mut found);
        let mut said: Vec<&str> = found.iter().map(|(said, _)| said.as_str()).collect();
        let mut meant: Vec<&str> = scene.words.iter().map(|words| words.text.as_str()).collect();
        said.sort_unstable();
        meant.sort_unstable();
        assert_eq!(said, meant, "{name}");
        for (said, has_all) in found {
            assert!(has_all, "{name}: `{said}`");
        }
    }
}

/// The renderer gives a word the width that was reckoned for it: the same letters, no kerning. Its box is of the letters'
/// advances.
#[test]
fn a_renderer_sets_words_as_wide_as_they_were_measured() {
    let scene = schematic_of(&network(DEMO)).scene;
    let tree = tree(&scene);
    let across = f64::from(tree.size().width());
    let mut drawn = Vec::new();
    let mut open: Vec<&Group> = vec![tree.root()];
    while let Some(group) = open.pop() {
        for node in group.children() {
            match node {
                Node::Group(inner) => open.push(inner),
                Node::Text(text) => {
                    let said: String = text.chunks().iter().map(TextChunk::text).collect();
                    let mm =
                        f64::from(text.abs_bounding_box().width()) / across * whole(scene.width) / 1000.0;
                    drawn.push((said, mm));
                }
                Node::Path(_) | Node::Image(_) => {}
            }
        }
    }
    assert_eq!(drawn.len(), scene.words.len());
    for (said, mm) in drawn {
        let mut reckoned = scene
            .words
            .iter()
            .filter(|words| words.text == said)
            .map(|words| whole(words.area.right - words.area.left) / 1000.0);
        assert!(reckoned.any(|reckoned| (mm - reckoned).abs() < 0.02), "{said}: {mm} mm drawn");
    }
}

fn whole(um: i64) -> f64 {
    f64::from(i32::try_from(um).expect("a sheet is metres at most"))
}

/// A PNG read back: width, height, dots to the metre, and a grey for each dot.
fn read(bytes: &[u8]) -> (usize, usize, u32, Vec<u8>) {
    let mut reader = ::png::Decoder::new(std::io::Cursor::new(bytes)).read_info().expect("a PNG");
    let mut dots = vec![0; reader.output_buffer_size().expect("a size")];
    let info = reader.next_frame(&mut dots).expect("a picture");
    let to_metre = reader.info().pixel_dims.expect("dots to the metre").xppu;
    let grey = dots.chunks(3).map(|dot| dot.iter().copied().min().unwrap_or(0)).collect();
    (info.width as usize, info.height as usize, to_metre, grey)
}

/// At 254 dots to the inch a millimetre has ten.
#[test]
fn a_png_is_true_to_scale() {
    let sheet = &plates(&plan::make(network(OPEN[0].1)).value)[0];
    let (width, height, to_metre, dots) = read(&png::write(sheet, 254).expect("drawn"));
    assert_eq!((width, height, to_metre), (2159, 2794, 10_000), "Letter: 215.9 by 279.4 mm");
    let darkest = |row: &[u8]| row.iter().filter(|grey| **grey < 0x40).count();
    // No row but the bar's is dark for so long.
    let longest = dots.chunks(width).map(darkest).max().expect("rows");
    assert!((999..=1001).contains(&longest), "the bar of 100 mm is {longest} dots long");
    assert_eq!(dots[0], 0xF7, "the ground is the paper's colour");
}

#[test]
fn a_picture_of_too_many_dots_is_refused_with_what_fits() {
    let scene = Scene { width: 3_000 * MM, height: 400 * MM, ..Scene::default() };
    let refused = png::write(&scene, 2400).expect_err("too large");
    let png::Error::TooLarge { width, height, most, .. } = refused.clone() else { panic!("{refused}") };
    assert_eq!((width, height), (283_465, 37_796), "3000 and 400 mm at 2400 dots to 25.4 mm, rounded up");
    let dots = |dpi: u64| (3_000 * dpi * 10).div_ceil(254) * (400 * dpi * 10).div_ceil(254);
    assert!(dots(u64::from(most)) <= DOTS_MAX && dots(u64::from(most) + 1) > DOTS_MAX, "{refused}");
}

fn stroke(layer: Layer, hidden: bool, path: [Xy; 2]) -> Stroke {
    let (width, ink, tag) = (2 * MM, Ink::Ink, Tag::class(layer.name()));
    Stroke { path: path.to_vec(), width, ink, layer, round: false, dashed: false, hidden, tag }
}

/// The types of the entities on each layer, read by the library that wrote them.
fn entities(bytes: &[u8]) -> Vec<(String, ::dxf::entities::EntityType)> {
    let drawing = ::dxf::Drawing::load(&mut std::io::Cursor::new(bytes)).expect("a DXF");
    drawing.entities().map(|entity| (entity.common.layer.clone(), entity.specific.clone())).collect()
}

fn polylines(
    entities: &[(String, ::dxf::entities::EntityType)],
) -> impl Iterator<Item = &::dxf::entities::LwPolyline> {
    entities.iter().filter_map(|(_, entity)| {
        if let ::dxf::entities::EntityType::LwPolyline(line) = entity { Some(line) } else { None }
    })
}

#[test]
fn a_dxf_holds_what_tools_follow_and_nothing_else() {
    let line = [Xy::new(10 * MM, 5 * MM), Xy::new(30 * MM, 5 * MM)];
    let scene = Scene {
        width: 100 * MM,
        height: 50 * MM,
        strokes: vec![
            stroke(Layer::Frame, false, line),
            stroke(Layer::Band, false, line),
            stroke(Layer::Track, false, line),
            stroke(Layer::Leg, true, line),
            stroke(Layer::Cut, false, line),
        ],
        holes: vec![Hole { at: Xy::new(20 * MM, 10 * MM), diameter: 6_351, tag: Tag::default() }],
        ..Scene::default()
    };
    let found = entities(&dxf::write(&scene).expect("written"));
    let layers: Vec<&str> = found.iter().map(|(layer, _)| layer.as_str()).collect();
    assert_eq!(layers, ["ENGRAVE", "CUT", "DRILL"], "paper and hidden strokes stay out");
    let widths: Vec<f64> = polylines(&found).map(|line| line.constant_width).collect();
    assert_eq!(widths, [2.0, 0.0], "a track is as wide as drawn, a cut has no width");
    let Some((_, ::dxf::entities::EntityType::Circle(hole))) = found.last() else { panic!("{found:?}") };
    assert_eq!((hole.center.x, hole.center.y, hole.radius), (20.0, 40.0, 3.1755), "y runs upward");
}

#[test]
fn a_hole_on_paper_has_a_cross_past_its_rim() {
    let hole = Hole { at: Xy::new(20 * MM, 10 * MM), diameter: 6 * MM, tag: Tag::class("button") };
    let scene = Scene { width: 40 * MM, height: 20 * MM, holes: vec![hole], ..Scene::default() };
    let file = svg::write(&scene);
    assert!(file.contains(r#"<circle class="button" cx="20" cy="10" r="3" fill="none""#), "{file}");
    assert!(file.contains(r#"d="M15.5 10 L24.5 10 M20 5.5 L20 14.5""#), "{file}");
    assert_eq!(HAIR_WIDTH, 250);
}

/// The outlines of letters in a DXF against the font's own boxes: as high and as wide as the letters are.
#[test]
fn letters_in_a_dxf_are_as_large_as_drawn() {
    let scene = schematic_of(&network(OPEN[0].1)).scene;
    let words = scene.words.iter().find(|words| words.tag.class == "number").expect("a number");
    let alone = Scene { words: vec![words.clone()], strokes: vec![], marks: vec![], ..scene.clone() };
    let found = entities(&dxf::write(&alone).expect("written"));
    assert!(found.iter().all(|(layer, _)| layer == "ENGRAVE"));
    let corners: Vec<(f64, f64)> = polylines(&found)
        .inspect(|line| assert_eq!(line.flags & 1, 1, "every ring is closed"))
        .flat_map(|line| line.vertices.iter().map(|vertex| (vertex.x, vertex.y)))
        .collect();
    let face = ttf_parser::Face::parse(draw::fonts::ALL[1].1, 0).expect("the font of numbers");
    let boxes: Vec<_> = words
        .text
        .chars()
        .map(|letter| face.glyph_bounding_box(face.glyph_index(letter).expect("a digit")).expect("a shape"))
        .collect();
    let to_mm = whole(words.size) / 1000.0 / f64::from(face.units_per_em());
    let foot = whole(scene.height - words.at.y) / 1000.0;
    let top = foot + f64::from(boxes.iter().map(|bounds| bounds.y_max).max().expect("a digit")) * to_mm;
    let low = foot + f64::from(boxes.iter().map(|bounds| bounds.y_min).min().expect("a digit")) * to_mm;
    let high = corners.iter().map(|corner| corner.1).fold(f64::MIN, f64::max);
    let deep = corners.iter().map(|corner| corner.1).fold(f64::MAX, f64::min);
    // A curve's highest place lies between two corners, at most 10 µm off.
    assert!((high - top).abs() < 0.012 && (deep - low).abs() < 0.012, "{high} {top}, {deep} {low}");
    let left = corners.iter().map(|corner| corner.0).fold(f64::MAX, f64::min);
    let first = whole(words.area.left) / 1000.0 + f64::from(boxes[0].x_min) * to_mm;
    assert!((left - first).abs() < 0.012, "{left} {first}");
}

#[test]
fn the_same_scene_gives_the_same_bytes() {
    let scene = schematic_of(&network(OPEN[0].1)).scene;
    assert_eq!(dxf::write(&scene).expect("written"), dxf::write(&scene).expect("written"));
    assert_eq!(png::write(&scene, 60).expect("drawn"), png::write(&scene, 60).expect("drawn"));
}

#[test]
fn nothing_and_hostile_names_can_be_written() {
    for text in [
        "",
        "[layout]\nname = \"x\"\n[end.\"\u{1F682} \u{202E}\u{5E1}</svg>\"]\ntrack = \"t\"\n[end.y]\ntrack = \"t\"\n",
    ] {
        let scene = schematic_of(&network(text)).scene;
        dxf::write(&scene).expect("written");
        let drawn = png::write(&scene, 100).expect("drawn");
        assert!(read(&drawn).0 > 0);
    }
}
