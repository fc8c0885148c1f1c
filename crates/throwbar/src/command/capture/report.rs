//! What `capture` answers, row by row while the signal is read: in words, or as one JSON document.

use super::signal::{Chosen, Listener};
use super::{Capture, HalfBit};
use crate::Ended;
use crate::failure::Failure;
use crate::print::Style;
use ::packet::{Decoded, Event, Kind, Ns, ReadFault, Received, Timing, Watch};
use ::plan::traffic::Traffic;
use answers::{CapturedRow, FaultRow, Reading};
use std::collections::{BTreeMap, VecDeque};
use std::io::Write;
use std::path::PathBuf;

/// The most faults that are listed; all are counted.
const FAULTS_MAX: usize = 10_000;

/// The most rows that make no sense which are listed: a file that is no capture would fill a screen with them.
const BAD_ROWS_MAX: u64 = 20;

/// How many half bits are remembered for a picture: those of the longest packet and a long preamble.
const HALVES_MAX: usize = 512;

/// A picture to draw.
struct Picture {
    path: PathBuf,
    /// Which packet, counted from 1.
    packet: u64,
    halves: VecDeque<HalfBit>,
    drawn: Option<String>,
}

/// Takes what is told of a signal, and answers with it.
pub(super) struct Report {
    json: bool,
    all: bool,
    reading: Reading,
    traffic: Option<Traffic>,
    signal: String,
    channels: usize,
    watch: Watch,
    timing: Timing,
    out: std::io::BufWriter<std::io::StdoutLock<'static>>,
    /// Why printing stopped.
    stopped: Option<std::io::Error>,
    packets: u64,
    good: u64,
    high_first: u64,
    kinds: BTreeMap<&'static str, u64>,
    faults: Vec<FaultRow>,
    faults_total: u64,
    bad_rows: u64,
    errors: u64,
    picture: Option<Picture>,
}

impl Report {
    pub(super) fn begin(
        style: Style,
        capture: &Capture,
        reading: Reading,
        traffic: Option<Traffic>,
        chosen: &Chosen,
    ) -> Self {
        let picture = capture.picture.clone().map(|path| Picture {
            path,
            packet: capture.packet,
            halves: VecDeque::with_capacity(HALVES_MAX),
            drawn: None,
        });
        let mut report = Self {
            json: style.json,
            all: capture.all,
            reading,
            traffic,
            signal: chosen.name.clone(),
            channels: chosen.channels,
            watch: Watch::new(),
            timing: Timing::new(),
            out: std::io::BufWriter::new(std::io::stdout().lock()),
            stopped: None,
            packets: 0,
            good: 0,
            high_first: 0,
            kinds: BTreeMap::new(),
            faults: Vec::new(),
            faults_total: 0,
            bad_rows: 0,
            errors: 0,
            picture,
        };
        let head = if style.json {
            format!("{{\"schema\":{},\"packets\":[", answers::SCHEMA)
        } else {
            format!("{:>13}  {:<17}  {:>7}  {:<8}  kind\n", "at s", "bytes", "address", "says")
        };
        report.put(&head);
        report
    }

    fn put(&mut self, text: &str) {
        if self.stopped.is_none()
            && let Err(error) = self.out.write_all(text.as_bytes())
        {
            self.stopped = Some(error);
        }
    }

    fn put_json<T: serde::Serialize>(&mut self, value: &T) {
        match serde_json::to_string(value) {
            Ok(text) => self.put(&text),
            Err(error) => self.stopped = Some(std::io::Error::other(error)),
        }
    }

    fn add_fault(&mut self, row: FaultRow) {
        self.faults_total += 1;
        self.errors += u64::from(row.severity == "error");
        if self.faults.len() < FAULTS_MAX {
            self.faults.push(row);
        }
    }

    fn packet(&mut self, received: &Received) {
        let mut found = Vec::new();
        let watched =
            self.watch.packet(received, &mut |at, what| found.push(answers::traffic_fault(at, what)));
        for row in found {
            self.add_fault(row);
        }
        let decoded = watched.decoded;
        self.timing.preamble(received.preamble);
        self.packets += 1;
        self.good += u64::from(decoded.checksum_ok());
        self.high_first += u64::from(received.first_half_high);
        *self.kinds.entry(decoded.kind.name()).or_default() += 1;
        let row = answers::captured(received, &decoded, self.reading);
        if decoded.checksum_ok() {
            self.compare_with_plan(received.start_bit, &decoded);
        }
        if self.json {
            self.put(if self.packets == 1 { "\n" } else { ",\n" });
            self.put_json(&row);
        } else if self.all || decoded.kind != Kind::Idle || !decoded.checksum_ok() {
            let words = words(&row);
            self.put(&words);
        }
        self.draw(received, &row);
    }

