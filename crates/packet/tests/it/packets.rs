//! Bytes of packets, there and back, compared with every vector.
//!
//! # Source
//! `reference/dcc/packets.json`; the section of the standard stands beside each vector there.

use packet::{
    Basic, BinaryAddress, BitIndex, Board, Bytes, CvAccess, CvAction, CvNumber, CvTarget, Decoded, Direction,
    Extended, Instruction, Kind, LocoAddress, LocoStop, NormalIs, Packet, Position, Seen, Warning,
};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

fn vectors() -> Vec<Value> {
    let file: Value = serde_json::from_str(include_str!("../../../../reference/dcc/packets.json")).unwrap();
    file["vectors"].as_array().unwrap().clone()
}

fn bytes_of(vector: &Value) -> Bytes {
    bytes(vector["bytes"].as_str().unwrap())
}

fn bytes(text: &str) -> Bytes {
    let bytes: Vec<u8> = text.split(' ').map(|byte| u8::from_str_radix(byte, 16).unwrap()).collect();
    Bytes::received(&bytes).unwrap()
}

fn decoded(text: &str) -> Decoded {
    Decoded::new(bytes(text), Seen::Main)
}

fn number(vector: &Value, member: &str) -> u16 {
    u16::try_from(vector[member].as_u64().unwrap()).unwrap()
}

fn byte(vector: &Value, member: &str) -> u8 {
    u8::try_from(vector[member].as_u64().unwrap()).unwrap()
}

fn binary(vector: &Value) -> BinaryAddress {
    BinaryAddress::new(number(vector, "B")).unwrap()
}

fn position(vector: &Value) -> Position {
    if vector["position"] == "normal" { Position::Normal } else { Position::Reverse }
}

/// What the vector describes in words, as a packet.
fn described(vector: &Value) -> Option<Packet> {
    Some(match vector["kind"].as_str().unwrap() {
        "basic" => Packet::Basic(Basic {
            address: binary(vector),
            direction: Direction::of(position(vector), NormalIs::One),
            active: vector["activate"] == 1,
        }),
        "extended" => Packet::Extended(Extended { address: binary(vector), aspect: byte(vector, "data") }),
        "idle" => Packet::Idle,
        "reset" => Packet::Reset,
        "extended_broadcast_stop" => Packet::ExtendedStop,
        "basic_broadcast_stop_rcn213" => Packet::BasicStop,
        "loco_broadcast_stop" => {
            // 01DC000S, read off the printed form.
            let second = bytes_of(vector).as_slice()[1];
            Packet::LocoStop(LocoStop {
                cut_off: second & 1 == 1,
                direction_optional: second >> 4 & 1 == 1,
                forward: second >> 5 & 1 == 1,
            })
        }
        "cv_access" => Packet::Cv(CvAccess {
            target: target(vector),
            cv: CvNumber::new(number(vector, "cv")).unwrap(),
            action: action(vector),
        }),
        _ => return None,
    })
}

fn target(vector: &Value) -> CvTarget {
    let board = Board::new(number(vector, "board")).unwrap();
    match (vector["target"].as_str().unwrap(), vector["CDDD"].as_str()) {
        ("extended", _) => CvTarget::Extended(binary(vector)),
        (_, Some("0000")) => CvTarget::Board(board),
        (_, Some(output)) => {
            let output = u8::from_str_radix(output, 2).unwrap();
            assert!(output >= 8, "C is 1 where an output is meant");
            CvTarget::Output(board, BitIndex::new(output - 8).unwrap())
        }
        (_, None) => panic!("a basic decoder without CDDD"),
    }
}

fn action(vector: &Value) -> CvAction {
    let data = byte(vector, "data");
    match vector["operation"].as_str().unwrap() {
        "write byte" => CvAction::Write(data),
        "verify byte" => CvAction::Verify(data),
        // The note of the vector: write bit 6 = 1.
        "bit manipulation" => CvAction::WriteBit(BitIndex::new(6).unwrap(), true),
        other => panic!("operation {other}"),
    }
}

