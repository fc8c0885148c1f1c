//! Rows of time and levels: what logic analysers and oscilloscopes write, told apart by the headings of their columns.
//!
//! Columns are parted by tabs, semicolons or commas. A heading that speaks of time names the column of times, and in it or
//! behind it stands the unit. Every other column is a channel: 0 and 1, low and high, or volts, which count as high above
//! the middle of what has been seen. Rows that begin with `#` or `;` are passed over.

use super::number::Decimal;
use super::{ChannelName, Channels, Read, ReadFault};
use crate::Ns;

/// The longest row that is read.
const ROW_MAX: usize = 4_096;

/// Volts between low and high below which a channel has no levels, in millionths.
const SPAN_MIN: i64 = 500_000;

/// The unit of a column of times.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum TimeUnit {
    /// Seconds.
    S,
    /// Milliseconds.
    Ms,
    /// Microseconds.
    Us,
    /// Nanoseconds.
    Ns,
    /// Samples, each so many nanoseconds after the one before.
    Samples(Ns),
}

impl TimeUnit {
    /// How many powers of ten it is above a nanosecond.
    const fn power(self) -> i32 {
        match self {
            Self::S => 9,
            Self::Ms => 6,
            Self::Us => 3,
            Self::Ns | Self::Samples(_) => 0,
        }
    }
}

/// Where times and levels stand in a row.
#[derive(Clone, Copy, Debug)]
struct Layout {
    separator: u8,
    time: usize,
    unit: TimeUnit,
}

/// The lowest and highest of a channel so far, in millionths.
#[derive(Clone, Copy, Debug)]
struct Span {
    low: i64,
    high: i64,
}

/// Takes rows apart as they come.
#[derive(Clone, Debug)]
pub struct CsvReader {
    channels: Channels,
    spans: [Option<Span>; super::CHANNELS_MAX],
    layout: Option<Layout>,
    /// What the user said about times.
    unit: Option<TimeUnit>,
    /// Whether the unit stands in the heading or was said.
    told: bool,
    first: Option<i64>,
    at: Ns,
    places: u32,
    row: u64,
    held: [u8; ROW_MAX],
    length: usize,
    long: bool,
}

impl CsvReader {
    /// A reader at the beginning of a file. Without a unit, the heading says it; where it says none, seconds are taken.
    pub const fn new(unit: Option<TimeUnit>) -> Self {
        Self {
            channels: Channels::new(),
            spans: [None; super::CHANNELS_MAX],
            layout: None,
            unit,
            told: unit.is_some(),
            first: None,
            at: 0,
            places: 0,
            row: 1,
            held: [0; ROW_MAX],
            length: 0,
            long: false,
        }
    }

    /// The channels, once the heading or the first row has come.
    pub fn channels(&self) -> &[ChannelName] {
        self.channels.names()
    }

    /// The last moment that was named.
    pub const fn at(&self) -> Ns {
        self.at
    }

    /// Whether the unit of times stands in the heading, or was said.
    pub const fn unit_told(&self) -> bool {
        self.told
    }

    /// How far a time may be off, since it has so many digits.
    pub fn resolution(&self) -> Ns {
        match self.layout.map(|layout| layout.unit) {
            Some(TimeUnit::Samples(step)) => step,
            Some(unit) => {
                let power = unit.power().unsigned_abs().saturating_sub(self.places);
                10u64.checked_pow(power).unwrap_or_default()
            }
            None => 1,
        }
    }

    /// More of the file.
    pub fn feed(&mut self, text: &[u8], to: &mut impl FnMut(Read)) {
        let mut rest = text;
        while let Some(end) = rest.iter().position(|byte| *byte == b'\n') {
            let (row, behind) = rest.split_at(end);
            rest = behind.get(1..).unwrap_or_default();
            if self.length == 0 && !self.long {
                self.whole(row, to);
            } else {
                self.hold(row);
                self.held(to);
            }
        }
        self.hold(rest);
    }

    /// The file is at its end.
    pub fn finish(&mut self, to: &mut impl FnMut(Read)) {
        if self.length > 0 || self.long {
            self.held(to);
        }
        if self.layout.is_none() {
            self.fault(ReadFault::NoTime, to);
        } else if self.channels.count == 0 {
            self.fault(ReadFault::NoChannel, to);
        }
    }