    fn compare_with_plan(&mut self, at: Ns, decoded: &Decoded) {
        let Some(traffic) = &mut self.traffic else { return };
        let mut found = Vec::new();
        traffic.hear(at, decoded, &mut |conflict| found.push(answers::conflict(at, &conflict)));
        for row in found {
            self.add_fault(row);
        }
    }

    fn draw(&mut self, received: &Received, row: &CapturedRow) {
        let Some(picture) = &mut self.picture else { return };
        if self.packets == picture.packet {
            let from = received.start_bit;
            let halves: Vec<::draw::waveform::Half> = picture
                .halves
                .iter()
                .filter(|half| half.began + half.length <= received.ended)
                .map(|half| ::draw::waveform::Half {
                    began: half.began,
                    length: half.length,
                    high: half.high,
                })
                .collect();
            let title = format!("{}, {}", row.bytes, row.kind);
            let bytes = received.bytes.as_slice();
            let scene = ::draw::waveform::packet(&title, &halves, from, received.preamble, bytes);
            picture.drawn = Some(::draw::svg::write(&scene));
        }
    }

    /// The end: what is left to say, and how it went.
    pub(super) fn finish(mut self, read: Result<(), Failure>) -> Result<Ended, Failure> {
        let mut found = Vec::new();
        self.watch.finish(&mut |at, what| found.push(answers::traffic_fault(at, what)));
        for row in found {
            self.add_fault(row);
        }
        if let Some((at, conflict)) = self.traffic.as_ref().and_then(Traffic::finish) {
            self.add_fault(answers::conflict(at, &conflict));
        }
        if self.good == 0 && read.is_ok() {
            let what = match self.channels {
                1 => "no whole packet was found in this signal".to_owned(),
                count => format!("no whole packet was found on any of {count} channels"),
            };
            self.add_fault(answers::fault(0, what, true));
        }
        self.faults.sort_by(|a, b| a.at_s.total_cmp(&b.at_s));
        let (written, drawn) = match self.write_picture() {
            Ok(written) => (written, Ok(())),
            Err(failure) => (None, Err(failure)),
        };
        let read = read.and(drawn);
        if self.json {
            self.json_end(written.as_deref(), read.as_ref().err());
        } else {
            let words = self.words_end(written.as_deref());
            self.put(&words);
        }
        match self.stopped.take().map_or_else(|| self.out.flush(), Err) {
            Err(error) if error.kind() == std::io::ErrorKind::BrokenPipe => {}
            other => other.map_err(|source| Failure::Print { source })?,
        }
        match read {
            // The document already says why, and a second one would spoil it.
            Err(failure) if self.json => {
                crate::print::say(&format!("throwbar: {}", crate::chain(&failure)));
                Ok(Ended::Unusable)
            }
            Err(failure) => Err(failure),
            Ok(()) if self.errors > 0 => Ok(Ended::WithErrors),
            Ok(()) => Ok(Ended::Well),
        }
    }

    fn write_picture(&mut self) -> Result<Option<String>, Failure> {
        let Some(picture) = self.picture.take() else { return Ok(None) };
        let Some(drawn) = picture.drawn else {
            return Err(Failure::NoPacket { packet: picture.packet, packets: self.packets });
        };
        crate::file::write_whole(&picture.path, drawn.as_bytes())?;
        Ok(Some(picture.path.display().to_string()))
    }

