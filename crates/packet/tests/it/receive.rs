//! Signals read edge by edge: the reference capture, and signals with errors that the test placed and knows.
//!
//! # Source
//! NMRA S-9.1 (7 March 2020), section A, table 1, for what a half bit is; NMRA S-9.2 (July 2004), sections A and C. The
//! capture and its packets: `reference/dcc/captures/`, made by another hand.

use packet::{
    Basic, Bits, Bytes, Decoded, Event, Extended, Job, Ns, Packet, Position, Preamble, Received, Receiver,
    Schedule, Scheme, Seen, SignalFault, TrafficFault, UserAddress, Watch, Wave,
};
use proptest::prelude::*;
use serde_json::Value;

/// What a receiver made of a signal.
#[derive(Debug, Default)]
struct Heard {
    packets: Vec<Received>,
    faults: Vec<(Ns, SignalFault)>,
}

impl Heard {
    fn good(&self) -> Vec<(Ns, Bytes)> {
        let good = self.packets.iter().filter(|packet| packet.bytes.checksum_ok());
        good.map(|packet| (packet.start_bit, packet.bytes)).collect()
    }
}

/// Reads edges: moments at which the level changes, the first of them the beginning.
fn hear(edges: &[Ns], first_level: bool) -> Heard {
    let mut heard = Heard::default();
    let mut receiver = Receiver::new(0);
    let mut level = first_level;
    let mut to = |event| match event {
        Event::Packet(packet) => heard.packets.push(packet),
        Event::Fault { at, what } => heard.faults.push((at, what)),
    };
    for &at in edges {
        receiver.edge(at, level, &mut to);
        level = !level;
    }
    receiver.finish(edges.last().copied().unwrap_or_default(), &mut to);
    heard
}

/// A signal, and the packets in it: when the start bit begins, when the end bit ends, the bytes.
struct Signal {
    halves: Vec<Ns>,
    packets: Vec<(Ns, Ns, Bytes)>,
}

impl Signal {
    fn edges(&self) -> Vec<Ns> {
        let mut at = 0;
        let ends = self.halves.iter().map(|half| {
            at += half;
            at
        });
        [0].into_iter().chain(ends).collect()
    }

    fn sent(&self) -> Vec<(Ns, Bytes)> {
        self.packets.iter().map(|&(start, _, bytes)| (start, bytes)).collect()
    }
}

fn throw(number: u16, position: Position) -> Packet {
    let address = UserAddress::new(number).unwrap().binary(Scheme::Linear);
    Packet::Basic(Basic::throw(address, position, packet::NormalIs::One))
}

/// Packets of every length, each some times, with idle packets where the standard wants them.
fn signal(wave: Wave) -> Signal {
    let address = UserAddress::new(77).unwrap().binary(Scheme::Linear);
    let cv = packet::CvAccess {
        target: packet::CvTarget::Board(packet::Board::of(address)),
        cv: packet::CvNumber::new(29).unwrap(),
        action: packet::CvAction::Write(0xFF),
    };
    let mut jobs = [
        Job::new(throw(1, Position::Normal), 3),
        Job::new(throw(2, Position::Reverse), 2),
        Job::new(throw(1_020, Position::Normal), 3),
        Job::new(Packet::Extended(Extended { address, aspect: 31 }), 2),
        Job::new(Packet::Cv(cv), 2),
        Job::new(Packet::Reset, 1),
    ];
    let sent: Vec<_> = Schedule::new(&mut jobs, wave, Preamble::STANDARD).collect();
    let bits = sent.iter().flat_map(|sent| Bits::new(sent.bytes, Preamble::STANDARD)).chain([true, true]);
    Signal {
        halves: bits.flat_map(|bit| wave.halves(bit)).collect(),
        packets: sent.iter().map(|sent| (sent.start_bit, sent.ended, sent.bytes)).collect(),
    }
}