    fn fault(&self, what: ReadFault, to: &mut impl FnMut(Read)) {
        to(Read::Fault { row: self.row, what });
    }

    fn hold(&mut self, part: &[u8]) {
        let room = self.held.get_mut(self.length..).unwrap_or_default();
        if part.len() > room.len() {
            self.long = true;
            return;
        }
        for (to, from) in room.iter_mut().zip(part) {
            *to = *from;
        }
        self.length += part.len();
    }

    /// A row that came in pieces is whole.
    fn held(&mut self, to: &mut impl FnMut(Read)) {
        let (held, length, long) = (self.held, self.length, self.long);
        self.length = 0;
        self.long = false;
        if long {
            self.fault(ReadFault::Long, to);
            self.row += 1;
        } else {
            self.whole(held.get(..length).unwrap_or_default(), to);
        }
    }

    #[inline]
    fn whole(&mut self, row: &[u8], to: &mut impl FnMut(Read)) {
        let row = row.strip_suffix(b"\r").unwrap_or(row);
        match (row.first(), self.layout) {
            (None | Some(b'#' | b';'), _) => {}
            (Some(_), Some(layout)) => self.levels(row, layout, to),
            (Some(_), None) => self.heading(row, to),
        }
        self.row += 1;
    }

    /// Levels at a moment.
    #[inline]
    fn levels(&mut self, row: &[u8], layout: Layout, to: &mut impl FnMut(Read)) {
        let comma = layout.separator != b',';
        let cells = || row.split(|byte| *byte == layout.separator);
        let time = cells().nth(layout.time).and_then(|cell| Decimal::read(trimmed(cell), comma));
        let Some(at) = time.and_then(|time| self.moment(time, layout.unit)) else {
            return self.fault(ReadFault::Word, to);
        };
        if at < self.at {
            return self.fault(ReadFault::TimeBack, to);
        }
        self.at = at;
        if layout.time == 0 && self.channels.count == 1 {
            // The usual capture of one wire: its level is the last letter of the row.
            match row {
                [.., before, b'0'] if *before == layout.separator => {
                    return self.channels.set(at, 0, false, to);
                }
                [.., before, b'1'] if *before == layout.separator => {
                    return self.channels.set(at, 0, true, to);
                }
                _ => {}
            }
        }
        let mut channel = 0;
        for (index, text) in cells().enumerate() {
            if index == layout.time {
                continue;
            }
            if channel >= self.channels.count {
                break;
            }
            let level = match text {
                b"0" => Some(false),
                b"1" => Some(true),
                _ => self.level(channel, trimmed(text), comma),
            };
            if let Some(level) = level {
                self.channels.set(at, channel, level, to);
            }
            channel += 1;
        }
    }

    #[inline]
    fn moment(&mut self, time: Decimal, unit: TimeUnit) -> Option<Ns> {
        self.places = self.places.max(time.places());
        let whole = match unit {
            TimeUnit::Samples(step) => time.scaled(0)?.checked_mul(i64::try_from(step).ok()?)?,
            TimeUnit::S | TimeUnit::Ms | TimeUnit::Us | TimeUnit::Ns => time.scaled(unit.power())?,
        };
        // Before the trigger times are below 0: the first of them is then the beginning.
        let first = *self.first.get_or_insert(whole.min(0));
        Ns::try_from(whole.checked_sub(first)?).ok()
    }

    fn level(&mut self, channel: usize, text: &[u8], comma: bool) -> Option<bool> {
        match text {
            b"0" => return Some(false),
            b"1" => return Some(true),
            _ => {}
        }
        if [&b"low"[..], b"l", b"false"].iter().any(|word| text.eq_ignore_ascii_case(word)) {
            return Some(false);
        }
        if [&b"high"[..], b"h", b"true"].iter().any(|word| text.eq_ignore_ascii_case(word)) {
            return Some(true);
        }
        let value = Decimal::read(text, comma)?.scaled(6)?;
        let span = self.spans.get_mut(channel)?.get_or_insert(Span { low: value, high: value });
        span.low = span.low.min(value);
        span.high = span.high.max(value);
        let width = span.high.checked_sub(span.low).filter(|width| *width >= SPAN_MIN)?;
        // A tenth of the span either side of the middle changes nothing, so that noise makes no edges.
        let middle = span.low + width / 2;
        if value > middle + width / 10 {
            Some(true)
        } else if value < middle - width / 10 {
            Some(false)
        } else {
            None
        }
    }

