//! A scene as SVG.
//!
//! One group a layer, in drawing order; one element a stroke, mark or row of words, with classes and `data-` attributes
//! from its tag so that a page can find and restyle it. `width` and `height` are in millimetres, the view box in
//! millimetres too, so it comes out true to scale wherever it is placed. Something hidden carries the presentation
//! attribute `visibility="hidden"`, which a style sheet overrides. Kerning is switched off by a style, since programs heed
//! it in no other form.
//!
//! # Source
//! W3C, Scalable Vector Graphics (SVG) 1.1 (Second Edition), 2011; XML 1.0 (Fifth Edition) for what a text may hold.

use crate::figure::{Figure, bar_width, cross, figure};
use crate::fonts::{LABEL_FAMILY, TABLE_FAMILY};
use crate::scene::{Anchor, Family, Hole, Layer, Mark, Scene, Shape, Stroke, Tag, Weight, Words, Xy};
use crate::sheet::{HAIR_WIDTH, Ink, MARK_HALO, Um};
use std::fmt::Write as _;

/// The scene as the text of an SVG file.
pub fn write(scene: &Scene) -> String {
    written(scene, " style=\"font-kerning:none\"")
}

/// The scene as an element of a page whose own style sheet switches kerning off: such a page may allow no styles in
/// its text.
pub fn write_for_page(scene: &Scene) -> String {
    written(scene, "")
}

fn written(scene: &Scene, style: &str) -> String {
    let (width, height) = (mm(scene.width), mm(scene.height));
    let mut out = String::new();
    // Writing to a `String` cannot fail, so the results of `write!` are let go throughout this file.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\"{style}>"
    );
    let _ = writeln!(out, "<title>{}</title>", escaped(&scene.title));
    let _ = writeln!(
        out,
        "<rect class=\"paper\" width=\"{width}\" height=\"{height}\" fill=\"{}\"/>",
        Ink::Paper.colour()
    );
    for layer in Layer::ALL {
        write_layer(&mut out, scene, layer);
    }
    out.push_str("</svg>\n");
    out
}

fn write_layer(out: &mut String, scene: &Scene, layer: Layer) {
    let mut inner = String::new();
    for stroke in scene.strokes.iter().filter(|stroke| stroke.layer == layer) {
        write_stroke(&mut inner, stroke);
    }
    for mark in scene.marks.iter().filter(|mark| mark.layer == layer) {
        write_mark(&mut inner, mark);
    }
    for words in scene.words.iter().filter(|words| words.layer == layer) {
        write_words(&mut inner, words);
    }
    if layer == Layer::Drill {
        scene.holes.iter().for_each(|hole| write_hole(&mut inner, hole));
    }
    if !inner.is_empty() {
        let _ = write!(out, "<g class=\"layer-{}\">\n{inner}</g>\n", layer.name());
    }
}

fn write_stroke(out: &mut String, stroke: &Stroke) {
    let cap = if stroke.round { "round" } else { "butt" };
    let dashes = if stroke.dashed {
        format!(" stroke-dasharray=\"{} {}\"", mm(stroke.width * 3), mm(stroke.width * 2))
    } else {
        String::new()
    };
    let _ = writeln!(
        out,
        "<path{} d=\"{}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\" stroke-linecap=\"{cap}\" \
         stroke-linejoin=\"round\"{dashes}/>",
        attributes(&stroke.tag, stroke.hidden),
        path(&stroke.path, false),
        stroke.ink.colour(),
        mm(stroke.width)
    );
}

fn path(corners: &[Xy], closed: bool) -> String {
    let mut out = String::new();
    for (index, corner) in corners.iter().enumerate() {
        let letter = if index == 0 { "M" } else { " L" };
        let _ = write!(out, "{letter}{} {}", mm(corner.x), mm(corner.y));
    }
    if closed {
        out.push_str(" Z");
    }
    out
}

fn write_mark(out: &mut String, mark: &Mark) {
    let attributes = attributes(&mark.tag, mark.hidden);
    let colour = mark.ink.colour();
    let open = |width: Um| format!("stroke=\"{colour}\" stroke-width=\"{}\"", mm(width));
    let style = match mark.shape {
        Shape::Round | Shape::Diamond => {
            format!("fill=\"{colour}\" stroke=\"{}\" stroke-width=\"{}\"", Ink::Paper.colour(), mm(MARK_HALO))
        }
        Shape::ArrowLeft | Shape::ArrowRight => format!("fill=\"{colour}\""),
        Shape::Ring => format!("fill=\"{}\" {}", Ink::Paper.colour(), open(HAIR_WIDTH * 2)),
        Shape::OpenSquare => {
            let dash = mm(mark.size / 5);
            let line = open(HAIR_WIDTH * 2);
            format!("fill=\"{}\" {line} stroke-dasharray=\"{dash} {dash}\"", Ink::Paper.colour())
        }
        Shape::Pit => format!("fill=\"none\" {}", open(HAIR_WIDTH * 2)),
        Shape::Bar | Shape::TwinBar => format!("fill=\"none\" {}", open(bar_width(mark))),
        Shape::Diode => format!("fill=\"{colour}\" {}", open(bar_width(mark))),
    };
    let _ = match figure(mark) {
        Figure::Circle(radius) => {
            let (x, y, r) = (mm(mark.at.x), mm(mark.at.y), mm(radius));
            writeln!(out, "<circle{attributes} cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {style}/>")
        }
        Figure::Outline(corners) => {
            let d = path(&corners, true);
            writeln!(out, "<path{attributes} d=\"{d}\" {style} stroke-linejoin=\"round\"/>")
        }
        Figure::Bars(bars) => {
            let d: Vec<String> = bars.iter().map(|bar| path(bar, false)).collect();
            writeln!(out, "<path{attributes} d=\"{}\" {style}/>", d.join(" "))
        }
        Figure::Diode(corners, tip) => {
            let (body, tip) = (path(&corners, true), path(&tip, false));
            writeln!(out, "<path{attributes} d=\"{body} {tip}\" {style}/>")
        }
    };
}