#[test]
fn a_clean_signal_is_read_whole_from_either_side() {
    let signal = signal(Wave::NOMINAL);
    assert!(signal.packets.len() >= 13);
    for level in [false, true] {
        let heard = hear(&signal.edges(), level);
        assert_eq!(heard.good(), signal.sent());
        assert_eq!(heard.faults, []);
        assert!(heard.packets.iter().all(|packet| packet.first_half_high == level && packet.preamble == 14));
        assert!(heard.packets.iter().all(|packet| packet.uneven == 0));
    }
}

/// # Source
/// `reference/dcc/captures/simple.csv` and its expected packets.
#[test]
fn the_reference_capture_holds_what_it_is_said_to_hold() {
    let rows = include_str!("../../../../reference/dcc/captures/simple.csv");
    let edges: Vec<Ns> = rows
        .lines()
        .skip(1)
        .map(|row| row.split(',').next().unwrap().strip_suffix(".0").unwrap().parse::<Ns>().unwrap() * 1_000)
        .collect();
    let expected: Value =
        serde_json::from_str(include_str!("../../../../reference/dcc/captures/simple.expected.json"))
            .unwrap();
    let rows = expected["packets"].as_array().unwrap();
    let moment =
        |row: &Value, name: &str| format!("{:.0}", row[name].as_f64().unwrap() * 1e3).parse::<Ns>().unwrap();
    let start = |row: &Value| moment(row, "start_bit_us");
    let heard = hear(&edges, false);
    let all: Vec<(Ns, String, bool)> = rows
        .iter()
        .map(|row| (start(row), row["bytes"].as_str().unwrap().to_owned(), row["checksum_ok"] == true))
        .collect();
    let read: Vec<(Ns, String, bool)> = heard
        .packets
        .iter()
        .map(|packet| (packet.start_bit, packet.bytes.to_string(), packet.bytes.checksum_ok()))
        .collect();
    assert_eq!(read, all);
    assert_eq!(heard.good().len(), 23);
    assert_eq!(heard.faults, []);
    for (row, packet) in rows.iter().zip(&heard.packets) {
        assert_eq!(u64::from(packet.preamble), row["preamble_bits_sent"].as_u64().unwrap());
        assert_eq!(packet.ended, moment(row, "end_us"));
    }
}

/// The packets that an error between two moments cannot have touched: ten whole bits before the start bit are enough.
fn untouched(signal: &Signal, from: Ns, to: Ns) -> Vec<(Ns, Bytes)> {
    let touched = |&&(start, end, _): &&(Ns, Ns, Bytes)| to < start - 10 * 116_000 || from > end;
    signal.packets.iter().filter(touched).map(|&(start, _, bytes)| (start, bytes)).collect()
}

/// Every packet that was not touched is heard, and nothing is heard that was not sent.
fn check(signal: &Signal, edges: &[Ns], from: Ns, to: Ns, what: &str) {
    let good = hear(edges, false).good();
    for packet in untouched(signal, from, to) {
        assert!(good.contains(&packet), "{what} from {from} to {to}: {packet:?} is not heard");
    }
    for (start, bytes) in &good {
        // An edge lost right before a start bit makes its first half longer, which a 0 may be.
        let near = |&(sent, _, of): &(Ns, Ns, Bytes)| of == *bytes && sent.abs_diff(*start) < 200_000;
        assert!(
            signal.packets.iter().any(near),
            "{what} from {from} to {to}: {bytes} at {start} was never sent"
        );
    }
}

#[test]
fn one_missing_edge_costs_no_more_than_its_packet() {
    let signal = signal(Wave::NOMINAL);
    let edges = signal.edges();
    for missing in 1..edges.len() - 1 {
        let mut left = edges.clone();
        left.remove(missing);
        check(&signal, &left, edges[missing - 1], edges[missing + 1], "a missing edge");
    }
}

#[test]
fn a_glitch_costs_no_more_than_its_packet() {
    let signal = signal(Wave::NOMINAL);
    let edges = signal.edges();
    for (index, pair) in edges.windows(2).enumerate().step_by(3) {
        for (into, lasts) in [(5_000, 2_000), (20_000, 30_000)] {
            let mut more = edges.clone();
            let next = index + 1;
            more.splice(next..next, [pair[0] + into, pair[0] + into + lasts]);
            check(&signal, &more, pair[0], pair[1], "a glitch");
        }
    }
}

