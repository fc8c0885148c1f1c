//! One packet along time, as a receiver saw it: a row for the preamble and one for each byte, every bit named.
//!
//! Half bits are drawn as long as they lasted, 1 mm for 20 µs; those longer than the room are cut short and say how long
//! they were.

use crate::fonts::Fonts;
use crate::pen::{Pen, Type};
use crate::scene::{Layer, Scene, Tag, Xy};
use crate::sheet::{
    HAIR_WIDTH, Ink, Um, WAVE_CUT, WAVE_HIGH, WAVE_LABEL_WIDTH, WAVE_LETTER_HEIGHT, WAVE_MARGIN,
    WAVE_NS_PER_UM, WAVE_ROOM_MIN, WAVE_ROW_PITCH, WAVE_TITLE_HEIGHT, WAVE_WIDTH,
};

/// A half bit.
///
/// # Units
/// Nanoseconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Half {
    /// When it began.
    pub began: u64,
    /// How long it lasted.
    pub length: u64,
    /// Whether the level was high.
    pub high: bool,
}

/// The most preamble bits that are drawn: as many as a station must send.
const PREAMBLE_DRAWN: usize = 14;
/// Halves of a byte and the start bit before it.
const BYTE_HALVES: usize = 18;

/// Draws the packet whose start bit begins at this moment. `halves` may begin long before it.
pub fn packet(title: &str, halves: &[Half], start_bit: u64, preamble: u32, bytes: &[u8]) -> Scene {
    let fonts = Fonts::read();
    let rows = rows(halves, start_bit, preamble, bytes);
    let height = WAVE_MARGIN * 2 + WAVE_ROW_PITCH * (Um::try_from(rows.len()).unwrap_or_default() + 1);
    let room =
        rows.iter().map(|row| row.halves.iter().map(drawn).sum()).max().unwrap_or(0).max(WAVE_ROOM_MIN);
    let width = WAVE_MARGIN * 2 + WAVE_LABEL_WIDTH + room;
    let mut pen = Pen::on(&fonts, title.to_owned(), (width, height));
    let at = Xy::new(WAVE_MARGIN, WAVE_MARGIN + WAVE_TITLE_HEIGHT);
    pen.write(title, at, WAVE_LABEL_WIDTH + room, Type::bold(WAVE_TITLE_HEIGHT), Tag::class("title"));
    for (row, foot) in rows.iter().zip(1..) {
        draw_row(&mut pen, row, WAVE_MARGIN + WAVE_ROW_PITCH * (foot + 1));
    }
    pen.scene
}

/// A row: what it is called, and its half bits.
struct Row<'a> {
    label: String,
    halves: &'a [Half],
}

fn rows<'a>(halves: &'a [Half], start_bit: u64, preamble: u32, bytes: &[u8]) -> Vec<Row<'a>> {
    let first = halves.partition_point(|half| half.began < start_bit);
    let (before, packet) = halves.split_at(first);
    let wanted = usize::try_from(preamble).unwrap_or(PREAMBLE_DRAWN).min(PREAMBLE_DRAWN) * 2;
    let shown = before.get(before.len().saturating_sub(wanted)..).unwrap_or_default();
    let mut rows = vec![Row { label: format!("preamble, {preamble} bits"), halves: shown }];
    for (index, byte) in bytes.iter().enumerate() {
        let from = (index * BYTE_HALVES).min(packet.len());
        // The last byte has the end bit behind it.
        let more = if index + 1 == bytes.len() { 2 } else { 0 };
        let to = (from + BYTE_HALVES + more).min(packet.len());
        let name = if index + 1 == bytes.len() { "error byte" } else { "byte" };
        let number = if index + 1 == bytes.len() { String::new() } else { format!(" {}", index + 1) };
        let halves = packet.get(from..to).unwrap_or_default();
        rows.push(Row { label: format!("{name}{number} {byte:02X}"), halves });
    }
    rows
}

/// How long a half bit is drawn.
fn drawn(half: &Half) -> Um {
    Um::try_from(half.length / WAVE_NS_PER_UM).unwrap_or(WAVE_CUT).min(WAVE_CUT)
}

fn draw_row(pen: &mut Pen<'_>, row: &Row<'_>, foot: Um) {
    let at = Xy::new(WAVE_MARGIN, foot);
    pen.write(&row.label, at, WAVE_LABEL_WIDTH, Type::plain(WAVE_LETTER_HEIGHT), Tag::class("row-name"));
    if let Some(first) = row.halves.first() {
        let when = format!("{}.{:03} ms", first.began / 1_000_000, first.began / 1_000 % 1_000);
        let at = Xy::new(WAVE_MARGIN, foot - WAVE_LETTER_HEIGHT * 2);
        pen.write(&when, at, WAVE_LABEL_WIDTH, Type::plain(WAVE_LETTER_HEIGHT).quiet(), Tag::class("moment"));
    }
    let mut x = WAVE_MARGIN + WAVE_LABEL_WIDTH;
    let mut path = Vec::new();
    for (index, bit) in row.halves.chunks(2).enumerate() {
        let left = x;
        for half in bit {
            let y = if half.high { foot - WAVE_HIGH } else { foot };
            path.push(Xy::new(x, y));
            let drawn = drawn(half);
            x += drawn;
            path.push(Xy::new(x, y));
            if drawn == WAVE_CUT {
                let at = Xy::new(x - drawn / 2, foot - WAVE_HIGH / 2);
                let words = format!("{} µs", half.length / 1_000);
                pen.write(
                    &words,
                    at,
                    drawn,
                    Type::plain(WAVE_LETTER_HEIGHT).middle().quiet(),
                    Tag::class("length"),
                );
            }
        }
        let one = bit.first().is_some_and(|half| half.length < 76_000);
        let middle = Xy::new(i64::midpoint(left, x), foot - WAVE_HIGH - WAVE_LETTER_HEIGHT / 2);
        let look = Type::bold(WAVE_LETTER_HEIGHT).middle();
        // The first bit of a byte's row is its start bit, and the tenth the end bit: they are no part of the byte.
        let framing = index % 9 == 0 && row.label.contains("byte");
        let look = if framing { look.quiet() } else { look };
        pen.write(if one { "1" } else { "0" }, middle, x - left, look, Tag::class("bit"));
        let rule = [Xy::new(x, foot), Xy::new(x, foot - WAVE_HIGH)];
        pen.stroke(&rule, HAIR_WIDTH / 2, Layer::Frame, Ink::Faint, "bit-end");
    }
    if path.len() > 1 {
        pen.stroke(&path, WAVE_WIDTH, Layer::Track, Ink::Normal, "wave");
    }
}
