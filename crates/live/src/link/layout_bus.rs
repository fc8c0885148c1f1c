//! A node on the open layout bus, without its socket: text comes in and goes out, time is an input.
//!
//! The node reserves an alias, says that it is there, names the events that it produces (a throw of each of its addresses
//! either way) and those it acts on (what is known of them), answers whoever asks for these, and from then on turns throws into
//! event reports and event reports into [`Heard`]. When another node uses its alias it gives it up and takes another.
//!
//! ```text
//! connected ─▶ 4 check-id frames ─▶ 200 ms ─▶ reserve, alias map definition ─▶ initialization complete ─▶ events named ─▶ at work
//!                    ▲ the alias is in use                                                                        │
//!                    └────────────────────────────────────────────────────────────────────────────────────────────┘
//! ```
//!
//! # Source
//! LCC S-9.7.2.1 (frame transfer), section 6, for aliases; S-9.7.3 (message network), section 3.3.1, for what a node says
//! first; S-9.7.3.1 (event transport), section 6, for events. The numbers of frames and messages that the technical notes print in examples are
//! held to them in tests; the others, the codes of refusals and the way aliases are drawn are from memory of those standards, and say so.

use packet::{
    Alias, BasicEvent, BinaryAddress, CanFrame, Direction, EventId, EventMeaning, EventMessage, FrameRead,
    FrameReader,
};
use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::{Moment, Wait};

/// How long nobody may object to an alias before it is reserved: S-9.7.2.1, section 6.2.1.
const OBJECTIONS: Wait = Wait(200);

/// The most frames that wait for the socket; past it the link is too slow to be of use and is closed.
const FRAMES_WAITING_MAX: usize = 4_096;

/// Bits 27 to 24: a control frame, and a message that is for all or names its node.
const CONTROL: u32 = 0;
const MESSAGE: u32 = 9;

// Control frames, S-9.7.2.1: the variable field above the alias. Reserve and check-id stand in the technical notes' examples.
const RESERVE: u32 = 0x0700;
const MAP_DEFINITION: u32 = 0x0701;
const MAP_ENQUIRY: u32 = 0x0702;
const MAP_RESET: u32 = 0x0703;

// Messages, S-9.7.3 and S-9.7.3.1. From memory but for initialization complete and protocol support.
const INITIALIZATION_COMPLETE: u32 = 0x100;
const VERIFIED: u32 = 0x170;
const VERIFY: u32 = 0x490;
const VERIFY_ONE: u32 = 0x488;
const SUPPORT_INQUIRY: u32 = 0x828;
const SUPPORT_REPLY: u32 = 0x668;
const REJECTED: u32 = 0x068;
const IDENTIFY_EVENTS: u32 = 0x970;
const IDENTIFY_EVENTS_ONE: u32 = 0x968;

/// Of a message: that it names the node it is for in its first two bytes.
const ADDRESSED: u32 = 0x008;

/// Protocols supported: events (from memory of S-9.7.3, protocol support reply).
const SUPPORTS_EVENTS: [u8; 6] = [0x04, 0, 0, 0, 0, 0];

/// Why a message was rejected: not implemented, message not known; for good (from memory).
const NOT_IMPLEMENTED: [u8; 2] = [0x10, 0x43];

/// The 48 bits by which a node is known everywhere.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct NodeId(u64);

impl NodeId {
    /// Reads `05.01.01.01.7F.21`: six bytes of two hexadecimal digits, not all of them zero.
    pub fn read(text: &str) -> Option<Self> {
        let mut id = 0;
        let mut count = 0;
        for part in text.split('.') {
            if part.len() != 2 || part.starts_with('+') {
                return None;
            }
            id = id << 8 | u64::from(u8::from_str_radix(part, 16).ok()?);
            count += 1;
        }
        (count == 6 && id != 0).then_some(Self(id))
    }

    fn bytes(self) -> [u8; 6] {
        let mut bytes = [0; 6];
        bytes.copy_from_slice(&self.0.to_be_bytes()[2..]);
        bytes
    }
}

/// What the bus said that matters to the panel.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Heard {
    /// An output of this address is known to be on: its machine stands there.
    Stands(BinaryAddress, Direction),
    /// Another node threw this address.
    ThrownElsewhere(BinaryAddress, Direction),
    /// Someone wants everything to stop.
    Stopped,
    /// Everything may move again.
    Freed,
}

