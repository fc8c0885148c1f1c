//! Captures as text: value change dumps and rows of many kinds, whole and in pieces.
//!
//! # Source
//! `reference/dcc/captures/simple.*`, written by another program; IEEE 1364-2001, clause 18, from memory, for the other dumps.

use packet::{Change, CsvReader, Half, Ns, Read, ReadFault, Receiver, Spread, TimeUnit, Timing, VcdReader};
use std::fmt::Write as _;

#[derive(Debug, Default, PartialEq, Eq)]
struct Text {
    changes: Vec<(Ns, usize, bool)>,
    faults: Vec<(u64, ReadFault)>,
    names: Vec<String>,
    resolution: Ns,
    end: Ns,
}

impl Text {
    fn take(&mut self, read: Read) {
        match read {
            Read::Change(Change { at, channel, level }) => self.changes.push((at, channel, level)),
            Read::Fault { row, what } => self.faults.push((row, what)),
        }
    }
}

fn vcd(text: &[u8], piece: usize) -> Text {
    let mut reader = VcdReader::new();
    let mut read = Text::default();
    for part in text.chunks(piece) {
        reader.feed(part, &mut |found| read.take(found));
    }
    reader.finish(&mut |found| read.take(found));
    read.names = reader.channels().iter().map(|name| name.as_str().to_owned()).collect();
    (read.resolution, read.end) = (reader.resolution(), reader.at());
    read
}

fn csv(text: &[u8], unit: Option<TimeUnit>, piece: usize) -> Text {
    let mut reader = CsvReader::new(unit);
    let mut read = Text::default();
    for part in text.chunks(piece) {
        reader.feed(part, &mut |found| read.take(found));
    }
    reader.finish(&mut |found| read.take(found));
    read.names = reader.channels().iter().map(|name| name.as_str().to_owned()).collect();
    (read.resolution, read.end) = (reader.resolution(), reader.at());
    read
}

const SIMPLE_VCD: &[u8] = include_bytes!("../../../../reference/dcc/captures/simple.vcd");
const SIMPLE_CSV: &[u8] = include_bytes!("../../../../reference/dcc/captures/simple.csv");

#[test]
fn both_forms_of_the_reference_capture_are_one_signal() {
    let (dump, rows) = (vcd(SIMPLE_VCD, 1 << 20), csv(SIMPLE_CSV, None, 1 << 20));
    assert_eq!(dump.faults, []);
    // 2,178 edges, and the level that it begins with.
    assert_eq!((dump.changes.len(), dump.end, dump.resolution), (2_179, 152_671_000, 1_000));
    assert_eq!(rows.changes, dump.changes);
    assert_eq!((dump.names, rows.names), (vec!["dcc".to_owned()], vec!["dcc".to_owned()]));
    assert_eq!((rows.faults, rows.end, rows.resolution), (vec![], 152_471_000, 100));
}

#[test]
fn a_file_in_pieces_reads_as_a_file_in_one() {
    for piece in [1, 2, 3, 7, 64, 4_095] {
        assert_eq!(vcd(SIMPLE_VCD, piece), vcd(SIMPLE_VCD, usize::MAX), "{piece}");
        assert_eq!(csv(SIMPLE_CSV, None, piece), csv(SIMPLE_CSV, None, usize::MAX), "{piece}");
    }
}

#[test]
fn dumps_of_other_shapes_are_read() {
    let text = b"$date a $end $comment #5 0! $end\n$timescale\n 10 ps\n$end $scope module m $end \
        $var wire 1 ab clk $end $var wire 8 # bus [7:0] $end $var real 1 r temp $end $var reg 1 % b $end \
        $var wire 1 ab again $end $upscope $end $enddefinitions $end\n\
        $dumpvars 0ab x% b00000000 # r1.5 r $end #100 1ab b1 % #250 zab bxxxxxxxx # 1ab 0ab #300 b0 %\n";
    let read = vcd(text, 5);
    assert_eq!(read.faults, []);
    assert_eq!(read.names, ["clk", "b"]);
    assert_eq!(
        read.changes,
        [(0, 0, false), (1, 0, true), (1, 1, true), (3, 0, false), (3, 1, false)],
        "a step is 10 ps, and 2.5 ns are rounded up"
    );
}

#[test]
fn what_is_wrong_in_a_dump_is_told_with_its_row() {
    let head = "$timescale 1 us $end $var wire 1 ! d $end $enddefinitions $end\n";
    let faults = |text: &str| vcd(format!("{head}{text}").as_bytes(), 9).faults;
    assert_eq!(faults("#0 0!\n#5 1!\n#4 0!\n"), [(4, ReadFault::TimeBack)]);
    assert_eq!(faults("#0 0!\n#x 1!\n"), [(3, ReadFault::Word)]);
    assert_eq!(faults("#0 0!\n#\n"), [(3, ReadFault::Word)]);
    assert_eq!(faults("nonsense\n"), [(2, ReadFault::Word)]);
    assert_eq!(vcd(b"$var wire 8 ! bus $end\n", 9).faults, [(2, ReadFault::NoChannel)]);
    assert_eq!(vcd(b"$timescale 3 us $end $var wire 1 ! d $end", 9).faults, [(1, ReadFault::Word)]);
    let mut many = String::new();
    for index in 0..70 {
        write!(many, "$var wire 1 n{index} n{index} $end ").unwrap();
    }
    let read = vcd(many.as_bytes(), 9);
    assert_eq!((read.names.len(), read.faults.len()), (64, 6));
    let long = format!("{head}#0 b{} ! #1 1! #2 {}\n", "0".repeat(300), "1".repeat(300));
    assert_eq!(vcd(long.as_bytes(), 11).changes, [(1_000, 0, true)]);
}

