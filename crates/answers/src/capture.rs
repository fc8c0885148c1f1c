//! `capture`: what a signal on the rails said, row by row, so that an answer of any length needs no room.

use crate::packet::{Fields, Reading, seconds};
use packet::{Decoded, Ns, Received, SignalFault, Spread, Timing, TrafficFault};
use plan::traffic::Conflict;
use serde::Serialize;

/// One packet of a capture.
#[derive(Clone, Debug, Serialize)]
pub struct CapturedRow {
    /// When its start bit began.
    pub at_s: f64,
    /// Two hexadecimal digits a byte, the error byte last.
    pub bytes: String,
    /// What kind of packet it is.
    pub kind: &'static str,
    /// The accessory address as users count, or the locomotive's.
    pub address: Option<u16>,
    /// `normal` or `reverse`.
    pub position: Option<&'static str>,
    /// Whether the error byte is right; decoders ignore the packet where not.
    pub checksum_ok: bool,
    /// Whether the output is switched on, of a basic accessory packet.
    pub active: Option<bool>,
    /// The aspect, of an extended accessory packet.
    pub aspect: Option<u8>,
    /// The instruction, of a packet for a multi-function decoder.
    pub instruction: Option<&'static str>,
    /// When its end bit ended.
    pub end_s: f64,
    /// How many 1 bits came before it.
    pub preamble_bits: u32,
}

/// Something that is wrong in a capture.
#[derive(Clone, Debug, PartialEq, Serialize)]
pub struct FaultRow {
    /// When it began.
    pub at_s: f64,
    /// What it is, in a sentence.
    pub what: String,
    /// `error` where a decoder does not do what was meant, `warning` where it may.
    pub severity: &'static str,
}

/// How long half bits and preambles were.
#[derive(Clone, Debug, Serialize)]
pub struct TimingAnswer {
    /// Halves of 1 bits.
    pub one_half_us: Option<SpreadRow>,
    /// Halves of 0 bits.
    pub zero_half_us: Option<SpreadRow>,
    /// 1 bits before a packet.
    pub preamble_bits: Option<SpreadRow>,
}

/// The least, the middle and the most.
#[derive(Clone, Debug, Serialize)]
pub struct SpreadRow {
    /// The least.
    pub min: f64,
    /// The middle.
    pub median: f64,
    /// The most.
    pub max: f64,
}

/// One row of `packets`.
pub fn captured(received: &Received, decoded: &Decoded, reading: Reading) -> CapturedRow {
    let fields = Fields::of(decoded.kind, reading);
    CapturedRow {
        at_s: seconds(received.start_bit),
        bytes: received.bytes.to_string(),
        kind: decoded.kind.name(),
        address: fields.address,
        position: fields.position,
        checksum_ok: decoded.checksum_ok(),
        active: fields.active,
        aspect: fields.aspect,
        instruction: fields.instruction,
        end_s: seconds(received.ended),
        preamble_bits: received.preamble,
    }
}

/// The member `timing`.
pub fn timing(timing: &Timing) -> TimingAnswer {
    let spread = |spread: Option<Spread>, unit: f64| {
        spread.map(|spread| SpreadRow {
            min: seconds(spread.min) * unit,
            median: seconds(spread.median) * unit,
            max: seconds(spread.max) * unit,
        })
    };
    let us = |held: Option<Spread>| {
        spread(held, 1e6).map(|row| {
            // Whole nanoseconds, so that no digits of the reckoning show.
            let exact = |value: f64| (value * 1e3).round() / 1e3;
            SpreadRow { min: exact(row.min), median: exact(row.median), max: exact(row.max) }
        })
    };
    let bits = |held: Option<Spread>| {
        spread(held, 1e9).map(|row| {
            let exact = |value: f64| value.round();
            SpreadRow { min: exact(row.min), median: exact(row.median), max: exact(row.max) }
        })
    };
    TimingAnswer {
        one_half_us: us(timing.one()),
        zero_half_us: us(timing.zero()),
        preamble_bits: bits(timing.preambles()),
    }
}

/// A row of `faults`.
pub fn fault(at: Ns, what: String, error: bool) -> FaultRow {
    FaultRow { at_s: seconds(at), what, severity: if error { "error" } else { "warning" } }
}

fn us(ns: Ns) -> String {
    let text = format!("{}.{:03}", ns / 1_000, ns % 1_000);
    format!("{} µs", text.trim_end_matches('0').trim_end_matches('.'))
}