#[test]
fn what_each_vector_describes_becomes_its_bytes() {
    let mut compared: BTreeMap<String, usize> = BTreeMap::new();
    for vector in vectors() {
        let kind = vector["kind"].as_str().unwrap().to_owned();
        let Some(packet) = described(&vector) else { continue };
        assert_eq!(packet.encode(), bytes_of(&vector), "{}", vector["id"]);
        *compared.entry(kind).or_default() += 1;
    }
    let expected = [
        ("basic", 182),
        ("basic_broadcast_stop_rcn213", 1),
        ("cv_access", 8),
        ("extended", 23),
        ("extended_broadcast_stop", 1),
        ("idle", 1),
        ("loco_broadcast_stop", 5),
        ("reset", 1),
    ];
    assert_eq!(compared, expected.map(|(kind, count)| (kind.to_owned(), count)).into());
}

#[test]
fn the_bytes_of_each_vector_become_what_it_describes() {
    for vector in vectors() {
        let read = Decoded::new(bytes_of(&vector), Seen::Main);
        let id = &vector["id"];
        let rejected = vector["must_be_rejected"] == true;
        assert_eq!(read.checksum_ok(), !rejected, "{id}");
        let expected = match (described(&vector), vector["kind"].as_str().unwrap()) {
            (Some(Packet::Basic(basic)), _) => Kind::Basic(basic),
            (Some(Packet::Extended(extended)), _) => Kind::Extended(extended),
            (Some(Packet::Idle), _) => Kind::Idle,
            (Some(Packet::Reset), _) => Kind::Reset,
            (Some(Packet::LocoStop(stop)), _) => Kind::LocoStop(stop),
            (Some(Packet::Cv(access)), _) => Kind::AccessoryCv(access),
            (Some(Packet::BasicStop | Packet::ExtendedStop) | None, kind) => {
                otherwise(kind, &vector, read);
                continue;
            }
        };
        assert_eq!(read.kind, expected, "{id}");
    }
}

/// Vectors that are no packet to send, or whose bytes have another reading.
fn otherwise(kind: &str, vector: &Value, read: Decoded) {
    let id = &vector["id"];
    match kind {
        "basic_broadcast" | "basic_broadcast_stop_rcn213" => {
            assert_eq!(read.kind.name(), "basic accessory broadcast", "{id}");
            assert_eq!(read.warning(), Some(Warning::Broadcast), "{id}");
        }
        "extended_broadcast_stop" => {
            assert_eq!(read.kind.name(), "extended accessory broadcast", "{id}");
            assert_eq!(read.warning(), Some(Warning::Broadcast), "{id}");
        }
        "never_send_legacy_cv" => {
            assert_eq!(read.warning(), Some(Warning::LegacyCvWrite), "{id}");
            let cv = if id == "P239" { 513 } else { 1 };
            let (board, cv) = (Board::new(1).unwrap(), CvNumber::new(cv).unwrap());
            assert_eq!(read.kind, Kind::LegacyCv { board, cv, value: 7 }, "{id}");
        }
        "invalid" => assert!(!read.checksum_ok(), "{id}"),
        other => panic!("{id}: kind {other}"),
    }
}

/// The other meaning of the direction bit turns every position over and leaves the bytes alone.
#[test]
fn each_position_is_the_other_where_bit_0_is_normal() {
    let mut compared = 0;
    for vector in vectors().iter().filter(|vector| vector["kind"] == "basic" && vector["activate"] == 1) {
        let other = if position(vector) == Position::Normal { Position::Reverse } else { Position::Normal };
        let packet = Basic::throw(binary(vector), other, NormalIs::Zero);
        assert_eq!(packet.encode(), bytes_of(vector), "{}", vector["id"]);
        assert_eq!(packet.direction.position(NormalIs::Zero), other);
        compared += 1;
    }
    assert_eq!(compared, 174);
}