/// Headings as programs of many kinds write them, each with the same edge of 58 µs.
#[test]
fn rows_are_read_by_their_headings() {
    let edge = [(0, 0, false), (58_000, 0, true)];
    for text in [
        "time_us,dcc\n0,0\n58,1\n",
        "Time [s],Channel 0\n0.000000000,0\n0.000058000,1\n",
        "\"Time (ms)\",\"D0\"\r\n0,0\r\n0.058,1\r\n",
        "Time[ns]\tD0\n0\t0\n58000\t1\n",
        "Zeit;time in µs;rail\n\n0;0,0;0\n1;58,0;1\n",
        "# made by a program\n; and a comment\nTime,Level\n0,low\n5.8e-5,HIGH\n",
        "A title of the file\nTimestamp (microseconds), D0\n 0 , 0\n 58 , 1\n",
        "\u{FEFF}seconds,level\n-0.000100,0\n-0.000042,1\n",
        "0,0\n0.000058,1\n",
        "level,t (us)\n0,0\n1,58\n",
    ] {
        let read = csv(text.as_bytes(), None, 7);
        let channel = usize::from(text.starts_with("Zeit"));
        let changes: Vec<_> = read
            .changes
            .into_iter()
            .filter(|change| change.1 == channel)
            .map(|(at, _, level)| (at, 0, level))
            .collect();
        assert_eq!(changes, edge, "{text}");
        assert_eq!(read.faults, [], "{text}");
    }
    let samples = csv(b"Sample,D0\n0,0\n58,1\n", Some(TimeUnit::Samples(1_000)), 7);
    assert_eq!(samples.changes, edge);
    let told = csv(b"Time,D0\n0,0\n58,1\n", Some(TimeUnit::Us), 7);
    assert_eq!(told.changes, edge);
}

/// Volts of the rails, with noise at either level and on the way between.
#[test]
fn volts_become_levels_with_room_for_noise() {
    let mut text = "Time (us),Volts\n".to_owned();
    let volts =
        [-14.8, -15.1, -14.9, -3.0, 1.0, 0.5, -0.5, 0.8, 12.0, 15.0, 14.9, 0.4, -0.4, 0.2, -14.0, -15.0];
    for (index, volt) in volts.iter().enumerate() {
        writeln!(text, "{index},{volt}").unwrap();
    }
    let levels: Vec<bool> = csv(text.as_bytes(), None, 100).changes.iter().map(|change| change.2).collect();
    assert_eq!(levels, [true, false]);
}

#[test]
fn what_is_wrong_in_rows_is_told_with_its_row() {
    let faults = |text: &str| csv(text.as_bytes(), None, 9).faults;
    assert_eq!(
        faults("time_us,d\n0,0\nnoise,1\n5,1\n4,0\n"),
        [(3, ReadFault::Word), (5, ReadFault::TimeBack)]
    );
    assert_eq!(faults("a,b\nc,d\n"), [(3, ReadFault::NoTime)]);
    assert_eq!(faults(""), [(1, ReadFault::NoTime)]);
    assert_eq!(faults("time_us\n0\n"), [(3, ReadFault::NoChannel)]);
    assert_eq!(faults(&format!("time_us,d\n0,0\n{}\n58,1\n", "7".repeat(5_000))), [(3, ReadFault::Long)]);
    assert_eq!(
        faults("time_us,d\n99999999999999999999,0\n1e300,1\n"),
        [(2, ReadFault::Word), (3, ReadFault::Word)]
    );
    let many = format!("time_us{}\n", ",d".repeat(70));
    assert_eq!(faults(&many), [(1, ReadFault::ManyChannels)]);
}

/// By hand: 1, 2, 3 and 10 have 2.5 in their middle.
#[test]
fn the_middle_of_what_was_counted_is_known() {
    let mut timing = Timing::new();
    assert_eq!((timing.one(), timing.zero(), timing.preambles()), (None, None, None));
    for us in [58, 57, 59, 58, 64] {
        timing.half(us * 1_000);
    }
    for us in [100, 700, 99, 9_900, 80, 70_000] {
        timing.half(us * 1_000);
    }
    for bits in [3, 1, 10, 2] {
        timing.preamble(bits);
    }
    assert_eq!(timing.one(), Some(Spread { min: 57_000, median: 58_000, max: 64_000 }));
    let zero = timing.zero().unwrap();
    assert_eq!((zero.min, zero.max), (99_000, 9_900_000));
    assert!(zero.median.abs_diff(400_000) <= 5_000, "past 400 µs a step is 10 µs: {zero:?}");
    assert_eq!(timing.preambles(), Some(Spread { min: 1, median: 2, max: 10 }));
    assert_eq!(Half::taken(80_000), Half::Neither);
}

/// What an edge costs in space: nothing, so that a file of any length is read in the same.
#[test]
fn readers_are_of_one_size() {
    for size in [size_of::<Receiver>(), size_of::<VcdReader>(), size_of::<CsvReader>(), size_of::<Timing>()] {
        assert!(size < 64 << 10, "{size}");
    }
}
