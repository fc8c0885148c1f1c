//! Event identifiers of the layout bus, and its frames as text.
//!
//! # Source
//! `reference/dcc/lcc.json`: LCC S-9.7.0.4 (July 2024), sections 5.2 and 5.3; TN-9.7.0.4, sections 2.5.3.3 and 2.5.3.6;
//! frames printed in technical notes (CC BY-SA 4.0; whose they are stands in the file).

use packet::{
    Alias, BasicEvent, BinaryAddress, CanFrame, Direction, EventId, EventMeaning, EventMessage, FrameFault,
    FrameRead, FrameReader, NormalIs, Position,
};
use proptest::prelude::*;
use serde_json::Value;

fn lcc() -> Value {
    serde_json::from_str(include_str!("../../../../reference/dcc/lcc.json")).unwrap()
}

fn address(row: &Value) -> BinaryAddress {
    BinaryAddress::new(u16::try_from(row["B"].as_u64().unwrap()).unwrap()).unwrap()
}

#[test]
fn every_basic_event_has_its_identifier() {
    let lcc = lcc();
    let rows = lcc["basic_events"].as_array().unwrap();
    assert_eq!(rows.len(), 72);
    for row in rows {
        let position = if row["position"] == "normal" { Position::Normal } else { Position::Reverse };
        let direction = Direction::of(position, NormalIs::One);
        for (name, event) in [
            ("activate", BasicEvent::Activate),
            ("deactivate", BasicEvent::Deactivate),
            ("feedback_active", BasicEvent::FeedbackActive),
            ("feedback_inactive", BasicEvent::FeedbackInactive),
        ] {
            let meaning = EventMeaning::Basic { address: address(row), direction, event };
            let id = row[name].as_str().unwrap();
            assert_eq!(meaning.id().to_string(), id, "{row}");
            assert_eq!(EventId::read(id).unwrap().meaning(), Some(meaning), "{row}");
        }
    }
}

#[test]
fn every_aspect_has_its_identifier() {
    let lcc = lcc();
    let rows = lcc["extended_events"].as_array().unwrap();
    assert_eq!(rows.len(), 28);
    for row in rows {
        let aspect = u8::try_from(row["data"].as_u64().unwrap()).unwrap();
        let meaning = EventMeaning::Extended { address: address(row), aspect };
        let id = row["event"].as_str().unwrap();
        assert_eq!(meaning.id().to_string(), id, "{row}");
        assert_eq!(EventId::read(id).unwrap().meaning(), Some(meaning), "{row}");
    }
}

fn frames(text: &str) -> Vec<FrameRead> {
    let mut read = Vec::new();
    FrameReader::new().feed(text.as_bytes(), &mut |found| read.push(found));
    read
}

fn frame(text: &str) -> CanFrame {
    match frames(text)[..] {
        [FrameRead::Frame(frame)] => frame,
        ref other => panic!("{text}: {other:?}"),
    }
}

#[test]
fn every_frame_is_read_and_written_as_it_is_printed() {
    let lcc = lcc();
    let mut all = String::new();
    let mut count = 0;
    for list in [
        "frames_verbatim_from_technical_note",
        "frames",
        "alias_reservation_example_node_12.34.56.78.9A.BC_alias_FED",
    ] {
        for row in lcc[list].as_array().unwrap() {
            let text = row["frame"].as_str().unwrap();
            assert_eq!(frame(text).to_string(), text);
            assert_eq!(frame(&text.to_lowercase()).to_string(), text);
            all += text;
            all += "\r\n";
            count += 1;
        }
    }
    assert_eq!((count, frames(&all).len()), (31, 31));
}