#[test]
fn a_flipped_bit_is_never_taken_for_a_packet() {
    let signal = signal(Wave::NOMINAL);
    let mut at = 0;
    for bit in (0..signal.halves.len()).step_by(2) {
        let mut halves = signal.halves.clone();
        let flipped = if halves[bit] == 58_000 { 100_000 } else { 58_000 };
        let (old, began) = (halves[bit], at);
        at += 2 * old;
        halves[bit] = flipped;
        halves[bit + 1] = flipped;
        // What comes later is moved by as much.
        let moved = |moment: Ns| if moment > began { moment + 2 * flipped - 2 * old } else { moment };
        let packets = signal.packets.iter().map(|&(start, end, bytes)| (moved(start), moved(end), bytes));
        let changed = Signal { halves, packets: packets.collect() };
        let good = hear(&changed.edges(), false).good();
        for packet in untouched(&changed, began, began + 2 * flipped) {
            assert!(good.contains(&packet), "bit {bit}: {packet:?} is not heard");
        }
        for packet in &good {
            assert!(changed.sent().contains(packet), "bit {bit}: {packet:?} was never sent");
        }
    }
}

#[test]
fn a_signal_that_is_cut_gives_what_was_whole() {
    let signal = signal(Wave::NOMINAL);
    let edges = signal.edges();
    for length in 1..edges.len() {
        let heard = hear(&edges[..length], false);
        let end = edges[length - 1];
        let whole: Vec<(Ns, Bytes)> = signal
            .packets
            .iter()
            .filter(|packet| packet.1 <= end)
            .map(|packet| (packet.0, packet.2))
            .collect();
        assert_eq!(heard.good(), whole, "cut at {end}");
        let inside = signal.packets.iter().any(|packet| packet.0 < end && end < packet.1);
        assert_eq!(heard.faults.iter().any(|fault| fault.1 == SignalFault::Cut), inside, "cut at {end}");
    }
}

/// # Source
/// NMRA S-9.2 (July 2004), footnote 3: the signal goes on for 26 µs after the end bit; no edge need end it.
#[test]
fn the_last_half_of_a_signal_needs_no_edge_where_it_is_long_enough() {
    let signal = signal(Wave::NOMINAL);
    let (_, end, _) = signal.packets[0];
    let edges: Vec<Ns> = signal.edges().into_iter().filter(|at| *at < end).collect();
    let heard_until = |until: Ns| {
        let (mut heard, mut level) = (0, false);
        let mut receiver = Receiver::new(0);
        let mut to = |event| heard += usize::from(matches!(event, Event::Packet(_)));
        for &at in &edges {
            receiver.edge(at, level, &mut to);
            level = !level;
        }
        receiver.finish(until, &mut to);
        heard
    };
    assert_eq!([end - 58_000, end - 10_000, end, end + 1_000_000].map(heard_until), [0, 0, 1, 1]);
}

#[test]
fn a_signal_may_begin_anywhere() {
    let signal = signal(Wave::NOMINAL);
    let edges = signal.edges();
    for first in 0..600 {
        let good = hear(&edges[first..], false).good();
        for packet in untouched(&signal, 0, edges[first]) {
            assert!(good.contains(&packet), "from edge {first}: {packet:?}");
        }
        assert!(good.iter().all(|packet| signal.sent().contains(packet)), "from edge {first}");
    }
}

/// # Source
/// NMRA S-9.1 (7 March 2020), section A, table 1: a whole stretched 0 lasts 12,000 µs at most, half of it 9,900 µs.
#[test]
fn stretched_zeros_are_read() {
    for zero in [[100_000, 700_000], [2_100_000, 9_900_000], [9_900_000, 100_000], [95_000, 95_000]] {
        let signal = signal(Wave::new([58_000, 58_000], zero).unwrap());
        let heard = hear(&signal.edges(), false);
        assert_eq!((heard.good(), heard.faults), (signal.sent(), vec![]));
    }
}