/// How far the node is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    /// No connection.
    Apart,
    /// Its alias may still be objected to, since then.
    Asking(Moment),
    /// It may speak.
    Present,
}

/// A node of the layout bus.
#[derive(Clone, Debug)]
pub struct LayoutBus {
    node: NodeId,
    stage: Stage,
    alias: Alias,
    /// What the next alias is drawn from.
    drawn: u64,
    reader: FrameReader,
    outputs: BTreeMap<BinaryAddress, Known>,
    out: Vec<CanFrame>,
    overflowed: bool,
}

/// What is known of one address.
#[derive(Clone, Copy, Debug, Default)]
struct Known {
    /// Where it was thrown last by this node.
    thrown: Option<Direction>,
    /// Where it stands by what others said.
    stands: Option<Direction>,
}

impl LayoutBus {
    /// A node that commands these addresses; it is not connected.
    pub fn new(node: NodeId, addresses: impl IntoIterator<Item = BinaryAddress>) -> Self {
        let (alias, drawn) = draw(node.0);
        Self {
            node,
            stage: Stage::Apart,
            alias,
            drawn,
            reader: FrameReader::new(),
            outputs: addresses.into_iter().map(|address| (address, Known::default())).collect(),
            out: Vec::new(),
            overflowed: false,
        }
    }

    /// A connection was made: the node asks for its alias.
    pub fn connected(&mut self, at: Moment) {
        self.reader = FrameReader::new();
        self.out.clear();
        self.overflowed = false;
        self.ask(at);
    }

    /// The connection is gone. What was waiting to be sent is dropped: a command is never sent late.
    pub fn disconnected(&mut self) {
        self.stage = Stage::Apart;
        self.out.clear();
        for known in self.outputs.values_mut() {
            known.stands = None;
        }
    }

    /// Whether throws are taken.
    pub fn is_present(&self) -> bool {
        self.stage == Stage::Present && !self.overflowed
    }

    /// Time has passed.
    pub fn tick(&mut self, at: Moment) {
        if let Stage::Asking(since) = self.stage
            && at.since(since) >= OBJECTIONS
        {
            self.be_present();
        }
    }

    /// When time matters next.
    pub fn next_due(&self) -> Option<Moment> {
        match self.stage {
            Stage::Asking(since) => Some(since.after(OBJECTIONS)),
            Stage::Apart | Stage::Present => None,
        }
    }

    /// Throws an address: false when the node is not present or does not command it, and then nothing is sent.
    pub fn throw(&mut self, address: BinaryAddress, direction: Direction) -> bool {
        if !self.is_present() {
            return false;
        }
        let Some(known) = self.outputs.get_mut(&address) else { return false };
        known.thrown = Some(direction);
        let event = thrown(address, direction);
        self.push(EventMessage::Report.frame(self.alias, event));
        true
    }

    /// Asks everything on the bus to stop, or frees it again; false when the node is not present.
    pub fn stop(&mut self, stop: bool) -> bool {
        let meaning = if stop { EventMeaning::EmergencyStop } else { EventMeaning::ClearEmergencyStop };
        if self.is_present() {
            self.push(EventMessage::Report.frame(self.alias, meaning.id()));
        }
        self.is_present()
    }

    /// What waits to be written to the socket, as text. It is gone from here then.
    pub fn take_text(&mut self) -> String {
        let mut text = String::new();
        for frame in self.out.drain(..) {
            // Writing to a string cannot fail.
            let _ = writeln!(text, "{frame}");
        }
        text
    }

    /// Whether more waited than `FRAMES_WAITING_MAX`: the connection should be closed.
    pub fn is_overflowed(&self) -> bool {
        self.overflowed
    }

    /// More text from the socket. Broken frames are left out.
    pub fn read(&mut self, text: &[u8], at: Moment) -> Vec<Heard> {
        let mut frames = Vec::new();
        let mut reader = std::mem::take(&mut self.reader);
        reader.feed(text, &mut |read| {
            if let FrameRead::Frame(frame) = read {
                frames.push(frame);
            }
        });
        self.reader = reader;
        frames.iter().filter_map(|frame| self.take(frame, at)).collect()
    }

