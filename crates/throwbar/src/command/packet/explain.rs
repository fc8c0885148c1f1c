//! A packet in words for people, and its bytes drawn with the letters of the standard.

use crate::print;
use ::packet::{Decoded, Kind, NormalIs, Scheme};
use answers::{PacketAnswer, Reading};
use std::fmt::Write as _;

/// What is printed about one packet.
pub(super) fn words(answer: &PacketAnswer, decoded: &Decoded, reading: Reading) -> String {
    let mut text = String::new();
    let good = if answer.checksum_ok { "the error byte is right" } else { "THE ERROR BYTE IS WRONG" };
    // Writing to a `String` cannot fail, so the results of `writeln!` are let go throughout this file.
    let _ = writeln!(text, "{}   {}, {good}", answer.bytes, answer.kind);
    let said = said(answer);
    if !said.is_empty() {
        let _ = writeln!(text, "{}", said.join(", "));
    }
    let _ = writeln!(text, "bits: {}", answer.bits);
    for warning in &answer.warnings {
        let _ = writeln!(text, "{}", fitted(&format!("warning: {warning}")));
    }
    if let Some(bytes) = &answer.explained {
        for (index, byte) in bytes.iter().enumerate() {
            text.push('\n');
            draw(&mut text, index + 1, byte);
        }
        for trap in traps(answer, decoded, reading) {
            let _ = write!(text, "\n{}\n", fitted(&trap));
        }
    }
    text
}

/// A sentence in rows as wide as the terminal.
fn fitted(text: &str) -> String {
    print::wrapped(text, print::width()).join("\n")
}

fn said(answer: &PacketAnswer) -> Vec<String> {
    let mut said = Vec::new();
    let mut add = |words: Option<String>| said.extend(words);
    add(answer.address.map(|address| format!("address {address}")));
    add(answer.position.map(str::to_owned));
    add(answer.active.filter(|active| !active).map(|_| "output off".to_owned()));
    add(answer.aspect.map(|aspect| format!("aspect {aspect}")));
    add(answer.instruction.map(str::to_owned));
    add(answer.cv.as_ref().map(|cv| {
        let bit = cv.bit.map_or_else(String::new, |bit| format!(" {bit}"));
        format!("{}{bit} of CV {}: {}", cv.action, cv.number, cv.value)
    }));
    add(answer.board.map(|board| match answer.pair {
        Some(pair) => format!("board {board}, pair {pair}"),
        None => format!("board {board}"),
    }));
    add(answer.binary.map(|binary| format!("binary address {binary}")));
    said
}

/// One byte: its bits, the letters under them, and a row for each run of letters.
fn draw(text: &mut String, number: usize, byte: &answers::ByteRow) {
    let spaced = |letters: &str| letters.chars().flat_map(|letter| [' ', letter]).collect::<String>();
    let _ = writeln!(text, "byte {number} is {}", byte.byte);
    let _ = writeln!(text, "   bit {}", spaced("76543210"));
    let _ = writeln!(text, "       {}", spaced(&byte.bits));
    let _ = writeln!(text, "       {}", spaced(byte.form));
    for part in byte.parts.iter().filter(|part| !part.means.starts_with("fixed")) {
        let before = usize::from(7u8.saturating_sub(part.from_bit)) * 2;
        let length = (part.bits.len() * 2).saturating_sub(1);
        let line = if length == 1 { "│".to_owned() } else { format!("└{}┘", "─".repeat(length - 2)) };
        let after = 17usize.saturating_sub(before + length);
        let _ = writeln!(text, "        {}{line}{}{}", " ".repeat(before), " ".repeat(after), part.means);
    }
}

/// Where other systems would read the same number or the same bytes in another way.
fn traps(answer: &PacketAnswer, decoded: &Decoded, reading: Reading) -> Vec<String> {
    let mut traps = Vec::new();
    let Some(binary) = decoded.kind.accessory() else { return traps };
    if answer.address.is_some() {
        let others: Vec<String> = Scheme::ALL
            .into_iter()
            .filter(|scheme| *scheme != reading.scheme)
            .map(|scheme| format!("{} counted {}", binary.user(scheme).number(), scheme.word()))
            .collect();
        traps.push(format!(
            "These bits are address {} counted {}, and {}. A decoder that counts in another way than the system \
             answers to another number.",
            binary.user(reading.scheme).number(),
            reading.scheme.word(),
            others.join(", ")
        ));
    }
    if let Kind::Basic(basic) = decoded.kind {
        let other = match reading.normal {
            NormalIs::One => NormalIs::Zero,
            NormalIs::Zero => NormalIs::One,
        };
        traps.push(format!(
            "The standard does not say which direction bit is normal. Here {} is {}; where it is the other way round this \
             packet throws to {}.",
            basic.direction.bit(),
            basic.direction.position(reading.normal).word(),
            basic.direction.position(other).word()
        ));
    }
    traps
}
