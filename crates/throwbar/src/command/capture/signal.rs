//! Which channel of a capture is the signal on the rails, and reading it.

use super::HalfBit;
use super::source::{Go, Source};
use crate::failure::Failure;
use ::packet::{
    CHANNELS_MAX, Change, ChannelName, CsvReader, Event, Half, Ns, Read, ReadFault, Receiver, TimeUnit,
    VcdReader,
};

use std::cell::Cell;

/// As many good packets on one channel are enough to know it.
const ENOUGH: u64 = 8;

/// What was chosen.
pub(super) struct Chosen {
    form: Form,
    channel: usize,
    /// The name of the channel.
    pub(super) name: String,
    /// How many channels there are.
    pub(super) channels: usize,
    /// How far its times may be off.
    resolution: Ns,
}

#[derive(Clone, Copy)]
enum Form {
    Dump,
    Rows(Option<TimeUnit>),
}

/// What is told of a signal while it is read.
pub(super) trait Listener {
    fn half(&mut self, half: HalfBit);
    fn event(&mut self, event: Event);
    fn fault(&mut self, at: Ns, row: u64, what: ReadFault);
    /// Whether anybody still listens.
    fn listens(&self) -> bool;
}

enum Reader {
    Dump(Box<VcdReader>),
    Rows(Box<CsvReader>),
}

impl Reader {
    fn new(form: Form) -> Self {
        match form {
            Form::Dump => Self::Dump(Box::default()),
            Form::Rows(unit) => Self::Rows(Box::new(CsvReader::new(unit))),
        }
    }

    fn feed(&mut self, piece: &[u8], to: &mut impl FnMut(Read)) {
        match self {
            Self::Dump(reader) => reader.feed(piece, to),
            Self::Rows(reader) => reader.feed(piece, to),
        }
    }

    fn finish(&mut self, to: &mut impl FnMut(Read)) {
        match self {
            Self::Dump(reader) => reader.finish(to),
            Self::Rows(reader) => reader.finish(to),
        }
    }

    fn channels(&self) -> &[ChannelName] {
        match self {
            Self::Dump(reader) => reader.channels(),
            Self::Rows(reader) => reader.channels(),
        }
    }

    fn at(&self) -> Ns {
        match self {
            Self::Dump(reader) => reader.at(),
            Self::Rows(reader) => reader.at(),
        }
    }

    fn resolution(&self) -> Ns {
        match self {
            Self::Dump(reader) => reader.resolution(),
            Self::Rows(reader) => reader.resolution(),
        }
    }

    fn unit_told(&self) -> bool {
        match self {
            Self::Dump(_) => true,
            Self::Rows(reader) => reader.unit_told(),
        }
    }
}

/// How much of a signal each channel is.
#[derive(Clone)]
struct Tried {
    receiver: Receiver,
    last: Option<Ns>,
    halves: u64,
    packets: u64,
}

struct Trial {
    tried: Vec<Tried>,
    names: Vec<String>,
    unit_told: bool,
    resolution: Ns,
    /// No column holds times, or no channel is named.
    unusable: Option<ReadFault>,
}

impl Trial {
    /// The number of the best channel, counted from 0: the first of those with the most packets.
    fn best(&self) -> Option<(usize, &Tried)> {
        let channels = self.tried.iter().enumerate().take(self.names.len());
        channels.rev().max_by_key(|(_, tried)| (tried.packets, tried.halves))
    }
}

/// Finds the form of a capture and its signal.
pub(super) fn choose(
    source: &Source,
    unit: Option<TimeUnit>,
    wanted: Option<&str>,
) -> Result<Chosen, Failure> {
    let mut form = if source.is_dump()? { Form::Dump } else { Form::Rows(unit) };
    let mut trial = tried(source, form)?;
    if let Some(fault) = trial.unusable {
        return Err(Failure::NoSignal(super::report::read_words(fault).to_owned()));
    }
    if !trial.unit_told && trial.best().is_none_or(|(_, best)| best.packets == 0) {
        // Times of an unknown unit: the one in which there are packets.
        for unit in [TimeUnit::Us, TimeUnit::Ms, TimeUnit::Ns] {
            let other = tried(source, Form::Rows(Some(unit)))?;
            if other.best().is_some_and(|(_, best)| best.packets > 0) {
                (form, trial) = (Form::Rows(Some(unit)), other);
                break;
            }
        }
    }
    let channel = match wanted {
        Some(wanted) => named(&trial.names, wanted)?,
        None => trial.best().map_or(0, |(channel, _)| channel),
    };
    let name = trial.names.get(channel).cloned().unwrap_or_default();
    Ok(Chosen { form, channel, name, channels: trial.names.len(), resolution: trial.resolution })
}

