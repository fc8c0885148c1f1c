//! `throwbar packet`: one DCC packet after another, made, read or put in a row.

pub(crate) mod batch;
pub(crate) mod decode;
pub(crate) mod encode;
mod explain;
pub(crate) mod stream;

use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use ::packet::{Decoded, LastAddress, NormalIs, Preamble, Scheme, Seen};
use answers::Reading;
use clap::{Args, Subcommand, ValueEnum};

/// What to do with packets.
#[derive(Debug, Subcommand)]
pub(crate) enum PacketCommand {
    /// Make a packet: `1 normal`, `--extended 1 5`, `--cv 29 --write 128 1`, `idle`, `reset`, `accessory-stop`,
    /// `extended-stop`, `loco-stop`.
    Encode(encode::Encode),
    /// Say what bytes mean: `81 F9 78`.
    Decode(decode::Decode),
    /// Put packets in a row as a signal on the rails, say how long it takes, and write it as VCD or CSV.
    Stream(stream::Stream),
}

/// How numbers are read: texts differ, so the user says.
#[derive(Clone, Copy, Debug, Default, Args)]
pub(crate) struct Choices {
    /// How user numbers count: user 1 is board 1, or board 0, or the last four of every 256 wrap.
    #[arg(long, value_name = "SCHEME")]
    pub(crate) scheme: Option<SchemeName>,
    /// Which value of the direction bit is the normal position; 1 where nothing is said.
    #[arg(long, value_name = "BIT", value_parser = bit)]
    pub(crate) normal_is: Option<NormalIs>,
    /// The highest user number in use: 2040, 2044 or 2048.
    #[arg(long, value_name = "NUMBER", value_parser = last_address)]
    pub(crate) last_address: Option<LastAddress>,
    /// How many 1 bits are sent before a packet: 14 or more, 17 where decoders answer in a cutout.
    #[arg(long, value_name = "BITS", value_parser = preamble)]
    pub(crate) preamble: Option<Preamble>,
}

/// How one packet is asked for.
#[derive(Clone, Copy, Debug, Default, Args)]
pub(crate) struct Ask {
    #[command(flatten)]
    pub(crate) choices: Choices,
    /// Draw each byte with the letters of the standard, and say what its bits are for.
    #[arg(long)]
    pub(crate) explain: bool,
    /// Read one request a line from standard input, and answer each with one JSON object a line.
    #[arg(long)]
    pub(crate) batch: bool,
}

/// The ways of counting, as they are written on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub(crate) enum SchemeName {
    /// User 1 is board 1, output 1.
    Linear,
    /// User 1 is board 0, output 1.
    ZeroBased,
    /// As linear, but the last four of every 256 wrap.
    #[value(name = "blocks-of-256")]
    BlocksOf256,
}

impl Choices {
    /// These choices, and those of `other` where nothing is said here.
    pub(crate) fn or(self, other: Self) -> Self {
        Self {
            scheme: self.scheme.or(other.scheme),
            normal_is: self.normal_is.or(other.normal_is),
            last_address: self.last_address.or(other.last_address),
            preamble: self.preamble.or(other.preamble),
        }
    }

    pub(crate) fn reading(self, seen: Seen) -> Reading {
        Reading {
            scheme: match self.scheme {
                Some(SchemeName::Linear) | None => Scheme::Linear,
                Some(SchemeName::ZeroBased) => Scheme::ZeroBased,
                Some(SchemeName::BlocksOf256) => Scheme::BlocksOf256,
            },
            normal: self.normal_is.unwrap_or_default(),
            last: self.last_address.unwrap_or_default(),
            seen,
        }
    }

    pub(crate) fn preamble(self) -> Preamble {
        self.preamble.unwrap_or(Preamble::STANDARD)
    }
}

fn bit(text: &str) -> Result<NormalIs, String> {
    match text {
        "1" => Ok(NormalIs::One),
        "0" => Ok(NormalIs::Zero),
        _ => Err("write 1 or 0".to_owned()),
    }
}

fn last_address(text: &str) -> Result<LastAddress, String> {
    match text {
        "2040" => Ok(LastAddress::N2040),
        "2044" => Ok(LastAddress::N2044),
        "2048" => Ok(LastAddress::N2048),
        _ => Err("write 2040, 2044 or 2048".to_owned()),
    }
}

fn preamble(text: &str) -> Result<Preamble, String> {
    let asked = text.parse().ok().and_then(Preamble::new);
    asked.ok_or_else(|| {
        format!("a station sends 14 bits or more (S-9.2, section A); write 14 to {}", Preamble::MAX)
    })
}

pub(crate) fn run(style: Style, batch: bool, what: Option<&PacketCommand>) -> Result<Ended, Failure> {
    match what {
        None => batch::run(batch::Verb::Told, Choices::default(), false),
        Some(PacketCommand::Encode(encode)) if batch || encode.ask.batch => {
            batch::run(batch::Verb::Encode, encode.ask.choices, encode.ask.explain)
        }
        Some(PacketCommand::Decode(decode)) if batch || decode.ask.batch => {
            batch::run(batch::Verb::Decode, decode.ask.choices, decode.ask.explain)
        }
        Some(PacketCommand::Encode(encode)) => {
            let decoded = encode.packet(encode.ask.choices).map_err(Failure::Request)?;
            answer(style, &decoded, encode.ask.choices, Seen::Main, encode.ask.explain)
        }
        Some(PacketCommand::Decode(decode)) => {
            let (decoded, seen) = decode.packet().map_err(Failure::Request)?;
            answer(style, &decoded, decode.ask.choices, seen, decode.ask.explain)
        }
        Some(PacketCommand::Stream(stream)) => stream::run(style, stream),
    }
}

fn answer(
    style: Style,
    decoded: &Decoded,
    choices: Choices,
    seen: Seen,
    explain: bool,
) -> Result<Ended, Failure> {
    let answer = document(decoded, choices, seen, explain);
    if style.json {
        print::json(&answer)?;
    } else {
        print::answer(&explain::words(&answer, decoded, choices.reading(seen)))?;
    }
    Ok(ended(decoded))
}

/// The answer about one packet.
pub(crate) fn document(
    decoded: &Decoded,
    choices: Choices,
    seen: Seen,
    explain: bool,
) -> answers::PacketAnswer {
    let mut answer = answers::packet(decoded, choices.preamble(), choices.reading(seen));
    if explain {
        answer.explained = Some(answers::explained(decoded));
    }
    answer
}

fn ended(decoded: &Decoded) -> Ended {
    if decoded.checksum_ok() { Ended::Well } else { Ended::WithErrors }
}