/// # Source
/// NMRA S-9.2 (July 2004), section A: no fewer than 10, no need of more than 12; a station sends 14, and by footnote 3 the end bit of
/// the packet before may be one of them.
#[test]
fn preambles_are_taken_from_ten_bits_on() {
    let bytes = throw(1, Position::Normal).encode();
    for preamble in 5..=14u32 {
        let before = Bits::new(bytes, Preamble::STANDARD);
        let short = Bits::new(bytes, Preamble::STANDARD).skip(14 - preamble as usize);
        let halves: Vec<Ns> =
            before.chain(short).chain([true]).flat_map(|bit| Wave::NOMINAL.halves(bit)).collect();
        let heard = hear(&Signal { halves, packets: vec![] }.edges(), false);
        let faults: Vec<SignalFault> = heard.faults.iter().map(|fault| fault.1).collect();
        let expected = match preamble {
            ..10 => (1, vec![SignalFault::ShortPreamble { bits: preamble }]),
            10..13 => (2, vec![SignalFault::LowPreamble { bits: preamble }]),
            _ => (2, vec![]),
        };
        assert_eq!((heard.packets.len(), faults), expected, "{preamble} bits");
    }
}

/// Bits written out: the blanks are for the eye.
fn written(bits: &str) -> Heard {
    let bits = bits.bytes().filter(|bit| *bit != b' ').map(|bit| bit == b'1');
    hear(
        &Signal { halves: bits.flat_map(|bit| Wave::NOMINAL.halves(bit)).collect(), packets: vec![] }.edges(),
        false,
    )
}

/// A packet with a wrong error byte is ended by its end bit as well, so that of `1111111` in it nothing counts for the next preamble.
///
/// # Source
/// NMRA S-9.2 (July 2004), section A: a preamble has 10 complete 1 bits; section B: a packet with a wrong error byte is ignored.
#[test]
fn the_end_of_a_broken_packet_is_no_part_of_the_next_preamble() {
    let broken = "11111111111111 0 10000001 0 11111001 0 11111111 1";
    let next = "0 10000001 0 11111001 0 01111000 1";
    for own in 0..14 {
        let heard = written(&format!("{broken} {} {next} 11", "1".repeat(own)));
        assert_eq!(heard.packets.len(), if own < 10 { 1 } else { 2 }, "{own} bits of its own");
        let short = heard.faults.iter().any(|fault| matches!(fault.1, SignalFault::ShortPreamble { .. }));
        assert_eq!(short, own < 10, "{own} bits: {:?}", heard.faults);
    }
}

/// One bit of a preamble is a 0. What follows looks like a packet, holds a whole one, and takes some of the next preamble; the packet
/// behind that has enough 1 bits before it nevertheless.
#[test]
fn a_packet_that_ran_into_the_next_preamble_leaves_it_whole() {
    let throw = "0 10000001 0 11111001 0 01111000 1";
    let mut eaten = 0;
    for left in 0..9 {
        // Twelve bits, the 0, and what is left of the preamble; then a preamble of 12, which a decoder must take.
        let text = format!("111111111111 0 {} {throw} 111111111111 {throw} 11", "1".repeat(left));
        let heard = written(&text);
        let good = heard.good();
        assert_eq!(good.len(), 1, "{left} left: {heard:?}");
        assert_eq!(good[0].1.to_string(), "81 F9 78");
        eaten += usize::from(heard.packets.iter().any(|packet| !packet.bytes.checksum_ok()));
    }
    assert!(eaten >= 1, "none of them looked like a packet");
}

/// # Source
/// NMRA S-9.2.1 (July 2012), introduction: 3 to 6 bytes. Fewer are no packet, so that each 1 bit in a row counts.
#[test]
fn the_end_of_what_is_no_packet_is_part_of_a_preamble() {
    for (own, packets) in [(0, 0), (1, 1), (3, 1)] {
        // A byte of eight 1 bits and what looks like an end bit are nine.
        let heard = written(&format!(
            "11111111111111 0 11111111 1 {} 0 10000001 0 11111001 0 01111000 1 11",
            "1".repeat(own)
        ));
        assert_eq!(heard.good().len(), packets, "{own}: {:?}", heard.faults);
        assert_eq!(heard.faults[0].1, SignalFault::FewBytes { count: 1 });
    }
}