#[test]
fn all_4096_throws_are_distinct_and_read_back() {
    let mut seen = BTreeSet::new();
    for bits in 0..=BinaryAddress::MAX {
        for direction in [Direction::Zero, Direction::One] {
            let basic = Basic { address: BinaryAddress::new(bits).unwrap(), direction, active: true };
            let bytes = basic.encode();
            assert!(bytes.checksum_ok());
            assert_eq!(Decoded::new(bytes, Seen::Main).kind, Kind::Basic(basic));
            assert!(seen.insert(bytes), "{bytes}");
        }
    }
    assert_eq!(seen.len(), 4_096);
}

/// Every packet that can be made, save that only some variables are tried, reads back and is never the obsolete form.
#[test]
fn no_packet_that_can_be_made_is_the_obsolete_write() {
    let (bits, bytes) = (0..8u8, [0, 1, 0x7F, 0x80, 0xEC, 0xFF]);
    let mut actions: Vec<CvAction> = Vec::new();
    for value in bytes {
        actions.extend([CvAction::Write(value), CvAction::Verify(value)]);
    }
    for bit in bits.map(|bit| BitIndex::new(bit).unwrap()) {
        for value in [false, true] {
            actions.extend([CvAction::WriteBit(bit, value), CvAction::VerifyBit(bit, value)]);
        }
    }
    for address in (0..=BinaryAddress::MAX).map(|bits| BinaryAddress::new(bits).unwrap()) {
        let board = Board::of(address);
        let output = BitIndex::new(u8::try_from(address.bits() % 8).unwrap()).unwrap();
        for target in [CvTarget::Board(board), CvTarget::Output(board, output), CvTarget::Extended(address)] {
            for (cv, action) in [1, 29, 256, 257, 512, 513, 1024].iter().zip(actions.iter().cycle()) {
                let access = CvAccess { target, cv: CvNumber::new(*cv).unwrap(), action: *action };
                let read = Decoded::new(access.encode(), Seen::Main);
                assert_eq!(read.kind, Kind::AccessoryCv(access));
                assert!(read.checksum_ok());
            }
        }
        for aspect in 0..=255 {
            let extended = Extended { address, aspect };
            assert_eq!(Decoded::new(extended.encode(), Seen::Main).kind, Kind::Extended(extended));
        }
    }
}

/// # Source
/// By hand: 1000 0001 xor 1111 1001 is 0111 1000; with the bits turned into digits, 81 xor F9 is 78. S-9.2 (July 2004),
/// section B, says of byte three that each of its bits is the exclusive or of that bit of the bytes before it.
#[test]
fn the_error_byte_by_hand() {
    assert_eq!(packet::checksum(&[0b1000_0001, 0b1111_1001]), 0b0111_1000);
    assert_eq!(packet::checksum(&[0b1010_1010, 0b0101_0101, 0b0000_1111]), 0b1111_0000);
    assert_eq!(packet::checksum(&[]), 0);
    for (good, bad) in [("81 F9 78", "81 F9 79"), ("BE 07 1F A6", "BE 07 1F A4")] {
        assert_eq!((decoded(good).checksum_ok(), decoded(bad).checksum_ok()), (true, false));
    }
}

