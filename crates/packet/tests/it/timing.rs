//! Lengths of bits and packets, and packets one after another.
//!
//! # Source
//! `reference/dcc/timing.json`: NMRA S-9.1 (7 March 2020), section A, table 1; NMRA S-9.2 (July 2004), sections A and C.

use packet::{
    Basic, Bits, Bytes, Half, Job, NormalIs, Packet, Position, Preamble, Schedule, Scheme, Sent,
    TAKEN_ONE_DIFFERENCE, UserAddress, Wave, WaveFault,
};
use serde_json::Value;

fn timing() -> Value {
    serde_json::from_str(include_str!("../../../../reference/dcc/timing.json")).unwrap()
}

/// Microseconds of the file, with at most one decimal, as nanoseconds.
fn ns(us: &Value) -> u64 {
    let tenths = us.as_f64().unwrap() * 10.0;
    assert!((tenths - tenths.round()).abs() < 1e-6);
    format!("{tenths:.0}").parse::<u64>().unwrap() * 100
}

fn word(half: Half, neither: &'static str) -> &'static str {
    match half {
        Half::One => "1",
        Half::Zero => "0",
        Half::Neither => neither,
    }
}

#[test]
fn half_bits_are_taken_and_sent_within_their_limits() {
    let timing = timing();
    let rows = |name: &str| timing[name].as_array().unwrap().clone();
    for row in rows("classify_half_bit_examples_receive") {
        assert_eq!(word(Half::taken(ns(&row["us"])), "invalid"), row["is"], "{row}");
    }
    for row in rows("classify_half_bit_examples_transmit") {
        assert_eq!(word(Half::sent(ns(&row["us"])), "out of tolerance"), row["is"], "{row}");
    }
    assert_eq!(rows("half_bit").len(), 7);
    for row in rows("half_bit") {
        let limit = |end: &str| ns(&row[end]);
        let limits = |held: packet::Limits| assert_eq!((held.min, held.max), (limit("min"), limit("max")));
        match row["symbol"].as_str().unwrap() {
            "t1" => limits(packet::SENT_ONE),
            "tr1" => limits(packet::TAKEN_ONE),
            "t0" => limits(packet::SENT_ZERO),
            "tr0" => limits(packet::TAKEN_ZERO),
            "t1d" => assert_eq!(packet::SENT_ONE_DIFFERENCE, limit("max")),
            "tr1d" => assert_eq!(TAKEN_ONE_DIFFERENCE, limit("max")),
            "t0total" => assert_eq!(packet::SENT_ZERO_TOTAL, limit("max")),
            other => panic!("{other}"),
        }
    }
}

#[test]
fn a_wave_that_a_station_may_not_send_cannot_be_made() {
    let timing = timing();
    let halves = |row: &Value| [0, 1].map(|index| ns(&row["halves_us"][index]));
    let (one, zero) = (Wave::NOMINAL.halves(true), Wave::NOMINAL.halves(false));
    let mut compared = 0;
    for row in timing["one_bit_examples"].as_array().unwrap() {
        let [first, second] = halves(row);
        if let Some(sent) = row["transmit"].as_str() {
            assert_eq!(Wave::new([first, second], zero).is_ok(), sent.starts_with("ok"), "{row}");
            compared += 1;
        }
        if let Some(taken) = row["receive"].as_str() {
            let within = first.abs_diff(second) <= TAKEN_ONE_DIFFERENCE;
            assert_eq!(within, taken.starts_with("must be accepted"), "{row}");
        }
    }
    for row in timing["zero_bit_examples"].as_array().unwrap() {
        let sent = row["transmit"].as_str().unwrap();
        assert_eq!(Wave::new(one, halves(row)).is_ok(), sent.starts_with("ok"), "{row}");
        compared += 1;
    }
    assert_eq!(compared, 4);
    assert_eq!(Wave::new([54_999, 55_000], zero), Err(WaveFault::One));
    assert_eq!(Wave::new([55_000, 58_001], zero), Err(WaveFault::OneDifference));
    assert_eq!(Wave::new(one, [94_999, 95_000]), Err(WaveFault::Zero));
    assert_eq!(Wave::new(one, [2_101_000, 9_900_000]), Err(WaveFault::ZeroTotal));
    assert_eq!([13, 65].map(Preamble::new), [None, None]);
}

#[test]
fn packets_last_as_long_as_their_bits() {
    let timing = timing();
    let rows = timing["packet_durations_computed"].as_array().unwrap();
    assert_eq!(rows.len(), 4);
    for row in rows {
        let bytes: Vec<u8> = row["bytes"]
            .as_str()
            .unwrap()
            .split(' ')
            .map(|byte| u8::from_str_radix(byte, 16).unwrap())
            .collect();
        let bytes = Bytes::received(&bytes).unwrap();
        let lasts = |preamble| Wave::NOMINAL.duration(&bytes, preamble);
        assert_eq!(lasts(Preamble::STANDARD), ns(&row["us_nominal"]), "{row}");
        assert_eq!(lasts(Preamble::CUTOUT), ns(&row["us_nominal_preamble_17"]), "{row}");
    }
}

/// # Source
/// NMRA S-9.2 (July 2004), section A and figure 1, by hand.
#[test]
fn the_bits_of_a_packet_stand_in_the_order_of_the_standard() {
    let bits: String = Bits::new(Bytes::received(&[0x81, 0xF9, 0x78]).unwrap(), Preamble::STANDARD)
        .map(|bit| if bit { '1' } else { '0' })
        .collect();
    assert_eq!(bits, ["11111111111111", "0", "10000001", "0", "11111001", "0", "01111000", "1"].concat());
}

fn throw(number: u16) -> Packet {
    let address = UserAddress::new(number).unwrap().binary(Scheme::Linear);
    Packet::Basic(Basic::throw(address, Position::Reverse, NormalIs::One))
}

fn sent(numbers: &[u16], times: u8, between: u8) -> Vec<Sent> {
    let mut jobs: Vec<Job> = numbers.iter().map(|number| Job::new(throw(*number), times)).collect();
    Schedule::new(&mut jobs, Wave::NOMINAL, Preamble::STANDARD).among(&[], between).collect()
}

/// # Source
/// NMRA S-9.2 (July 2004), section C: 5 ms from the end bit of one packet to the start bit of the next to one decoder.
#[test]
fn the_same_decoder_is_left_alone_for_five_milliseconds() {
    for (numbers, times, between) in
        [(&[1, 2, 3, 4][..], 3, 0), (&[1], 5, 0), (&[1, 5, 9], 4, 0), (&[1, 5], 2, 2), (&[2041, 1], 2, 0)]
    {
        let sent = sent(numbers, times, between);
        let ours: Vec<&Sent> = sent.iter().filter(|sent| sent.job.is_some()).collect();
        assert_eq!(ours.len(), numbers.len() * usize::from(times));
        for (index, first) in ours.iter().enumerate() {
            for second in &ours[index + 1..] {
                let board = |sent: &Sent| numbers[sent.job.unwrap()].div_ceil(4);
                let broadcast = |sent: &Sent| board(sent) == 511;
                if board(first) == board(second) || broadcast(first) || broadcast(second) {
                    assert!(second.start_bit >= first.ended + 5_000_000, "{numbers:?}");
                }
            }
        }
        // Nothing overlaps, and the signal never stops.
        assert!(sent.windows(2).all(|pair| pair[0].ended == pair[1].began));
    }
}

/// By hand: a throw of user 1 lasts 6,132 µs and an idle packet 5,796 µs (`packet_durations_computed`). Two turnouts of
/// two boards follow one another at once; two of one board need an idle packet between.
#[test]
fn a_route_takes_as_long_as_its_packets_and_what_stands_between() {
    let lasts = |numbers: &[u16], times, between| sent(numbers, times, between).last().unwrap().ended;
    assert_eq!(lasts(&[1], 1, 0), 6_132_000);
    assert_eq!(lasts(&[1], 2, 0), (6_132 + 5_796 + 6_132) * 1_000);
    let bits = |number: u16| Wave::NOMINAL.duration(&throw(number).encode(), Preamble::STANDARD);
    assert_eq!(lasts(&[1, 5], 1, 0), bits(1) + bits(5));
    // Same board, so an idle packet stands between.
    assert_eq!(lasts(&[1, 2], 1, 0), bits(1) + 5_796_000 + bits(2));
    // One packet of other traffic after each of ours, none after the last.
    assert_eq!(lasts(&[1, 5], 1, 1), bits(1) + 5_796_000 + bits(5));
}

#[test]
fn every_decoder_hears_its_command_once_before_any_hears_it_again() {
    let order: Vec<usize> = sent(&[1, 9, 17], 2, 0).iter().filter_map(|sent| sent.job).collect();
    assert_eq!(order, [0, 1, 2, 0, 1, 2]);
    assert_eq!(sent(&[], 2, 0), []);
    assert_eq!(sent(&[1], 0, 0), []);
}

/// # Source
/// NMRA S-9.2.1 (July 2012), section C, write byte: any other packet to the same decoder, a broadcast too, makes it forget
/// a write that came once.
#[test]
fn nothing_parts_the_two_packets_of_a_write() {
    let address = UserAddress::new(5).unwrap().binary(Scheme::Linear);
    let access = packet::CvAccess {
        target: packet::CvTarget::Board(packet::Board::of(address)),
        cv: packet::CvNumber::new(1).unwrap(),
        action: packet::CvAction::Write(2),
    };
    let other = packet::CvAccess { action: packet::CvAction::Write(3), ..access };
    let packets = [throw(1), Packet::Cv(access), throw(5), Packet::Cv(other), Packet::BasicStop];
    let mut jobs = packets.map(|packet| Job::new(packet, 2));
    let order: Vec<usize> =
        Schedule::new(&mut jobs, Wave::NOMINAL, Preamble::STANDARD).filter_map(|sent| sent.job).collect();
    assert_eq!(order.len(), 10);
    for write in [1, 3] {
        let places: Vec<usize> = (0..10).filter(|index| order[*index] == write).collect();
        let between = &order[places[0] + 1..places[1]];
        assert!(between.iter().all(|job| *job == 0), "{order:?}");
    }
}