/// The channel of a name, or of a number counted from 1.
fn named(names: &[String], wanted: &str) -> Result<usize, Failure> {
    let by_name = names.iter().position(|name| name == wanted);
    let by_number = || wanted.parse::<usize>().ok()?.checked_sub(1).filter(|index| *index < names.len());
    by_name.or_else(by_number).ok_or_else(|| {
        let known: Vec<&str> = names.iter().map(String::as_str).filter(|name| !name.is_empty()).collect();
        let hint = match notice::nearest(wanted, known.iter().copied()) {
            Some(near) => format!("; did you mean `{near}`?"),
            None if known.is_empty() => format!("; its channels are 1 to {}", names.len()),
            None => format!("; its channels are {}", known.join(", ")),
        };
        Failure::NoSignal(format!("the capture has no channel `{wanted}`{hint}"))
    })
}

/// Reads until the signal is known, as if every channel were it.
fn tried(source: &Source, form: Form) -> Result<Trial, Failure> {
    let fresh = Tried { receiver: Receiver::new(0), last: None, halves: 0, packets: 0 };
    let mut all = vec![fresh; CHANNELS_MAX];
    let mut reader = Reader::new(form);
    let mut unusable = None;
    let most = Cell::new(0);
    let mut take = |read: Read| match read {
        Read::Change(Change { at, channel, level }) => {
            if let Some(tried) = all.get_mut(channel) {
                let length = tried.last.map_or(0, |last| at - last);
                tried.halves += u64::from(Half::taken(length) != Half::Neither);
                tried.last = Some(at);
                let packets = &mut tried.packets;
                tried.receiver.edge(at, level, &mut |event| {
                    let good = matches!(event, Event::Packet(packet) if packet.bytes.checksum_ok());
                    *packets += u64::from(good);
                });
                most.set(most.get().max(*packets));
            }
        }
        Read::Fault { what: what @ (ReadFault::NoTime | ReadFault::NoChannel), .. } => unusable = Some(what),
        Read::Fault { .. } => {}
    };
    source.look(&mut |piece| {
        reader.feed(piece, &mut take);
        if most.get() < ENOUGH { Go::On } else { Go::Enough }
    })?;
    reader.finish(&mut take);
    let names = reader.channels().iter().map(|name| name.as_str().to_owned()).collect();
    let (unit_told, resolution) = (reader.unit_told(), reader.resolution());
    Ok(Trial { tried: all, names, unit_told, resolution, unusable })
}

/// Reads the signal from its beginning to its end.
pub(super) fn read<L: Listener>(source: &Source, chosen: &Chosen, to: &mut L) -> Result<(), Failure> {
    let mut reader = Reader::new(chosen.form);
    let mut receiver = Receiver::new(chosen.resolution);
    let mut began: Option<Ns> = None;
    let mut now = 0;
    let mut take = |read: Read, to: &mut L| match read {
        Read::Change(Change { at, channel, level }) if channel == chosen.channel => {
            now = at;
            if let Some(began) = began {
                to.half(HalfBit { began, length: at - began, high: !level });
            }
            began = Some(at);
            receiver.edge(at, level, &mut |event| to.event(event));
        }
        Read::Change(_) => {}
        Read::Fault { row, what } => to.fault(now, row, what),
    };
    let done = source.whole(&mut |piece| {
        reader.feed(piece, &mut |read| take(read, to));
        if to.listens() { Go::On } else { Go::Enough }
    });
    reader.finish(&mut |read| take(read, to));
    receiver.finish(reader.at(), &mut |event| to.event(event));
    done
}