/// # Source
/// RCN-217: the booster cuts the signal out behind the end bit; lengths from memory.
#[test]
fn the_cutout_in_which_decoders_answer_is_no_fault() {
    let bytes = throw(1, Position::Normal).encode();
    let mut halves: Vec<Ns> = Vec::new();
    for _ in 0..3 {
        let bits = Bits::new(bytes, Preamble::CUTOUT).skip(if halves.is_empty() { 0 } else { 4 });
        halves.extend(bits.flat_map(|bit| Wave::NOMINAL.halves(bit)));
        halves.extend([28_000, 436_000]);
    }
    halves.extend([58_000; 4]);
    let heard = hear(&Signal { halves, packets: vec![] }.edges(), false);
    assert_eq!((heard.good().len(), heard.faults), (3, vec![]));
}

/// # Source
/// NMRA S-9.2.1 (July 2012), introduction: 3 to 6 bytes.
#[test]
fn packets_of_other_lengths_are_faults() {
    let of_bytes = |count: usize| {
        let byte = [false].into_iter().chain([true, false].into_iter().cycle().take(8));
        let bits = [true; 14].into_iter().chain((0..count).flat_map(|_| byte.clone())).chain([true; 3]);
        let halves = bits.flat_map(|bit| Wave::NOMINAL.halves(bit)).collect();
        let heard = hear(&Signal { halves, packets: vec![] }.edges(), false);
        (heard.packets.len(), heard.faults.first().map(|fault| fault.1))
    };
    assert_eq!(of_bytes(2), (0, Some(SignalFault::FewBytes { count: 2 })));
    assert_eq!(of_bytes(3), (1, None));
    assert_eq!(of_bytes(6), (1, None));
    // 10101010 an even number of times comes to nothing, as an error byte has to.
    assert_eq!(of_bytes(7), (0, Some(SignalFault::ManyBytes { count: 7, checksum_ok: false })));
    assert_eq!(of_bytes(8), (0, Some(SignalFault::ManyBytes { count: 8, checksum_ok: true })));
    assert_eq!(of_bytes(15), (0, Some(SignalFault::ManyBytes { count: 15, checksum_ok: false })));
    assert_eq!(of_bytes(16), (0, Some(SignalFault::ManyBytes { count: 16, checksum_ok: false })));
}

/// Packets one after another, each with a moment: what stands out.
fn watched(packets: &[(Ns, &str)]) -> Vec<(Ns, TrafficFault)> {
    let mut watch = Watch::new();
    let mut faults = Vec::new();
    for &(at, text) in packets {
        let bytes: Vec<u8> = text.split(' ').map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
        let bytes = Bytes::received(&bytes).unwrap();
        let received = Received {
            start_bit: at * 1_000_000,
            ended: at * 1_000_000 + 4_500_000,
            preamble: 14,
            bytes,
            first_half_high: true,
            uneven: 0,
            worst: 0,
        };
        watch.packet(&received, &mut |at, what| faults.push((at / 1_000_000, what)));
    }
    watch.finish(&mut |at, what| faults.push((at / 1_000_000, what)));
    faults
}

