//! `packet decode`: from bytes to what they mean.

use super::Ask;
use ::packet::{Bytes, Decoded, Seen};
use clap::Args;

/// Bytes to read.
#[derive(Clone, Debug, Args)]
pub(crate) struct Decode {
    /// The bytes, two hexadecimal digits each, the error byte last.
    #[arg(value_name = "BYTES", required_unless_present = "batch")]
    bytes: Vec<String>,
    /// They were seen on a programming track, right after a reset packet.
    #[arg(long)]
    programming: bool,
    #[command(flatten)]
    pub(crate) ask: Ask,
}

impl Decode {
    /// The packet of these bytes, or what is wrong with them.
    pub(crate) fn packet(&self) -> Result<(Decoded, Seen), String> {
        let seen = if self.programming { Seen::Programming } else { Seen::Main };
        let bytes = read(&self.bytes.join(" "))?;
        let received = Bytes::received(&bytes).ok_or_else(|| {
            format!(
                "a packet has {} to {} bytes, the error byte included, and this has {}",
                Bytes::MIN,
                Bytes::MAX,
                bytes.len()
            )
        })?;
        Ok((Decoded::new(received, seen), seen))
    }
}

/// Bytes in hexadecimal digits: apart or in one, with or without `0x`.
fn read(text: &str) -> Result<Vec<u8>, String> {
    let mut bytes = Vec::new();
    for word in text.split(|letter: char| letter.is_whitespace() || ",;:-".contains(letter)) {
        let digits = word.strip_prefix("0x").or_else(|| word.strip_prefix("0X")).unwrap_or(word);
        if digits.is_empty() && word.is_empty() {
            continue;
        }
        let even = digits.len().is_multiple_of(2) && !digits.is_empty();
        if !even || !digits.bytes().all(|digit| digit.is_ascii_hexdigit()) {
            return Err(format!(
                "`{word}` is no byte; write two hexadecimal digits for each, such as 81 F9 78"
            ));
        }
        for pair in digits.as_bytes().chunks(2) {
            let pair = std::str::from_utf8(pair).unwrap_or_default();
            bytes.extend(u8::from_str_radix(pair, 16).ok());
        }
    }
    Ok(bytes)
}