    /// The first row: headings, or levels already.
    fn heading(&mut self, row: &[u8], to: &mut impl FnMut(Read)) {
        let row = row.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(row);
        let separator = [b'\t', b';', b','].into_iter().find(|byte| row.contains(byte)).unwrap_or(b',');
        let cells = || row.split(move |byte| *byte == separator);
        let comma = separator != b',';
        let is_number = |cell: &[u8]| Decimal::read(trimmed(cell), comma).is_some();
        if cells().next().is_some_and(is_number) {
            let unit = self.unit.unwrap_or(TimeUnit::S);
            let layout = Layout { separator, time: 0, unit };
            self.layout = Some(layout);
            for _ in cells().skip(1) {
                if self.channels.add(b"").is_none() {
                    self.fault(ReadFault::ManyChannels, to);
                    break;
                }
            }
            return self.levels(row, layout, to);
        }
        let samples = matches!(self.unit, Some(TimeUnit::Samples(_)));
        let of_time = |cell: &[u8]| {
            let counted = samples
                && cell.len() >= 6
                && cell.windows(6).any(|part| part.eq_ignore_ascii_case(b"sample"));
            if counted { Some(None) } else { heading_unit(cell) }
        };
        let found = cells().enumerate().find_map(|(index, cell)| Some((index, of_time(trimmed(cell))?)));
        let Some((time, unit)) = found else {
            // A title above the headings.
            return;
        };
        let unit = match (self.unit, unit) {
            (Some(unit), _) | (None, Some(unit)) => {
                self.told = true;
                unit
            }
            (None, None) => TimeUnit::S,
        };
        self.layout = Some(Layout { separator, time, unit });
        for (_, cell) in cells().enumerate().filter(|(index, _)| *index != time) {
            if self.channels.add(trimmed(cell)).is_none() {
                self.fault(ReadFault::ManyChannels, to);
                break;
            }
        }
    }
}

/// What a cell holds, without blanks and quotes round it.
#[inline]
fn trimmed(cell: &[u8]) -> &[u8] {
    let outside = |byte: &u8| byte.is_ascii_whitespace() || *byte == b'"' || *byte == b'\'';
    match (cell.first(), cell.last()) {
        (Some(first), Some(last)) if !outside(first) && !outside(last) => cell,
        _ => {
            let from = cell.iter().position(|byte| !outside(byte)).unwrap_or(cell.len());
            let to = cell.iter().rposition(|byte| !outside(byte)).map_or(from, |last| last + 1);
            cell.get(from..to).unwrap_or_default()
        }
    }
}

/// Whether a heading speaks of time, and which unit it names.
#[allow(clippy::option_option, reason = "a heading of no time, of time without a unit, of time with one")]
fn heading_unit(heading: &[u8]) -> Option<Option<TimeUnit>> {
    let word = |wanted: &[u8]| {
        heading.len() >= wanted.len() && {
            heading.windows(wanted.len()).any(|part| part.eq_ignore_ascii_case(wanted))
        }
    };
    let is_time = word(b"time") || first_word(heading).eq_ignore_ascii_case(b"t") || word(b"second");
    if !is_time {
        return None;
    }
    let unit = |names: &[&[u8]], unit: TimeUnit| {
        let parts = heading.split(|byte| !byte.is_ascii_alphabetic() && !matches!(byte, 0x80..));
        let named = parts.into_iter().any(|part| names.iter().any(|name| part.eq_ignore_ascii_case(name)));
        named.then_some(unit)
    };
    Some(
        unit(&[b"us", "µs".as_bytes(), "μs".as_bytes(), b"usec", b"microseconds"], TimeUnit::Us)
            .or_else(|| unit(&[b"ms", b"msec", b"milliseconds"], TimeUnit::Ms))
            .or_else(|| unit(&[b"ns", b"nsec", b"nanoseconds"], TimeUnit::Ns))
            .or_else(|| unit(&[b"s", b"sec", b"seconds", b"second"], TimeUnit::S)),
    )
}

/// The letters that a heading begins with.
fn first_word(heading: &[u8]) -> &[u8] {
    heading.split(|byte| !byte.is_ascii_alphabetic()).next().unwrap_or_default()
}