/// # Source
/// NMRA S-9.2 (July 2004), section C (5 ms) and B (after a reset); NMRA S-9.2.1 (July 2012), section C, write byte: two
/// identical packets, and none to the same decoder between them.
#[test]
fn what_is_wrong_between_packets_is_told() {
    let close = |after| TrafficFault::Close { after };
    for (packets, expected) in [
        (&[(0, "81 F9 78"), (10, "81 F9 78")][..], vec![]),
        (&[(0, "81 F9 78"), (9, "81 F9 78")], vec![(9, close(4_500_000))]),
        // Pair 2 of the same board, then another board.
        (
            &[
                (0, "81 F9 78"),
                (6, "81 FB 7A"),
                (12, "82 F8 7A"),
                (100, "81 F9 78"),
                (110, "81 FB 7A"),
                (120, "82 F8 7A"),
            ],
            vec![(6, close(1_500_000))],
        ),
        (&[(0, "81 F9 78")], vec![(0, TrafficFault::LoneCommand)]),
        (
            &[(0, "81 F9 78"), (2_000, "81 F9 78")],
            vec![(0, TrafficFault::LoneCommand), (2_000, TrafficFault::LoneCommand)],
        ),
        (&[(0, "81 F0 EC 00 01 9C")], vec![(0, TrafficFault::LoneWrite)]),
        (&[(0, "81 F0 EC 00 01 9C"), (20, "81 F0 EC 00 01 9C")], vec![]),
        (&[(0, "81 F0 EC 00 01 9C"), (9_000, "81 F0 EC 00 01 9C")], vec![]),
        (
            &[(0, "81 F0 EC 00 01 9C"), (20, "81 F9 78"), (40, "81 F0 EC 00 01 9C"), (60, "81 F9 78")],
            vec![(0, TrafficFault::LoneWrite), (40, TrafficFault::LoneWrite)],
        ),
        (&[(0, "81 7E 00 07 F8")], vec![(0, TrafficFault::LegacyCvWrite)]),
        (&[(0, "81 F9 79")], vec![(0, TrafficFault::Checksum { expected: 0x78 })]),
        (&[(0, "00 00 00"), (5, "00 00 00"), (10, "64 60 04")], vec![(10, TrafficFault::AfterReset)]),
        (&[(0, "00 00 00"), (5, "7D 01 7C"), (10, "7D 01 7C")], vec![]),
    ] {
        assert_eq!(watched(packets), expected, "{packets:?}");
    }
}

#[test]
fn a_programming_track_is_told_by_its_resets() {
    let mut watch = Watch::new();
    let mut names = Vec::new();
    for (at, bytes) in [(0, [0, 0, 0]), (6, [0x7D, 1, 0x7C]), (100, [0x7D, 1, 0x7C])] {
        let received = Received {
            start_bit: at * 1_000_000,
            ended: at * 1_000_000 + 4_500_000,
            preamble: 20,
            bytes: Bytes::received(&bytes).unwrap(),
            first_half_high: true,
            uneven: 0,
            worst: 0,
        };
        names.push(watch.packet(&received, &mut |_, _| {}).decoded.kind.name());
    }
    assert_eq!(names, ["reset", "service mode, register", "multi-function decoder"]);
    assert_eq!(Decoded::new(Packet::Idle.encode(), Seen::Main).kind.name(), "idle");
}

proptest! {
    /// Halves anywhere within what a decoder must take, the two of a 1 no further apart than it must bear.
    #[test]
    fn prop_jitter_within_tolerance_loses_nothing(seed in prop::collection::vec((0u64..=12_000, 0u64..=6_000), 64)) {
        let mut signal = signal(Wave::NOMINAL);
        let mut at = 0;
        let mut moved: Vec<(Ns, Ns)> = Vec::new();
        for (index, pair) in signal.halves.chunks_mut(2).enumerate() {
            let (first, apart) = seed[index % seed.len()];
            let old = pair[0] + pair[1];
            if pair[0] == 58_000 {
                pair[0] = 52_000 + first;
                pair[1] = if pair[0] >= 58_000 { pair[0] - apart } else { pair[0] + apart };
            } else {
                pair[0] = 90_000 + first * 7;
                pair[1] = 90_000 + apart * 11;
            }
            moved.push((at, pair[0] + pair[1]));
            at += old;
        }
        let place = |moment: Ns| moved.iter().take_while(|(old, _)| *old < moment).map(|(_, new)| new).sum::<Ns>();
        let sent: Vec<(Ns, Bytes)> = signal.packets.iter().map(|&(start, _, bytes)| (place(start), bytes)).collect();
        prop_assert_eq!(hear(&signal.edges(), false).good(), sent);
    }

    /// Noise gives no packets with a right error byte, save by the chance of one in 256, and never ends the program.
    #[test]
    fn prop_noise_ends_well(halves in prop::collection::vec(prop_oneof![40_000u64..120_000, 0u64..20_000_000], 0..2_000)) {
        let heard = hear(&Signal { halves, packets: vec![] }.edges(), false);
        prop_assert!(heard.packets.iter().all(|packet| packet.preamble >= 10));
    }
}
