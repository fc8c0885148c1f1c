//! Address bits and boards, compared with the accessory vectors.
//!
//! # Source
//! `reference/dcc/packets.json`: bits after NMRA S-9.2.1 (July 2012), section D; user numbers after LCC TN-9.7.0.4 (July
//! 2024), section 2.5.3.3; two encoders and a general-purpose decoder agree on each vector.

use packet::{BROADCAST_BOARD, BinaryAddress, Scheme, UserAddress};
use serde_json::Value;
use std::collections::BTreeMap;

fn vectors() -> Vec<Value> {
    let file: Value = serde_json::from_str(include_str!("../../../../reference/dcc/packets.json")).unwrap();
    file["vectors"].as_array().unwrap().clone()
}

fn number(vector: &Value, member: &str) -> u16 {
    u16::try_from(vector[member].as_u64().unwrap()).unwrap()
}

fn scheme_of(vector: &Value) -> Scheme {
    match vector["numbering"].as_str().unwrap() {
        "first_board_1" => Scheme::Linear,
        "first_board_0" => Scheme::ZeroBased,
        "blockwise_256" => Scheme::BlocksOf256,
        other => panic!("numbering {other}"),
    }
}

fn binary_of(vector: &Value) -> BinaryAddress {
    UserAddress::new(number(vector, "user_address")).unwrap().binary(scheme_of(vector))
}

#[test]
fn address_bits_agree_with_every_vector_in_every_scheme() {
    let mut compared: BTreeMap<String, usize> = BTreeMap::new();
    for vector in vectors().iter().filter(|vector| vector["user_address"].is_u64()) {
        let binary = binary_of(vector);
        let id = &vector["id"];
        assert_eq!(binary.bits(), number(vector, "B"), "{id}");
        if vector["kind"] == "basic" {
            assert_eq!(binary.board(), number(vector, "board"), "{id}");
            assert_eq!(binary.output(), number(vector, "pair"), "{id}");
        }
        *compared.entry(vector["numbering"].as_str().unwrap().to_owned()).or_default() += 1;
    }
    // So many are in the file; fewer would mean that some were passed over.
    let expected = [("blockwise_256", 24), ("first_board_0", 32), ("first_board_1", 149)];
    assert_eq!(compared, expected.map(|(scheme, count)| (scheme.to_owned(), count)).into());
}

/// The address bits as they lie in the two address bytes of the packet, read off the printed bit template.
#[test]
fn the_bytes_of_each_basic_packet_carry_these_address_bits() {
    let mut compared = 0;
    for vector in vectors().iter().filter(|vector| vector["kind"] == "basic") {
        let bytes: Vec<u16> = vector["bytes"]
            .as_str()
            .unwrap()
            .split(' ')
            .map(|byte| u16::from_str_radix(byte, 16).unwrap())
            .collect();
        // 10AAAAAA 1aaaCDDD: A are the low six board bits, a the high three turned over, DD the output.
        let board = (bytes[0] & 0x3F) | ((!bytes[1] & 0x70) << 2);
        let output = (bytes[1] >> 1) & 3;
        let binary = binary_of(vector);
        assert_eq!((binary.board(), binary.output()), (board, output), "{}", vector["id"]);
        compared += 1;
    }
    assert_eq!(compared, 182);
}

/// # Source
/// NMRA S-9.2.1 (July 2012), section D: four outputs to a board. That users count boards from 1, so that 1 to 4 are board
/// 1 and 5 to 8 board 2: TN-9.7.0.4 and `reference/dcc/README.md`, linear numbering.
#[test]
fn boards_of_four_are_counted_from_one() {
    let place = |number| {
        let address = UserAddress::new(number).unwrap();
        (address.board(), address.output())
    };
    assert_eq!([1, 2, 3, 4].map(place), [(1, 1), (1, 2), (1, 3), (1, 4)]);
    assert_eq!([5, 6, 7, 8].map(place), [(2, 1), (2, 2), (2, 3), (2, 4)]);
    assert_eq!(place(2040), (510, 4));
    for vector in vectors().iter().filter(|vector| vector["numbering"] == "first_board_1") {
        let address = UserAddress::new(number(vector, "user_address")).unwrap();
        // In linear counting the user's board is the board of the bits, until it wraps.
        let board = number(vector, "B") >> 2;
        assert_eq!(address.board() % 512, board, "{}", vector["id"]);
        assert_eq!(address.output(), (number(vector, "B") & 3) + 1, "{}", vector["id"]);
    }
}

/// # Source
/// NMRA S-9.2.1 (July 2012), section D: board 511 is the broadcast.
#[test]
fn the_first_address_past_2040_is_the_broadcast_board() {
    let board = |number| UserAddress::new(number).unwrap().binary(Scheme::Linear).board();
    assert_eq!(board(UserAddress::SAFE_MAX), 510);
    assert_eq!([2041, 2044].map(board), [BROADCAST_BOARD; 2]);
    assert_eq!(board(2045), 0);
    assert_eq!([0, 2049].map(UserAddress::new), [None, None]);
}

/// Back from the bits to the number, in every scheme.
#[test]
fn every_user_number_comes_back_from_its_bits() {
    for scheme in Scheme::ALL {
        for address in (1..=UserAddress::MAX).map(|number| UserAddress::new(number).unwrap()) {
            assert_eq!(address.binary(scheme).user(scheme), address, "{scheme:?}");
        }
    }
    for vector in vectors().iter().filter(|vector| vector["user_address"].is_u64()) {
        let binary = BinaryAddress::new(number(vector, "B")).unwrap();
        assert_eq!(
            binary.user(scheme_of(vector)).number(),
            number(vector, "user_address"),
            "{}",
            vector["id"]
        );
    }
}
