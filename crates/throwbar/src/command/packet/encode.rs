//! `packet encode`: from words to a packet.

use super::{Ask, Choices};
use ::packet::{
    Basic, BitIndex, Board, CvAccess, CvAction, CvNumber, CvTarget, Decoded, Extended, LocoStop, Packet,
    Position, Seen, UserAddress,
};
use clap::Args;

/// One packet to make.
#[derive(Clone, Debug, Args)]
pub(crate) struct Encode {
    /// An address and `normal` or `reverse`; with `--extended`, an address and an aspect; with `--cv`, an address; or the
    /// name of a packet for all.
    #[arg(value_name = "ADDRESS normal|reverse", required_unless_present = "batch")]
    words: Vec<String>,
    /// For an extended accessory decoder.
    #[arg(long)]
    extended: bool,
    /// Switch the output off instead of on.
    #[arg(long)]
    off: bool,
    /// Access to this configuration variable, on the main.
    #[arg(long, value_name = "CV", value_parser = cv_number)]
    cv: Option<CvNumber>,
    /// With `--cv`: write this value.
    #[arg(long, value_name = "VALUE", requires = "cv", group = "action")]
    write: Option<u8>,
    /// With `--cv`: compare with this value.
    #[arg(long, value_name = "VALUE", requires = "cv", group = "action")]
    verify: Option<u8>,
    /// With `--cv`: write one bit, as `6=1`.
    #[arg(long, value_name = "BIT=VALUE", requires = "cv", group = "action", value_parser = bit_value)]
    write_bit: Option<BitValue>,
    /// With `--cv`: compare one bit, as `6=1`.
    #[arg(long, value_name = "BIT=VALUE", requires = "cv", group = "action", value_parser = bit_value)]
    verify_bit: Option<BitValue>,
    /// With `--cv`: the variables of one output of the board, 0 to 7, in place of those of the whole decoder.
    #[arg(long, value_name = "OUTPUT", requires = "cv", value_parser = bit_index)]
    output: Option<BitIndex>,
    #[command(flatten)]
    pub(crate) ask: Ask,
}

/// A bit of a variable and its value.
#[derive(Clone, Copy, Debug)]
struct BitValue(BitIndex, bool);

fn cv_number(text: &str) -> Result<CvNumber, String> {
    let number = text.parse().ok().and_then(CvNumber::new);
    number.ok_or_else(|| format!("variables are numbered 1 to {}", CvNumber::MAX))
}

fn bit_index(text: &str) -> Result<BitIndex, String> {
    text.parse().ok().and_then(BitIndex::new).ok_or_else(|| "write a number from 0 to 7".to_owned())
}

fn bit_value(text: &str) -> Result<BitValue, String> {
    let pair = text.split_once('=');
    let (bit, value) = pair.ok_or_else(|| "write a bit and its value, such as 6=1".to_owned())?;
    match value {
        "0" | "1" => Ok(BitValue(bit_index(bit)?, value == "1")),
        _ => Err("the value of a bit is 0 or 1".to_owned()),
    }
}

impl Encode {
    /// The packet that is asked for, or what is wrong with the words.
    pub(crate) fn packet(&self, choices: Choices) -> Result<Decoded, String> {
        let packet = self.asked(choices)?;
        Ok(Decoded::new(packet.encode(), Seen::Main))
    }

    /// The packet that is asked for, or what is wrong with the words.
    pub(crate) fn asked(&self, choices: Choices) -> Result<Packet, String> {
        let words: Vec<&str> = self.words.iter().map(String::as_str).collect();
        let reading = choices.reading(Seen::Main);
        if self.off && (self.extended || self.cv.is_some()) {
            return Err("--off is for a basic accessory packet".to_owned());
        }
        if let Some(cv) = self.cv {
            let [address] = words[..] else {
                return Err("with --cv write one address, such as --cv 29 --write 128 1".to_owned());
            };
            return Ok(Packet::Cv(self.access(cv, user(address, choices)?.binary(reading.scheme))?));
        }
        match words[..] {
            ["idle"] => Ok(Packet::Idle),
            ["reset"] => Ok(Packet::Reset),
            ["accessory-stop"] => Ok(Packet::BasicStop),
            ["extended-stop"] => Ok(Packet::ExtendedStop),
            ["loco-stop"] => {
                Ok(Packet::LocoStop(LocoStop { cut_off: true, forward: false, direction_optional: true }))
            }
            [address, aspect] if self.extended => {
                let address = user(address, choices)?.binary(reading.scheme);
                let aspect = aspect
                    .parse()
                    .map_err(|_| format!("`{aspect}` is no aspect; write a number from 0 to 255"))?;
                Ok(Packet::Extended(Extended { address, aspect }))
            }
            [address, position] => {
                let address = user(address, choices)?.binary(reading.scheme);
                let position = match position {
                    "normal" => Position::Normal,
                    "reverse" => Position::Reverse,
                    _ => return Err(format!("`{position}` is no position; write normal or reverse")),
                };
                let throw = Basic::throw(address, position, reading.normal);
                Ok(Packet::Basic(Basic { active: !self.off, ..throw }))
            }
            _ if self.extended => Err("write an address and an aspect, such as --extended 1 5".to_owned()),
            _ => Err("write an address and a position, such as 1 normal".to_owned()),
        }
    }

    fn access(&self, cv: CvNumber, address: ::packet::BinaryAddress) -> Result<CvAccess, String> {
        let action = match (self.write, self.verify, self.write_bit, self.verify_bit) {
            (Some(value), ..) => CvAction::Write(value),
            (_, Some(value), ..) => CvAction::Verify(value),
            (_, _, Some(BitValue(bit, value)), _) => CvAction::WriteBit(bit, value),
            (.., Some(BitValue(bit, value))) => CvAction::VerifyBit(bit, value),
            (None, None, None, None) => {
                return Err("say what to do: --write, --verify, --write-bit or --verify-bit".to_owned());
            }
        };
        let target = match (self.extended, self.output) {
            (true, Some(_)) => return Err("--output is for a basic accessory decoder".to_owned()),
            (true, None) => CvTarget::Extended(address),
            (false, Some(output)) => CvTarget::Output(Board::of(address), output),
            (false, None) => CvTarget::Board(Board::of(address)),
        };
        Ok(CvAccess { target, cv, action })
    }
}

fn user(word: &str, choices: Choices) -> Result<UserAddress, String> {
    let last = choices.reading(Seen::Main).last.number();
    let number = word.parse::<u16>().ok().filter(|&number| number <= last);
    number
        .and_then(UserAddress::new)
        .ok_or_else(|| format!("`{word}` is no accessory address; write a number from 1 to {last}"))
}