    fn take(&mut self, frame: &CanFrame, at: Moment) -> Option<Heard> {
        if self.stage == Stage::Apart {
            return None;
        }
        let header = frame.header();
        if header & 0xFFF == u32::from(self.alias.number()) {
            self.defend(header, at);
            return None;
        }
        if self.stage != Stage::Present {
            return None;
        }
        if let Some((message, _, event)) = EventMessage::read(frame) {
            return self.take_event(message, event);
        }
        let is_for_me = frame.data().is_empty() || frame.data() == self.node.bytes();
        let (kind, message) = (header >> 24 & 0xF, header >> 12 & 0xFFF);
        match (kind, message) {
            (CONTROL, MAP_ENQUIRY) if is_for_me => self.control(MAP_DEFINITION, true),
            (MESSAGE, VERIFY) if is_for_me => self.say(VERIFIED, &self.node.bytes()),
            (MESSAGE, IDENTIFY_EVENTS) => self.name_events(),
            (MESSAGE, message) if message & ADDRESSED != 0 => {
                self.take_addressed(message, header, frame.data());
            }
            _ => {}
        }
        None
    }

    /// A message whose first two bytes name the node it is for.
    fn take_addressed(&mut self, message: u32, header: u32, data: &[u8]) {
        let Some(([high, low], _)) = data.split_first_chunk::<2>() else { return };
        // The upper four bits say whether more frames follow; only the first, or the only one, is answered.
        let (part, to) = (high >> 4, u16::from_be_bytes([high & 0xF, *low]));
        if to != self.alias.number() || part & 0b10 != 0 {
            return;
        }
        let [.., from_high, from_low] = header.to_be_bytes();
        let from = [from_high & 0xF, from_low];
        match message {
            VERIFY_ONE => self.say(VERIFIED, &self.node.bytes()),
            IDENTIFY_EVENTS_ONE => self.name_events(),
            SUPPORT_INQUIRY => {
                self.say(SUPPORT_REPLY, &[&from[..], &SUPPORTS_EVENTS].concat());
            }
            // A refusal of a refusal would go on for ever.
            REJECTED | SUPPORT_REPLY => {}
            _ => {
                let [.., high, low] = message.to_be_bytes();
                self.say(REJECTED, &[&from[..], &NOT_IMPLEMENTED, &[high, low]].concat());
            }
        }
    }

    fn take_event(&mut self, message: EventMessage, event: EventId) -> Option<Heard> {
        let meaning = event.meaning()?;
        match (message, meaning) {
            (EventMessage::Report, EventMeaning::EmergencyStop | EventMeaning::EmergencyOff) => {
                Some(Heard::Stopped)
            }
            (EventMessage::Report, EventMeaning::ClearEmergencyStop | EventMeaning::ClearEmergencyOff) => {
                Some(Heard::Freed)
            }
            (_, EventMeaning::Basic { address, direction, event: basic }) => {
                let known = self.outputs.get_mut(&address)?;
                match (message, basic) {
                    (EventMessage::Report | EventMessage::ProducerValid, BasicEvent::FeedbackActive) => {
                        known.stands = Some(direction);
                        Some(Heard::Stands(address, direction))
                    }
                    (EventMessage::Report, BasicEvent::Activate) => {
                        known.thrown = Some(direction);
                        Some(Heard::ThrownElsewhere(address, direction))
                    }
                    (EventMessage::IdentifyProducer, BasicEvent::Activate) => {
                        self.name_produced(address, direction);
                        None
                    }
                    (EventMessage::IdentifyConsumer, BasicEvent::FeedbackActive) => {
                        self.name_consumed(address, direction);
                        None
                    }
                    _ => None,
                }
            }
            _ => None,
        }
    }

    /// Another node used this node's alias.
    fn defend(&mut self, header: u32, at: Moment) {
        let is_check = header & 0x0800_0000 == 0 && matches!(header >> 24 & 0x7, 4..=7);
        match self.stage {
            Stage::Present if is_check => self.control(RESERVE, false),
            Stage::Present => {
                self.control(MAP_RESET, true);
                self.ask_anew(at);
            }
            Stage::Asking(_) => self.ask_anew(at),
            Stage::Apart => {}
        }
    }

    fn ask_anew(&mut self, at: Moment) {
        (self.alias, self.drawn) = draw(self.drawn);
        self.ask(at);
    }

