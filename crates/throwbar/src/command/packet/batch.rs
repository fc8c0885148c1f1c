//! `packet … --batch`: one request a line in, one JSON object a line out, until the input ends.

use super::{Choices, PacketCommand, document};
use crate::Ended;
use crate::failure::Failure;
use ::packet::{Packet, Seen};
use clap::{CommandFactory, FromArgMatches, Parser};
use std::io::{BufRead, Write};

/// The longest request that is read.
const LINE_MAX: usize = 1_000;

/// What a line without a verb asks for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) enum Verb {
    Encode,
    Decode,
    /// The words tell: two hexadecimal digits each are bytes.
    Told,
}

/// One line: the words behind `throwbar packet`.
#[derive(Debug, Parser)]
#[command(name = "packet", no_binary_name = true, disable_help_flag = true, args_override_self = true)]
struct Line {
    #[command(subcommand)]
    what: PacketCommand,
}

pub(crate) fn run(verb: Verb, choices: Choices, explain: bool) -> Result<Ended, Failure> {
    let mut input = std::io::stdin().lock();
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    let mut ended = Ended::Well;
    let mut command = Line::command();
    let mut number = 0u64;
    let mut line = Vec::new();
    loop {
        line.clear();
        let failed = |source| Failure::Input { source };
        let read =
            std::io::Read::take(&mut input, LINE_MAX as u64).read_until(b'\n', &mut line).map_err(failed)?;
        if read == 0 {
            break;
        }
        number += 1;
        let whole = line.ends_with(b"\n") || read < LINE_MAX;
        if !whole {
            input.skip_until(b'\n').map_err(failed)?;
        }
        let text = String::from_utf8_lossy(&line);
        if text.trim().is_empty() {
            continue;
        }
        let answered = if whole {
            answer(&mut command, text.trim(), verb, choices, explain)
        } else {
            Err(format!("the line is longer than {LINE_MAX} bytes"))
        };
        let object = match answered {
            Ok((answer, good)) => {
                if !good && ended == Ended::Well {
                    ended = Ended::WithErrors;
                }
                serde_json::to_value(&answer)
            }
            Err(failure) => {
                ended = Ended::Unusable;
                Ok(serde_json::json!({ "schema": answers::SCHEMA, "line": number, "failure": failure }))
            }
        };
        let printed = object
            .map_err(std::io::Error::other)
            .and_then(|object| writeln!(out, "{object}"))
            // Whoever asks and waits gets the answer before more is read.
            .and_then(|()| out.flush());
        if let Some(stopped) = closed(printed)? {
            return Ok(stopped);
        }
    }
    Ok(closed(out.flush())?.unwrap_or(ended))
}

/// A reader that has seen enough is no failure; anything else that cannot be printed is.
fn closed(printed: std::io::Result<()>) -> Result<Option<Ended>, Failure> {
    match printed {
        Ok(()) => Ok(None),
        Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => Ok(Some(Ended::Well)),
        Err(source) => Err(Failure::Print { source }),
    }
}

/// The words of a request, without the quotes that a shell would have taken.
fn words(text: &str, verb: Verb) -> Vec<String> {
    let mut words: Vec<String> = text
        .split_whitespace()
        .map(|word| word.trim_matches(['"', '\'']).to_owned())
        .filter(|word| !word.is_empty())
        .collect();
    for lead in ["throwbar", "packet"] {
        if words.first().is_some_and(|word| word == lead) {
            words.remove(0);
        }
    }
    if !matches!(words.first().map(String::as_str), Some("encode" | "decode")) {
        let is_byte = |word: &String| word.len() == 2 && word.bytes().all(|digit| digit.is_ascii_hexdigit());
        let bytes = words.len() > 2 && words.iter().all(is_byte);
        let decode = verb == Verb::Decode || (verb == Verb::Told && bytes);
        words.insert(0, if decode { "decode" } else { "encode" }.to_owned());
    }
    words
}

fn parse(command: &mut clap::Command, words: Vec<String>) -> Result<PacketCommand, String> {
    let parsed = command.try_get_matches_from_mut(words).and_then(|found| Line::from_arg_matches(&found));
    // The first row says what is wrong; the rest is help for people at a terminal.
    parsed.map(|line| line.what).map_err(|error| {
        let text = error.to_string();
        text.lines().next().unwrap_or_default().trim_start_matches("error: ").to_owned()
    })
}

/// The packet that the words of a request ask for.
pub(super) fn request(text: &str, choices: Choices) -> Result<Packet, String> {
    match parse(&mut Line::command(), words(text, Verb::Encode))? {
        PacketCommand::Encode(encode) => encode.asked(encode.ask.choices.or(choices)),
        PacketCommand::Decode(_) | PacketCommand::Stream(_) => Err("this is no packet to make".to_owned()),
    }
}

/// Answers one line; also whether the packet is good.
fn answer(
    command: &mut clap::Command,
    text: &str,
    verb: Verb,
    choices: Choices,
    explain: bool,
) -> Result<(answers::PacketAnswer, bool), String> {
    let (decoded, choices, seen, explained) = match parse(command, words(text, verb))? {
        PacketCommand::Encode(encode) => {
            let choices = encode.ask.choices.or(choices);
            (encode.packet(choices)?, choices, Seen::Main, encode.ask.explain)
        }
        PacketCommand::Decode(decode) => {
            let (decoded, seen) = decode.packet()?;
            (decoded, decode.ask.choices.or(choices), seen, decode.ask.explain)
        }
        PacketCommand::Stream(_) => return Err("a signal is no request for one packet".to_owned()),
    };
    Ok((document(&decoded, choices, seen, explained || explain), decoded.checksum_ok()))
}