/// The rim, and the cross through the middle.
fn write_hole(out: &mut String, hole: &Hole) {
    let (x, y, r) = (mm(hole.at.x), mm(hole.at.y), mm(hole.diameter / 2));
    let line = format!("fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"", Ink::Ink.colour(), mm(HAIR_WIDTH));
    let attributes = attributes(&hole.tag, false);
    let _ = writeln!(out, "<circle{attributes} cx=\"{x}\" cy=\"{y}\" r=\"{r}\" {line}/>");
    let d = cross(hole).map(|arm| path(&arm, false)).join(" ");
    let _ = writeln!(out, "<path class=\"hole-middle\" d=\"{d}\" {line}/>");
}

fn write_words(out: &mut String, words: &Words) {
    let anchor = match words.anchor {
        Anchor::Left => "start",
        Anchor::Middle => "middle",
        Anchor::Right => "end",
    };
    let family = match words.family {
        Family::Label => LABEL_FAMILY,
        Family::Table => TABLE_FAMILY,
    };
    let weight = match words.weight {
        Weight::Regular => "400",
        Weight::SemiBold => "600",
    };
    let _ = writeln!(
        out,
        "<text{} x=\"{}\" y=\"{}\" font-family=\"{family}\" font-weight=\"{weight}\" font-size=\"{}\" \
         text-anchor=\"{anchor}\" fill=\"{}\">{}</text>",
        attributes(&words.tag, false),
        mm(words.at.x),
        mm(words.at.y),
        mm(words.size),
        words.ink.colour(),
        escaped(&words.text)
    );
}

fn attributes(tag: &Tag, hidden: bool) -> String {
    let mut out = String::new();
    if !tag.class.is_empty() {
        let _ = write!(out, " class=\"{}\"", tag.class);
    }
    let named = [
        ("lever", tag.lever.as_deref()),
        ("machine", tag.machine.as_deref()),
        ("position", tag.position),
        ("track", tag.track.as_deref()),
        ("joint", tag.joint.as_deref()),
    ];
    for (name, value) in named {
        if let Some(value) = value {
            let _ = write!(out, " data-{name}=\"{}\"", escaped(value));
        }
    }
    if !tag.when.is_empty() {
        let _ = write!(out, " data-when=\"{}\"", escaped(&when_text(&tag.when)));
    }
    if hidden {
        out.push_str(" visibility=\"hidden\"");
    }
    out
}

/// The condition as a JSON list of lists of `[machine, position]`, which a page reads without a parser of its own.
fn when_text(when: &[Vec<(String, &'static str)>]) -> String {
    let quoted = |text: &str| format!("\"{}\"", text.replace('\\', "\\\\").replace('"', "\\\""));
    let all_of = |needs: &Vec<(String, &'static str)>| {
        let parts: Vec<String> =
            needs.iter().map(|(machine, position)| format!("[{},\"{position}\"]", quoted(machine))).collect();
        format!("[{}]", parts.join(","))
    };
    format!("[{}]", when.iter().map(all_of).collect::<Vec<_>>().join(","))
}

/// Micrometres as millimetres, with no more digits than needed.
fn mm(um: Um) -> String {
    let sign = if um < 0 { "-" } else { "" };
    let size = um.unsigned_abs();
    let (whole, rest) = (size / 1_000, size % 1_000);
    if rest == 0 {
        return format!("{sign}{whole}");
    }
    format!("{sign}{whole}.{}", format!("{rest:03}").trim_end_matches('0'))
}

/// The text as XML may hold it: the five signs escaped, characters that XML forbids left out.
fn escaped(text: &str) -> String {
    let mut out = String::with_capacity(text.len());
    for letter in text.chars() {
        match letter {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&apos;"),
            '\n' | '\t' | '\r' => out.push(' '),
            '\u{0}'..='\u{1f}' | '\u{fffe}' | '\u{ffff}' => {}
            other => out.push(other),
        }
    }
    out
}