/// What is wrong with the signal, as a row of `faults`.
pub fn signal_fault(at: Ns, what: SignalFault) -> FaultRow {
    let words = match what {
        SignalFault::BadHalf { length } => {
            format!("bad half bit: {}, which is neither 52 to 64 µs nor 90 to 10000 µs", us(length))
        }
        SignalFault::UnlikeHalves { first, second } => {
            format!("bad bit: its halves last {} and {}, which are not of one kind", us(first), us(second))
        }
        SignalFault::ShortPreamble { bits } => {
            format!("short preamble: {bits} bits, and decoders take no fewer than 10")
        }
        SignalFault::LowPreamble { bits } => {
            let missed = if bits < 12 { "; some decoders miss the packet" } else { "" };
            format!("short preamble: {bits} bits, and a station sends 14 or more{missed}")
        }
        SignalFault::FewBytes { count } => format!("a packet of {count} bytes, and 3 are the fewest"),
        SignalFault::ManyBytes { count, checksum_ok: true } => format!(
            "a packet of {count} bytes with a right error byte: longer than the 6 of S-9.2.1 (2012), as in newer texts; it is not read"
        ),
        SignalFault::ManyBytes { .. } => "a packet of more than 6 bytes".to_owned(),
        SignalFault::Cut => "the capture ends in the middle of a packet".to_owned(),
    };
    let may_be_meant =
        matches!(what, SignalFault::LowPreamble { .. } | SignalFault::ManyBytes { checksum_ok: true, .. });
    fault(at, words, !may_be_meant)
}

/// What is wrong between packets, as a row of `faults`.
pub fn traffic_fault(at: Ns, what: TrafficFault) -> FaultRow {
    let (words, error) = match what {
        TrafficFault::Checksum { expected } => {
            (format!("checksum error: the error byte has to be {expected:02X}; decoders ignore the packet"), true)
        }
        TrafficFault::Close { after } => (
            format!(
                "too close: {} after the packet before to the same decoder, which may miss it; 5 ms are wanted",
                us(after)
            ),
            false,
        ),
        TrafficFault::LoneWrite => (
            "missing repeat: this write of a variable came once only, and a decoder waits for a second".to_owned(),
            true,
        ),
        TrafficFault::LoneCommand => {
            ("missing repeat: this command came once only, and is lost if one bit is".to_owned(), false)
        }
        TrafficFault::LegacyCvWrite => (
            "obsolete form: a single packet writes a variable of an accessory decoder; nothing should send it"
                .to_owned(),
            true,
        ),
        TrafficFault::AfterReset => {
            ("within 20 ms of a reset nothing may be sent to addresses 100 to 111".to_owned(), false)
        }
        TrafficFault::Uneven { count, worst } => {
            let halves = if count == 1 { "half bit is" } else { "half bits are" };
            (format!("jitter: {count} {halves} outside what a station may send, the worst {}", us(worst)), false)
        }
    };
    fault(at, words, error)
}

/// What does not go with the plan, as a row of `faults`.
pub fn conflict(at: Ns, what: &Conflict) -> FaultRow {
    let words = match what {
        Conflict::Unanswered { address } => {
            format!("{address} is commanded, and nothing in the plan answers it")
        }
        Conflict::Taken { address, first, last } => format!(
            "{address} is commanded, which is something else's: `taken` of [system] has {first} to {last}, and nothing in the plan \
             answers it"
        ),
        Conflict::Turned { address, to, after } => format!(
            "{address} is thrown {} {} after it was thrown the other way, as when two places command it",
            to.word(),
            ms(*after)
        ),
        Conflict::Fought { address, within } => format!(
            "{address} is thrown to and fro within {}: two places command it, or one of them holds its command",
            ms(*within)
        ),
        Conflict::Broadcast { stops: true, addresses } => {
            format!(
                "all accessory decoders are told to stop or switch off, and {addresses} addresses of the plan hear it"
            )
        }
        Conflict::Broadcast { stops: false, addresses } => {
            format!(
                "all accessory decoders are thrown at once, and {addresses} addresses of the plan hear it"
            )
        }
        Conflict::OtherScheme { own, own_fits, other, other_fits, commanded, sample: (counted, meant) } => {
            format!(
                "of {commanded} addresses that are commanded the plan has {own_fits} counted {}, and {} counted {}: {counted} is {meant} \
             there. Let the station count so, or write `address_scheme = \"{}\"` in [system]",
                own.word(),
                if other_fits == commanded { format!("all {other_fits}") } else { other_fits.to_string() },
                other.word(),
                other.word()
            )
        }
    };
    let error = match what {
        Conflict::Unanswered { .. }
        | Conflict::Fought { .. }
        | Conflict::OtherScheme { .. }
        | Conflict::Broadcast { stops: false, .. } => true,
        Conflict::Taken { .. } | Conflict::Turned { .. } | Conflict::Broadcast { stops: true, .. } => false,
    };
    fault(at, format!("address conflict: {words}"), error)
}

fn ms(ns: Ns) -> String {
    format!("{} ms", ns / 1_000_000)
}
