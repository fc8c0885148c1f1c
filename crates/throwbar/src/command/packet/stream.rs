//! `packet stream`: packets in a row, as a signal on the rails.

use super::Choices;
use crate::Ended;
use crate::failure::Failure;
use crate::print::{self, Style};
use ::packet::{Bits, Csv, Job, Ns, Schedule, Seen, Sent, Vcd, Wave, WaveFault};
use clap::Args;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The most packets of one signal.
const SENT_MAX: usize = 100_000;

/// Packets to put in a row.
#[derive(Clone, Debug, Args)]
pub(crate) struct Stream {
    /// The packets, each as one word in quotes: "1 normal" "encode --extended 9 3" idle.
    #[arg(value_name = "REQUEST", required = true)]
    requests: Vec<String>,
    /// How often each is sent.
    #[arg(long, value_name = "TIMES", default_value_t = 2, value_parser = clap::value_parser!(u8).range(1..))]
    times: u8,
    /// How many packets of other traffic are sent between each two.
    #[arg(long, value_name = "PACKETS", default_value_t = 0)]
    others: u8,
    /// How long the second half of each 0 is, in microseconds: 100 where nothing is said, up to 9900.
    #[arg(long, value_name = "MICROSECONDS", default_value_t = 100)]
    stretch: u16,
    /// Write the signal to this file, as its ending says: .vcd or .csv.
    #[arg(short, long, value_name = "FILE")]
    output: Option<PathBuf>,
    #[command(flatten)]
    choices: Choices,
}

pub(crate) fn run(style: Style, stream: &Stream) -> Result<Ended, Failure> {
    let mut jobs = Vec::new();
    for request in &stream.requests {
        let packet = super::batch::request(request, stream.choices)
            .map_err(|why| Failure::Request(format!("`{request}`: {why}")))?;
        jobs.push(Job::new(packet, stream.times));
    }
    let zero = [Wave::NOMINAL.halves(false)[0], Ns::from(stream.stretch) * 1_000];
    let wave =
        Wave::new(Wave::NOMINAL.halves(true), zero).map_err(|fault| Failure::Request(fault_words(fault)))?;
    let preamble = stream.choices.preamble();
    let sent: Vec<Sent> =
        Schedule::new(&mut jobs, wave, preamble).among(&[], stream.others).take(SENT_MAX + 1).collect();
    if sent.len() > SENT_MAX {
        return Err(Failure::Request(format!("this signal has more than {SENT_MAX} packets")));
    }
    let written = match &stream.output {
        Some(path) => {
            crate::file::write_whole(path, signal(path, &sent, wave, stream.choices)?.as_bytes())?;
            Some(path.display().to_string())
        }
        None => None,
    };
    let answer = answers::stream(&sent, stream.choices.reading(Seen::Main), written);
    if style.json {
        print::json(&answer)?;
    } else {
        print::answer(&words(&answer))?;
    }
    Ok(Ended::Well)
}

fn fault_words(fault: WaveFault) -> String {
    match fault {
        WaveFault::One | WaveFault::OneDifference => {
            "the halves of a 1 last 55 to 61 µs and differ by 3 µs at most (S-9.1, table 1)".to_owned()
        }
        WaveFault::Zero => "half of a 0 lasts 95 to 9900 µs when sent (S-9.1, table 1)".to_owned(),
        WaveFault::ZeroTotal => "a whole 0 lasts 12000 µs at most when sent (S-9.1, table 1)".to_owned(),
    }
}

/// The signal as the text of a file.
fn signal(path: &Path, sent: &[Sent], wave: Wave, choices: Choices) -> Result<String, Failure> {
    let ending = path.extension().map(|ending| ending.to_string_lossy().to_ascii_lowercase());
    let mut text = String::new();
    // Two more 1 bits behind the last packet: the signal goes on for 26 µs at least (S-9.2, footnote 3).
    let after = [true, true];
    let bits = sent.iter().flat_map(|sent| Bits::new(sent.bytes, choices.preamble())).chain(after);
    let halves = bits.flat_map(|bit| wave.halves(bit));
    let done = match ending.as_deref() {
        Some("vcd") => Vcd::new(&mut text, "dcc").and_then(|mut file| {
            let mut halves = halves;
            halves.try_for_each(|half| file.half(half))
        }),
        Some("csv") => Csv::new(&mut text).and_then(|mut file| {
            let mut halves = halves;
            halves.try_for_each(|half| file.half(half))
        }),
        Some(_) | None => return Err(Failure::SignalKind { path: path.to_owned() }),
    };
    done.map_err(|error| Failure::Write { path: path.to_owned(), source: std::io::Error::other(error) })?;
    Ok(text)
}

fn words(answer: &answers::StreamAnswer) -> String {
    let rows: Vec<Vec<String>> = answer
        .packets
        .iter()
        .map(|row| {
            let address = row.address.map_or_else(String::new, |address| address.to_string());
            let says = row.position.map(str::to_owned).or(row.aspect.map(|aspect| aspect.to_string()));
            vec![
                format!("{:.6}", row.at_s),
                row.bytes.clone(),
                address,
                says.unwrap_or_default(),
                row.kind.to_owned(),
            ]
        })
        .collect();
    let mut text = print::table(print::width(), &["at s", "bytes", "address", "says", "kind"], &rows);
    let _ = writeln!(
        text,
        "\n{} packets; each command has been sent once after {:.1} ms, all of them after {:.1} ms",
        answer.packets.len(),
        answer.once_s * 1e3,
        answer.seconds * 1e3
    );
    if let Some(written) = &answer.written {
        let _ = writeln!(text, "written: {written}");
    }
    text
}
