//! The variables that hold an accessory decoder's address.
//!
//! # Source
//! `reference/dcc/cv.json`: NMRA S-9.2.2 (July 2012), accessory decoders. Where the text contradicts itself, both readings.

use packet::{
    AccessoryConfiguration, AddressCvs, AddressMethod, BinaryAddress, Board, OutputReading, Scheme,
    UserAddress,
};
use serde_json::Value;

fn cv() -> Value {
    serde_json::from_str(include_str!("../../../../reference/dcc/cv.json")).unwrap()
}

fn number(row: &Value, member: &str) -> u16 {
    u16::try_from(row[member].as_u64().unwrap()).unwrap()
}

fn variables(row: &Value) -> AddressCvs {
    let byte = |member| u8::try_from(number(row, member)).unwrap();
    AddressCvs { cv1: byte("CV1"), cv9: byte("CV9") }
}

#[test]
fn boards_have_the_variables_of_the_table() {
    let rows = cv()["decoder_address_method"].as_array().unwrap().clone();
    assert_eq!(rows.len(), 24);
    for row in rows {
        let board = Board::new(number(&row, "board")).unwrap();
        assert_eq!(AddressCvs::of_board(board), variables(&row), "{row}");
        let first = variables(&row).first(AddressMethod::Decoder).unwrap();
        assert_eq!((first.board(), first.output()), (board.number(), 0), "{row}");
        if row["first_user_of_board"].is_u64() {
            let user = UserAddress::new(number(&row, "first_user_of_board")).unwrap();
            assert_eq!(first.user(Scheme::Linear), user, "{row}");
        }
    }
}

#[test]
fn outputs_have_the_variables_of_the_table_in_both_readings() {
    let rows = cv()["output_address_method"].as_array().unwrap().clone();
    assert_eq!(rows.len(), 17);
    for row in rows {
        let user = UserAddress::new(number(&row, "user_address")).unwrap();
        assert_eq!(AddressCvs::of_output(user), variables(&row), "{row}");
        for (reading, member) in
            [(OutputReading::Linear, "B_linear"), (OutputReading::Literal, "B_literal_S922")]
        {
            let first = variables(&row).first(AddressMethod::Output(reading)).map(BinaryAddress::bits);
            assert_eq!(first, Some(number(&row, member)), "{row}");
        }
    }
}

/// The sentence of S-9.2.2 that makes the linear reading the usual one: CV 1 = 1, CV 9 = 0 mean the same in both methods.
#[test]
fn the_default_value_is_the_same_packets_in_both_methods() {
    let default = AddressCvs { cv1: 1, cv9: 0 };
    let linear = default.first(AddressMethod::Output(OutputReading::Linear));
    assert_eq!(linear, default.first(AddressMethod::Decoder));
    assert_ne!(linear, default.first(AddressMethod::Output(OutputReading::Literal)));
}

#[test]
fn variables_that_are_no_address_are_told() {
    for (cv1, cv9) in [(64, 0), (0, 8), (255, 255)] {
        assert_eq!(AddressCvs { cv1, cv9 }.first(AddressMethod::Decoder), None);
    }
    for (cv1, cv9) in [(0, 0), (1, 8)] {
        assert_eq!(AddressCvs { cv1, cv9 }.first(AddressMethod::Output(OutputReading::Linear)), None);
    }
}

#[test]
fn configurations_have_the_values_of_the_table() {
    let rows = cv()["cv29_values"].as_array().unwrap().clone();
    assert_eq!(rows.len(), 6);
    for row in rows {
        let means = row["meaning"].as_str().unwrap();
        let configuration = AccessoryConfiguration {
            feedback: means.contains("feedback enabled"),
            extended: means.starts_with("extended"),
            outputs: means.contains("output address"),
        };
        let value = u8::try_from(number(&row, "value")).unwrap();
        assert_eq!(
            (configuration.value(), AccessoryConfiguration::of_value(value)),
            (value, Some(configuration))
        );
    }
    assert_eq!(AccessoryConfiguration::of_value(0x7F), None);
}