    fn first_half(&self) -> Option<&'static str> {
        let low_first = self.packets - self.high_first;
        (self.packets > 0).then_some(if self.high_first >= low_first { "high" } else { "low" })
    }

    fn json_end(&mut self, written: Option<&str>, failure: Option<&Failure>) {
        self.put("\n],\"faults\":");
        let faults = std::mem::take(&mut self.faults);
        self.put_json(&faults);
        self.put(",\n\"timing\":");
        let timing = answers::timing(&self.timing);
        self.put_json(&timing);
        let rest = serde_json::json!({
            "signal": { "name": self.signal, "channels": self.channels, "first_half": self.first_half() },
            "counts": { "packets": self.packets, "checksum_ok": self.good, "kinds": self.kinds },
            "faults_total": self.faults_total,
            "picture": written,
            "failure": failure.map(crate::chain),
        });
        // The members of this object go on with those above.
        let rest = rest.to_string();
        self.put(",\n");
        self.put(rest.strip_prefix('{').unwrap_or(&rest));
        self.put("\n");
    }

    fn words_end(&self, written: Option<&str>) -> String {
        use std::fmt::Write as _;
        let mut text = String::from("\n");
        // Writing to a `String` cannot fail, so the results of `writeln!` are let go here.
        for row in &self.faults {
            let _ = writeln!(text, "{:>13.6}  {}: {}", row.at_s, row.severity, row.what);
        }
        if self.faults_total > self.faults.len() as u64 {
            let more = self.faults_total - self.faults.len() as u64;
            let _ = writeln!(text, "and {more} more faults");
        }
        let kinds: Vec<String> = self.kinds.iter().map(|(kind, count)| format!("{count} {kind}")).collect();
        let _ =
            writeln!(text, "\n{} packets, {} of them good: {}", self.packets, self.good, kinds.join(", "));
        let name = if self.signal.is_empty() { "the signal" } else { self.signal.as_str() };
        if let Some(first) = self.first_half() {
            let _ = writeln!(text, "{name}: the first half of each bit is {first}");
        }
        let timing = answers::timing(&self.timing);
        for (what, spread, unit) in [
            ("half of a 1", timing.one_half_us, " µs"),
            ("half of a 0", timing.zero_half_us, " µs"),
            ("preamble", timing.preamble_bits, " bits"),
        ] {
            if let Some(spread) = spread {
                let _ = writeln!(
                    text,
                    "{what}: {} to {}{unit}, {} in the middle",
                    spread.min, spread.max, spread.median
                );
            }
        }
        if let Some(written) = written {
            let _ = writeln!(text, "written: {written}");
        }
        text
    }
}

impl Listener for Report {
    fn half(&mut self, half: HalfBit) {
        self.timing.half(half.length);
        if let Some(picture) = &mut self.picture
            && picture.drawn.is_none()
        {
            if picture.halves.len() == HALVES_MAX {
                picture.halves.pop_front();
            }
            picture.halves.push_back(half);
        }
    }

    fn event(&mut self, event: Event) {
        match event {
            Event::Packet(received) => self.packet(&received),
            Event::Fault { at, what } => self.add_fault(answers::signal_fault(at, what)),
        }
    }

    fn fault(&mut self, at: Ns, row: u64, what: ReadFault) {
        self.bad_rows += 1;
        if self.bad_rows > BAD_ROWS_MAX {
            self.faults_total += 1;
            self.errors += 1;
            return;
        }
        self.add_fault(answers::fault(at, format!("row {row} of the file: {}", read_words(what)), true));
    }

    fn listens(&self) -> bool {
        self.stopped.is_none()
    }
}

fn words(row: &CapturedRow) -> String {
    let address = row.address.map_or_else(String::new, |address| address.to_string());
    let says = match (row.position, row.aspect) {
        (Some(position), _) => position.to_owned(),
        (None, Some(aspect)) => format!("{aspect}"),
        (None, None) => String::new(),
    };
    let kind = row.instruction.map_or_else(|| row.kind.to_owned(), |what| format!("{}: {what}", row.kind));
    let wrong = if row.checksum_ok { "" } else { ", THE ERROR BYTE IS WRONG" };
    format!("{:>13.6}  {:<17}  {address:>7}  {says:<8}  {kind}{wrong}\n", row.at_s, row.bytes)
}

/// What cannot be read, in words.
pub(super) fn read_words(what: ReadFault) -> &'static str {
    match what {
        ReadFault::NoTime => {
            "no column holds times: its heading has to speak of time, or say --rate where rows count samples"
        }
        ReadFault::NoChannel => "no channel of one bit is named",
        ReadFault::ManyChannels => "more channels than are read; the rest are left out",
        ReadFault::TimeBack => "time goes backward",
        ReadFault::Word => "this makes no sense as a time, a level or a keyword",
        ReadFault::Long => "this is too long to be read",
    }
}
