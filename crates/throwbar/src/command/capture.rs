//! `throwbar capture`: what a logic analyser saw on the rails.

mod report;
mod signal;
mod source;

use crate::Ended;
use crate::command::packet::Choices;
use crate::failure::Failure;
use crate::print::Style;
use ::packet::{Ns, Seen, TimeUnit};
use ::plan::traffic::Traffic;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// A capture to read.
#[derive(Clone, Debug, Args)]
pub(crate) struct Capture {
    /// The capture: a value change dump (VCD), or rows of time and levels (CSV).
    #[arg(value_name = "FILE")]
    file: PathBuf,
    /// Which channel: its name, or its number counted from 1. Without it, the one with the most packets.
    #[arg(long, value_name = "CHANNEL")]
    signal: Option<String>,
    /// The unit of the column of times, where its heading says none.
    #[arg(long, value_name = "UNIT", conflicts_with = "rate")]
    unit: Option<UnitName>,
    /// Samples a second, where rows count samples in place of time.
    #[arg(long, value_name = "HERTZ", value_parser = clap::value_parser!(u64).range(1..=1_000_000_000))]
    rate: Option<u64>,
    /// The layout whose plan says what answers which address, and how its system counts.
    #[arg(long, value_name = "LAYOUT")]
    layout: Option<PathBuf>,
    /// List idle packets too; in JSON they always are.
    #[arg(long)]
    all: bool,
    /// Draw one packet along time into this file, an .svg.
    #[arg(long, value_name = "FILE")]
    picture: Option<PathBuf>,
    /// Which packet to draw, counted from 1.
    #[arg(long, value_name = "NUMBER", default_value_t = 1, requires = "picture", value_parser = clap::value_parser!(u64).range(1..))]
    packet: u64,
    #[command(flatten)]
    choices: Choices,
}

/// Units of time, as they are written on the command line.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
enum UnitName {
    /// Seconds.
    S,
    /// Milliseconds.
    Ms,
    /// Microseconds.
    Us,
    /// Nanoseconds.
    Ns,
}

impl Capture {
    fn unit(&self) -> Option<TimeUnit> {
        let named = self.unit.map(|unit| match unit {
            UnitName::S => TimeUnit::S,
            UnitName::Ms => TimeUnit::Ms,
            UnitName::Us => TimeUnit::Us,
            UnitName::Ns => TimeUnit::Ns,
        });
        named.or(self.rate.map(|rate| TimeUnit::Samples(1_000_000_000 / rate)))
    }
}

pub(crate) fn run(style: Style, capture: &Capture) -> Result<Ended, Failure> {
    if let Some(picture) = &capture.picture
        && picture.extension().is_none_or(|ending| !ending.eq_ignore_ascii_case("svg"))
    {
        return Err(Failure::PictureKind { path: picture.clone() });
    }
    let planned = match &capture.layout {
        Some(layout) => match super::read_sound(style, layout)? {
            Some(read) => Some(read.plan),
            None => return Ok(Ended::WithErrors),
        },
        None => None,
    };
    let source = source::Source::open(&capture.file)?;
    let chosen = signal::choose(&source, capture.unit(), capture.signal.as_deref())?;
    let mut reading = capture.choices.reading(Seen::Main);
    if let Some(plan) = &planned {
        // The layout says how its system counts, unless it is said here.
        reading.scheme = capture.choices.scheme.map_or(plan.scheme(), |_| reading.scheme);
        reading.normal = capture.choices.normal_is.unwrap_or(plan.normal_is());
    }
    let traffic = planned.as_ref().map(|plan| Traffic::new(plan, reading.scheme, reading.normal));
    let mut report = report::Report::begin(style, capture, reading, traffic, &chosen);
    let read = signal::read(&source, &chosen, &mut report);
    report.finish(read)
}

/// A half bit: when it began, how long it lasted, and whether the level was high.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct HalfBit {
    pub(crate) began: Ns,
    pub(crate) length: Ns,
    pub(crate) high: bool,
}
