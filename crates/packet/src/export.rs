//! A signal as text that other programs read: value change dump, and comma-separated values.
//!
//! # Source
//! IEEE 1364-2001, clause 18, value change dump; from memory, and read back by another reader in the tests.

use crate::Ns;
use core::fmt::{Result, Write};

/// Writes one wire as a value change dump, a nanosecond a step.
#[derive(Debug)]
pub struct Vcd<W> {
    to: W,
    at: Ns,
    level: bool,
}

impl<W: Write> Vcd<W> {
    /// Begins with a heading; the signal is low at first.
    pub fn new(mut to: W, name: &str) -> core::result::Result<Self, core::fmt::Error> {
        // A name in this format holds no blanks.
        write!(to, "$timescale 1 ns $end\n$scope module rails $end\n$var wire 1 ! ")?;
        for letter in name.chars() {
            to.write_char(if letter.is_ascii_graphic() { letter } else { '_' })?;
        }
        write!(to, " $end\n$upscope $end\n$enddefinitions $end\n#0\n$dumpvars\n0!\n$end\n")?;
        Ok(Self { to, at: 0, level: false })
    }

    /// The level stays as it is this long, then changes.
    pub fn half(&mut self, length: Ns) -> Result {
        self.at += length;
        self.level = !self.level;
        write!(self.to, "#{}\n{}!\n", self.at, u8::from(self.level))
    }
}

/// Writes one wire as rows of time in microseconds and level, a row for each change.
#[derive(Debug)]
pub struct Csv<W> {
    to: W,
    at: Ns,
    level: bool,
}

impl<W: Write> Csv<W> {
    /// Begins with a heading; the signal is low at first.
    pub fn new(mut to: W) -> core::result::Result<Self, core::fmt::Error> {
        to.write_str("time_us,level\n0.000,0\n")?;
        Ok(Self { to, at: 0, level: false })
    }

    /// The level stays as it is this long, then changes.
    pub fn half(&mut self, length: Ns) -> Result {
        self.at += length;
        self.level = !self.level;
        writeln!(self.to, "{}.{:03},{}", self.at / 1_000, self.at % 1_000, u8::from(self.level))
    }
}