/// The meanings stand in the file in words; the frames for them are made here.
#[test]
fn event_messages_become_the_frames_of_the_file() {
    let lcc = lcc();
    let alias = Alias::new(0x3CC).unwrap();
    let user = |number: u16| packet::UserAddress::new(number).unwrap().binary(packet::Scheme::Linear);
    let basic =
        |number, direction, event| EventMeaning::Basic { address: user(number), direction, event }.id();
    let (one, zero) = (Direction::One, Direction::Zero);
    let (on, known) = (BasicEvent::Activate, BasicEvent::FeedbackActive);
    let all = |event| {
        EventMeaning::Basic { address: BinaryAddress::new(0).unwrap(), direction: zero, event }.id().range(12)
    };
    let expected = [
        (EventMessage::Report, basic(1, one, on)),
        (EventMessage::Report, basic(1, zero, on)),
        (EventMessage::Report, basic(253, one, on)),
        (EventMessage::Report, EventMeaning::Extended { address: user(1), aspect: 5 }.id()),
        (EventMessage::IdentifyProducer, basic(1, one, known)),
        (EventMessage::IdentifyConsumer, basic(1, one, on)),
        (EventMessage::ProducerValid, basic(1, one, known)),
        (EventMessage::ProducerInvalid, basic(1, one, known)),
        (EventMessage::ProducerUnknown, basic(1, one, known)),
        (EventMessage::ConsumerValid, basic(1, one, on)),
        (EventMessage::ConsumerUnknown, basic(1, one, on)),
        (EventMessage::ConsumerRange, all(on)),
        (EventMessage::ProducerRange, all(known)),
        (
            EventMessage::ConsumerRange,
            EventMeaning::Extended { address: BinaryAddress::new(0).unwrap(), aspect: 0 }.id().range(19),
        ),
        (EventMessage::Report, EventMeaning::EmergencyOff.id()),
        (EventMessage::Report, EventMeaning::ClearEmergencyOff.id()),
        (EventMessage::Report, EventMeaning::EmergencyStop.id()),
        (EventMessage::Report, EventMeaning::ClearEmergencyStop.id()),
    ];
    let rows = lcc["frames"].as_array().unwrap();
    assert_eq!(rows.len(), expected.len());
    for (row, (message, event)) in rows.iter().zip(expected) {
        let made = message.frame(alias, event);
        assert_eq!(made.to_string(), row["frame"].as_str().unwrap(), "{}", row["meaning"]);
        assert_eq!(EventMessage::read(&made), Some((message, alias, event)));
    }
    for row in lcc["frames_verbatim_from_technical_note"].as_array().unwrap() {
        assert_eq!(EventMessage::read(&frame(row["frame"].as_str().unwrap())), None, "{row}");
    }
}

/// # Source
/// The file's rules for sensors: FB and FA before twelve bits. Alias 000 is not allowed: S-9.7.2.1, section 6.3.
#[test]
fn sensors_and_other_events_are_told_apart() {
    for (number, active, id) in
        [(5, true, "01.01.02.00.00.FB.00.05"), (0xFFF, false, "01.01.02.00.00.FA.0F.FF")]
    {
        let meaning = EventMeaning::Sensor { number, active };
        assert_eq!(meaning.id().to_string(), id);
        assert_eq!(EventId::read(id).unwrap().meaning(), Some(meaning));
    }
    for id in [
        "01.01.02.00.00.FF.10.00",
        "01.01.02.00.01.08.00.00",
        "02.01.02.00.00.FF.00.09",
        "01.00.00.00.00.00.FF.00",
    ] {
        assert_eq!(EventId::read(id).unwrap().meaning(), None, "{id}");
    }
    for text in [
        "",
        "01.01.02.00.00.FF.00",
        "01.01.02.00.00.FF.00.09.00",
        "1.1.2.0.0.FF.0.9",
        "01.01.02.00.00.FF.00.+9",
        "01-01",
    ] {
        assert_eq!(EventId::read(text), None, "{text}");
    }
    assert_eq!([0, 0x1000].map(Alias::new), [None, None]);
}

#[test]
fn what_is_no_frame_is_told_and_the_next_one_is_read() {
    for (text, fault) in [
        // Printed so in a technical note: its semicolon is missing.
        (":X19A283CCN04AA00", FrameFault::Unended),
        (":S123N00;", FrameFault::Letter(b'S')),
        (":X195B43CN00;", FrameFault::Header),
        (":X195B43CCC", FrameFault::Header),
        (":XF95B43CCN;", FrameFault::Header),
        (":X195B43CCN0;", FrameFault::HalfByte),
        (":X195B43CCN010203040506070809;", FrameFault::Long),
        (":X195B4 3CCN;", FrameFault::Letter(b' ')),
        (":X195B43CCN0G;", FrameFault::Letter(b'G')),
    ] {
        let read = frames(&format!("{text}:X171A24AAN;"));
        assert_eq!(read.first(), Some(&FrameRead::Fault(fault)), "{text}");
        assert_eq!(read.last(), Some(&FrameRead::Frame(frame(":X171A24AAN;"))), "{text}");
    }
    assert_eq!(CanFrame::new(0x2000_0000, &[]), None);
    assert_eq!(CanFrame::new(0, &[0; 9]), None);
}

proptest! {
    #[test]
    fn prop_frames_come_back(header in 0u32..=CanFrame::HEADER_MAX, data in prop::collection::vec(any::<u8>(), 0..=8), noise in "[^:]{0,20}") {
        let made = CanFrame::new(header, &data).unwrap();
        prop_assert_eq!(frames(&format!("{noise}{made}{noise}{made}")), vec![FrameRead::Frame(made); 2]);
    }

    #[test]
    fn prop_events_come_back(bytes in any::<[u8; 8]>()) {
        let id = EventId(bytes);
        prop_assert_eq!(EventId::read(&id.to_string()), Some(id));
        if let Some(meaning) = id.meaning() {
            prop_assert_eq!(meaning.id(), id);
        }
    }
}