    /// Four frames that carry the node's name, twelve bits each.
    fn ask(&mut self, at: Moment) {
        for (frame, shift) in [(7_u32, 36), (6, 24), (5, 12), (4, 0)] {
            let [.., high, low] = (self.node.0 >> shift).to_be_bytes();
            let bits = u32::from(u16::from_be_bytes([high, low]) & 0xFFF);
            self.control(frame << 12 | bits, false);
        }
        self.stage = Stage::Asking(at);
    }

    fn be_present(&mut self) {
        self.stage = Stage::Present;
        self.control(RESERVE, false);
        self.control(MAP_DEFINITION, true);
        self.say(INITIALIZATION_COMPLETE, &self.node.bytes());
        self.name_events();
        // What stands where is asked of whoever knows.
        for (address, direction) in self.both_ways() {
            self.push(EventMessage::IdentifyProducer.frame(self.alias, standing(address, direction)));
        }
    }

    fn both_ways(&self) -> Vec<(BinaryAddress, Direction)> {
        let both = |address: &BinaryAddress| [(*address, Direction::One), (*address, Direction::Zero)];
        self.outputs.keys().flat_map(both).collect()
    }

    fn name_events(&mut self) {
        for (address, direction) in self.both_ways() {
            self.name_produced(address, direction);
            self.name_consumed(address, direction);
        }
    }

    fn name_produced(&mut self, address: BinaryAddress, direction: Direction) {
        let message = match self.outputs.get(&address).and_then(|known| known.thrown) {
            Some(thrown) if thrown == direction => EventMessage::ProducerValid,
            Some(_) => EventMessage::ProducerInvalid,
            None => EventMessage::ProducerUnknown,
        };
        self.push(message.frame(self.alias, thrown(address, direction)));
    }

    fn name_consumed(&mut self, address: BinaryAddress, direction: Direction) {
        let message = match self.outputs.get(&address).and_then(|known| known.stands) {
            Some(stands) if stands == direction => EventMessage::ConsumerValid,
            Some(_) => EventMessage::ConsumerInvalid,
            None => EventMessage::ConsumerUnknown,
        };
        self.push(message.frame(self.alias, standing(address, direction)));
    }

    /// A control frame, with the node's name in it or without.
    fn control(&mut self, field: u32, with_name: bool) {
        let header = 0x1000_0000 | field << 12 | u32::from(self.alias.number());
        let name = self.node.bytes();
        let data: &[u8] = if with_name { &name } else { &[] };
        if let Some(frame) = CanFrame::new(header, data) {
            self.push(frame);
        }
    }

    fn say(&mut self, message: u32, data: &[u8]) {
        let header = 0x1900_0000 | message << 12 | u32::from(self.alias.number());
        if let Some(frame) = CanFrame::new(header, data) {
            self.push(frame);
        }
    }

    fn push(&mut self, frame: CanFrame) {
        if self.out.len() < FRAMES_WAITING_MAX {
            self.out.push(frame);
        } else {
            self.overflowed = true;
        }
    }
}

fn thrown(address: BinaryAddress, direction: Direction) -> EventId {
    EventMeaning::Basic { address, direction, event: BasicEvent::Activate }.id()
}

fn standing(address: BinaryAddress, direction: Direction) -> EventId {
    EventMeaning::Basic { address, direction, event: BasicEvent::FeedbackActive }.id()
}

/// An alias and the number from which the one after it is drawn.
///
/// # Source
/// The generator that the technical note on frame transfer proposes (TN-9.7.2.1), from memory: any other would do, as long as two nodes
/// that meet on one alias do not meet on the next.
fn draw(from: u64) -> (Alias, u64) {
    const BITS: u64 = 0xFFFF_FFFF_FFFF;
    let mut drawn = from & BITS;
    loop {
        drawn = (drawn.wrapping_mul((1 << 9) + 1).wrapping_add(0x1B0C_A37A_4BA9)) & BITS;
        let folded = drawn ^ drawn >> 12 ^ drawn >> 24 ^ drawn >> 36;
        let [.., high, low] = folded.to_be_bytes();
        if let Some(alias) = Alias::new(u16::from_be_bytes([high, low]) & 0xFFF) {
            return (alias, drawn);
        }
    }
}