/// # Source
/// NMRA S-9.2.1 (July 2012), section A, for the addresses, and section C, for the forms; the error bytes by hand.
#[test]
fn packets_for_locomotives_are_told_by_name() {
    let (short, long) = (LocoAddress::Short(3), LocoAddress::Long(1_025));
    let (forward, reverse) = (true, false);
    for (text, address, instruction) in [
        ("03 65 66", short, Instruction::Speed { forward, bits: 5 }),
        ("03 45 46", short, Instruction::Speed { forward: reverse, bits: 5 }),
        ("03 3F 85 B9", short, Instruction::Speed128 { forward, step: 5 }),
        ("C4 01 3F 05 FF", long, Instruction::Speed128 { forward: reverse, step: 5 }),
        ("03 3E 05 38", short, Instruction::RestrictedSpeed),
        ("03 3D 01 7F 40", short, Instruction::AnalogFunction),
        ("03 90 93", short, Instruction::FunctionGroupOne),
        ("03 B1 B2", short, Instruction::F5ToF8),
        ("03 A1 A2", short, Instruction::F9ToF12),
        ("03 C0 81 01 43", short, Instruction::BinaryStateLong),
        ("03 DD 81 5F", short, Instruction::BinaryStateShort),
        ("03 DE 01 DC", short, Instruction::F13ToF20),
        ("03 DF 01 DD", short, Instruction::F21ToF28),
        ("03 EC 00 05 EA", short, Instruction::CvLong),
        ("C4 01 EC 00 05 2C", long, Instruction::CvLong),
        ("03 F2 05 F4", short, Instruction::CvShort),
        ("03 12 0A 1B", short, Instruction::ConsistControl),
        ("03 0F 0C", short, Instruction::DecoderControl),
        ("00 9F 9F", LocoAddress::Broadcast, Instruction::FunctionGroupOne),
        ("03 C0 C3", short, Instruction::Reserved),
    ] {
        let read = decoded(text);
        assert_eq!(read.kind, Kind::MultiFunction { address, instruction }, "{text}");
        assert!(read.checksum_ok(), "{text}");
    }
}

/// # Source
/// NMRA S-9.2.1 (July 2012), section A: 232 to 254 are reserved. The forms `0AAA0AA0` and extended ones of other lengths
/// are defined nowhere.
#[test]
fn what_the_standard_keeps_back_is_said_to_be_reserved() {
    for text in ["E8 00 E8", "FE 01 FF", "FF 01 FE"] {
        assert_eq!(decoded(text).kind, Kind::Reserved, "{text}");
    }
    for text in ["81 70 00 F1", "81 71 F0", "81 F9 00 78", "81 F1 EC 00 01 9D", "81 F0 E0 00 01 90"] {
        assert_eq!(decoded(text).kind.name(), "accessory, reserved", "{text}");
    }
    assert_eq!(decoded("81 78 F9").kind.name(), "accessory, nothing to do");
}

/// # Source
/// NMRA S-9.2.3 (July 2012), section E: direct mode `0111CCAA AAAAAAAA DDDDDDDD`; the page-preset instruction is printed
/// there as 01111101 00000001 01111100, a write of 1 to register 6.
#[test]
fn a_programming_track_gives_the_same_bytes_another_meaning() {
    let seen = |text| Decoded::new(bytes(text), Seen::Programming).kind;
    let cv = CvNumber::new(29).unwrap();
    assert_eq!(seen("7C 1C 06 66"), Kind::ServiceDirect { cv, action: CvAction::Write(6) });
    assert_eq!(seen("7D 01 7C"), Kind::ServiceRegister { register: 6, write: true, value: 1 });
    assert_eq!(seen("00 00 00"), Kind::Reset);
    assert_eq!(decoded("7D 01 7C").kind.name(), "multi-function decoder");
}

#[test]
fn numbers_past_their_bits_are_no_numbers() {
    assert_eq!(BinaryAddress::new(2_048), None);
    assert_eq!(Board::new(512), None);
    assert_eq!([0, 1_025].map(CvNumber::new), [None, None]);
    assert_eq!(BitIndex::new(8), None);
    for count in [0, 1, 2, 7, 200] {
        assert_eq!(Bytes::received(&vec![0; count]), None, "{count} bytes");
    }
    assert_eq!(bytes("81 F9 78").to_string(), "81 F9 78");
}

/// Every payload of two bytes, and a stretch of longer ones, has a kind with a name.
#[test]
fn nothing_that_can_be_received_is_without_a_kind() {
    for first in 0..=255u8 {
        for second in 0..=255u8 {
            for seen in [Seen::Main, Seen::Programming] {
                for length in 3..=6 {
                    let all = [first, second, second ^ 0x5A, first ^ 0xEC, 0xFF, second];
                    let read = Decoded::new(Bytes::received(&all[..length]).unwrap(), seen);
                    assert!(!read.kind.name().is_empty());
                    assert_eq!(read.kind.accessory().is_some(), (128..192).contains(&first));
                }
            }
        }
    }
}
