//! What must hold for any input: nothing panics, nothing hangs, and what comes back is what went in.
//!
//! Each function is a fuzz target, run by `fuzz_targets/` under the fuzzer, and by `crates/packet/tests/it/corpus.rs` as an
//! ordinary test on everything in `corpus/`.

use packet::{
    Bits, Bytes, CsvReader, Decoded, Event, EventId, EventMessage, Forms, FrameRead, FrameReader, Kind, Ns,
    Packet, Preamble, Read, Receiver, Recipient, Seen, TimeUnit, VcdReader, Warning, Watch,
};

/// Bytes of a packet: a kind, a form for each byte, and the same bytes again where it may be sent.
pub(crate) fn bytes(data: &[u8]) {
    let Some(bytes) = Bytes::received(data) else { return };
    for seen in [Seen::Main, Seen::Programming] {
        let decoded = Decoded::new(bytes, seen);
        assert!(!decoded.kind.name().is_empty());
        assert!(
            Recipient::of(decoded.kind).meets(Recipient::All)
                == (Recipient::of(decoded.kind) != Recipient::Nobody)
        );
        let forms = Forms::of(&decoded);
        assert_eq!(forms.as_slice().len(), data.len());
        assert!(forms.as_slice().iter().all(|form| form.len() == 8));
        let again = match decoded.kind {
            Kind::Idle => Packet::Idle,
            Kind::Reset => Packet::Reset,
            Kind::LocoStop(stop) => Packet::LocoStop(stop),
            Kind::Basic(basic) => Packet::Basic(basic),
            Kind::Extended(extended) => Packet::Extended(extended),
            Kind::AccessoryCv(access) => Packet::Cv(access),
            Kind::LegacyCv { .. }
            | Kind::AccessoryNothing(_)
            | Kind::AccessoryReserved(_)
            | Kind::MultiFunction { .. }
            | Kind::ServiceDirect { .. }
            | Kind::ServiceRegister { .. }
            | Kind::Reserved => continue,
        };
        assert_eq!(again.encode().payload(), bytes.payload());
        assert!(again.encode().checksum_ok());
        assert_ne!(decoded.warning(), Some(Warning::LegacyCvWrite));
    }
    assert!(Bits::new(bytes, Preamble::STANDARD).count() == 14 + data.len() * 9 + 1);
}

/// Edges: two bytes are one half bit, in steps of 0.1 µs, now and then much longer.
pub(crate) fn signal(data: &[u8]) {
    let mut receiver = Receiver::new(0);
    let mut watch = Watch::new();
    let (mut at, mut level): (Ns, bool) = (0, false);
    let mut last = 0;
    let mut hear = |event: Event| match event {
        Event::Packet(packet) => {
            assert!(packet.preamble >= 10 && packet.start_bit < packet.ended && packet.start_bit >= last);
            last = packet.ended;
            watch.packet(&packet, &mut |_, _| {});
        }
        Event::Fault { .. } => {}
    };
    for pair in data.chunks(2) {
        let steps = pair.iter().fold(0, |steps, byte| steps << 8 | Ns::from(*byte));
        at += if steps > 0xFF00 { steps * 1_000_000 } else { steps * 100 };
        level = !level;
        receiver.edge(at, level, &mut hear);
    }
    receiver.finish(at + 60_000, &mut hear);
    watch.finish(&mut |_, _| {});
}

/// What a new reader makes of the data when it gets it in two pieces, and the channels it names. The two readers share their calls
/// and no trait, which nothing but this would use.
macro_rules! in_two {
    ($reader:expr, $data:expr) => {
        |cut: usize| {
            let mut reader = $reader;
            let mut found = Vec::new();
            let (first, second) = $data.split_at(cut.min($data.len()));
            reader.feed(first, &mut |read| found.push(read));
            reader.feed(second, &mut |read| found.push(read));
            reader.finish(&mut |read| found.push(read));
            let names: Vec<String> = reader.channels().iter().map(|name| name.as_str().to_owned()).collect();
            (found, names)
        }
    };
}

/// A value change dump, whole and in two pieces: the same comes out, and times never go backward.
pub(crate) fn dump(data: &[u8]) {
    compare(data, in_two!(VcdReader::new(), data));
}

/// Rows of times and levels, likewise.
pub(crate) fn rows(data: &[u8]) {
    for unit in [None, Some(TimeUnit::Samples(1_000))] {
        compare(data, in_two!(CsvReader::new(unit), data));
    }
}

fn compare(data: &[u8], read: impl Fn(usize) -> (Vec<Read>, Vec<String>)) {
    let whole = read(data.len());
    let cut = data.first().map_or(0, |byte| usize::from(*byte));
    assert_eq!(whole, read(cut));
    let mut receiver = Receiver::new(0);
    let mut before = 0;
    for found in &whole.0 {
        if let Read::Change(change) = found {
            assert!(change.at >= before && change.channel < whole.1.len().max(1));
            before = change.at;
            receiver.edge(change.at, change.level, &mut |_| {});
        }
    }
}

/// Frames of the layout bus: what is read is written as it was, in capitals.
pub(crate) fn frames(data: &[u8]) {
    let mut read = Vec::new();
    FrameReader::new().feed(data, &mut |found| read.push(found));
    for found in read {
        if let FrameRead::Frame(frame) = found {
            let text = frame.to_string();
            let mut again = Vec::new();
            FrameReader::new().feed(text.as_bytes(), &mut |found| again.push(found));
            assert_eq!(again, [FrameRead::Frame(frame)]);
            if let Some((message, alias, event)) = EventMessage::read(&frame) {
                assert_eq!(message.frame(alias, event), frame);
            }
        }
    }
    if let Ok(bytes) = data.try_into() {
        let event = EventId(bytes);
        assert!(event.meaning().is_none_or(|meaning| meaning.id() == event));
    }
}
