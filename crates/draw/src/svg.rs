//! A scene as SVG.
//!
//! One group a layer, in drawing order; one element a stroke, mark or row of words, with classes and `data-` attributes
//! from its tag so that a page can find and restyle it. `width` and `height` are in millimetres, the view box in
//! millimetres too, so it comes out true to scale wherever it is placed. Something hidden carries the presentation
//! attribute `visibility="hidden"`, which a style sheet overrides.
//!
//! # Source
//! W3C, Scalable Vector Graphics (SVG) 1.1 (Second Edition), 2011; XML 1.0 (Fifth Edition) for what a text may hold.

use crate::fonts::{LABEL_FAMILY, TABLE_FAMILY};
use crate::scene::{Anchor, Family, Layer, Mark, Scene, Shape, Stroke, Tag, Weight, Words, Xy};
use crate::sheet::{HAIR_WIDTH, Ink, MARK_HALO, Um};
use std::fmt::Write as _;

/// The scene as the text of an SVG file.
pub fn write(scene: &Scene) -> String {
    let (width, height) = (mm(scene.width), mm(scene.height));
    let mut out = String::new();
    // Writing to a `String` cannot fail, so the results of `write!` are let go throughout this file.
    let _ = writeln!(
        out,
        "<svg xmlns=\"http://www.w3.org/2000/svg\" width=\"{width}mm\" height=\"{height}mm\" \
         viewBox=\"0 0 {width} {height}\" role=\"img\" font-kerning=\"none\">"
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
        for hole in &scene.holes {
            let (x, y, r) = (mm(hole.at.x), mm(hole.at.y), mm(hole.diameter / 2));
            let _ = writeln!(
                inner,
                "<circle{} cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"none\" stroke=\"{}\" stroke-width=\"{}\"/>",
                attributes(&hole.tag, false),
                Ink::Ink.colour(),
                mm(HAIR_WIDTH)
            );
        }
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
    let half = mark.size / 2;
    let Xy { x, y } = mark.at;
    let attributes = attributes(&mark.tag, mark.hidden);
    let colour = mark.ink.colour();
    let halo = format!("stroke=\"{}\" stroke-width=\"{}\"", Ink::Paper.colour(), mm(MARK_HALO));
    let circle = |radius: Um, style: &str| {
        format!("<circle{attributes} cx=\"{}\" cy=\"{}\" r=\"{}\" {style}/>", mm(x), mm(y), mm(radius))
    };
    let outline = |corners: &[Xy], style: &str| {
        format!("<path{attributes} d=\"{}\" {style} stroke-linejoin=\"round\"/>", path(corners, true))
    };
    let filled = format!("fill=\"{colour}\" {halo}");
    let solid = format!("fill=\"{colour}\"");
    let open = |width: Um| format!("stroke=\"{colour}\" stroke-width=\"{}\"", mm(width));
    let bar = |shift: Um| format!("M{} {} L{} {}", mm(x + shift), mm(y - half), mm(x + shift), mm(y + half));
    let text = match mark.shape {
        Shape::Round => circle(half, &filled),
        Shape::Ring => circle(half, &format!("fill=\"{}\" {}", Ink::Paper.colour(), open(HAIR_WIDTH * 2))),
        Shape::Pit => circle(half, &format!("fill=\"none\" {}", open(HAIR_WIDTH * 2))),
        Shape::Diamond => {
            let reach = half + half / 4;
            let corners =
                [Xy::new(x, y - reach), Xy::new(x + reach, y), Xy::new(x, y + reach), Xy::new(x - reach, y)];
            outline(&corners, &filled)
        }
        Shape::OpenSquare => {
            let reach = half - half / 8;
            let corners = [
                Xy::new(x - reach, y - reach),
                Xy::new(x + reach, y - reach),
                Xy::new(x + reach, y + reach),
                Xy::new(x - reach, y + reach),
            ];
            let dash = mm(mark.size / 5);
            let style = format!(
                "fill=\"{}\" {} stroke-dasharray=\"{dash} {dash}\"",
                Ink::Paper.colour(),
                open(HAIR_WIDTH * 2)
            );
            outline(&corners, &style)
        }
        Shape::Bar | Shape::TwinBar => {
            let apart = mark.size / 6;
            let d = if mark.shape == Shape::Bar { bar(0) } else { format!("{} {}", bar(-apart), bar(apart)) };
            format!("<path{attributes} d=\"{d}\" fill=\"none\" {}/>", open(mark.size / 5))
        }
        Shape::Diode => {
            let corners = [Xy::new(x - half, y + half), Xy::new(x + half, y + half), Xy::new(x, y - half)];
            let tip = [Xy::new(x - half, y - half), Xy::new(x + half, y - half)];
            let d = format!("{} {}", path(&corners, true), path(&tip, false));
            format!("<path{attributes} d=\"{d}\" {solid} {}/>", open(mark.size / 8))
        }
        Shape::ArrowLeft | Shape::ArrowRight => {
            let reach = if mark.shape == Shape::ArrowLeft { -half } else { half };
            let corners = [Xy::new(x + reach, y), Xy::new(x - reach, y - half), Xy::new(x - reach, y + half)];
            outline(&corners, &solid)
        }
    };
    out.push_str(&text);
    out.push('\n');
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
