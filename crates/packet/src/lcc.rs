//! The open layout bus: event identifiers for accessory addresses, and the messages that carry them.
//!
//! The address bits are those of a packet, but none of them is turned over.
//!
//! # Source
//! LCC S-9.7.0.4 (July 2024), sections 5.2 and 5.3, and its technical note, sections 2.5.3.3 and 2.5.3.6; LCC S-9.7.2.1,
//! section 4, table 1, for the header; TN-9.7.3.1, section 2.7, for the messages.

use crate::{BinaryAddress, CanFrame, Direction};
use core::fmt;

/// Something that can happen, in eight bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct EventId(pub [u8; 8]);

/// What an event says about one of a pair of accessory outputs.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum BasicEvent {
    /// It is switched on.
    Activate,
    /// It is switched off.
    Deactivate,
    /// It is known to be on. In the edition of 2024 only.
    FeedbackActive,
    /// It is known to be off. In the edition of 2024 only.
    FeedbackInactive,
}

/// What an event identifier stands for, as far as the standard gives it a meaning for accessories.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventMeaning {
    /// One of a pair of outputs.
    Basic {
        /// Its address.
        address: BinaryAddress,
        /// Which of the pair.
        direction: Direction,
        /// What it does.
        event: BasicEvent,
    },
    /// An aspect.
    Extended {
        /// Its address.
        address: BinaryAddress,
        /// The aspect.
        aspect: u8,
    },
    /// A sensor.
    Sensor {
        /// Its number, twelve bits.
        number: u16,
        /// Whether it is active.
        active: bool,
    },
    /// Power is taken away from everything.
    EmergencyOff,
    /// Power may come back.
    ClearEmergencyOff,
    /// Everything stops.
    EmergencyStop,
    /// Everything may move again.
    ClearEmergencyStop,
}

/// `01.01.02.00`, under which all accessory events lie.
const ACCESSORIES: [u8; 4] = [1, 1, 2, 0];

impl EventMeaning {
    /// The identifier of the event.
    ///
    /// # Example
    /// ```
    /// use packet::{BasicEvent, Direction, EventMeaning, Scheme, UserAddress};
    /// let address = UserAddress::new(1).unwrap().binary(Scheme::Linear);
    /// let event = EventMeaning::Basic { address, direction: Direction::One, event: BasicEvent::Activate };
    /// assert_eq!(event.id().to_string(), "01.01.02.00.00.FF.00.09");
    /// ```
    pub const fn id(self) -> EventId {
        let [a, b, c, d] = ACCESSORIES;
        match self {
            Self::Basic { address, direction, event } => {
                let kind = match event {
                    BasicEvent::Activate => 0xFF,
                    BasicEvent::Deactivate => 0xFE,
                    BasicEvent::FeedbackActive => 0xFD,
                    BasicEvent::FeedbackInactive => 0xFC,
                };
                let [high, low] = (address.bits() << 1 | direction.bit() as u16).to_be_bytes();
                EventId([a, b, c, d, 0, kind, high, low])
            }
            Self::Extended { address, aspect } => {
                let [high, low] = address.bits().to_be_bytes();
                EventId([a, b, c, d, 1, high, low, aspect])
            }
            Self::Sensor { number, active } => {
                let [high, low] = (number & 0xFFF).to_be_bytes();
                EventId([a, b, c, d, 0, if active { 0xFB } else { 0xFA }, high, low])
            }
            Self::EmergencyOff => well_known(0xFF),
            Self::ClearEmergencyOff => well_known(0xFE),
            Self::EmergencyStop => well_known(0xFD),
            Self::ClearEmergencyStop => well_known(0xFC),
        }
    }
}

const fn well_known(last: u8) -> EventId {
    EventId([1, 0, 0, 0, 0, 0, 0xFF, last])
}

impl EventId {
    /// What it stands for; none where the standard gives it no meaning for accessories.
    pub fn meaning(self) -> Option<EventMeaning> {
        match self.0 {
            [1, 1, 2, 0, 0, kind @ 0xFC..=0xFF, high @ ..0x10, low] => {
                let bits = u16::from_be_bytes([high, low]);
                Some(EventMeaning::Basic {
                    address: BinaryAddress::new(bits >> 1)?,
                    direction: Direction::of_bit(bits & 1 == 1),
                    event: match kind {
                        0xFF => BasicEvent::Activate,
                        0xFE => BasicEvent::Deactivate,
                        0xFD => BasicEvent::FeedbackActive,
                        _ => BasicEvent::FeedbackInactive,
                    },
                })
            }
            [1, 1, 2, 0, 0, kind @ (0xFA | 0xFB), high @ ..0x10, low] => {
                Some(EventMeaning::Sensor { number: u16::from_be_bytes([high, low]), active: kind == 0xFB })
            }
            [1, 1, 2, 0, 1, high, low, aspect] => {
                let address = BinaryAddress::new(u16::from_be_bytes([high, low]))?;
                Some(EventMeaning::Extended { address, aspect })
            }
            [1, 0, 0, 0, 0, 0, 0xFF, last] => match last {
                0xFF => Some(EventMeaning::EmergencyOff),
                0xFE => Some(EventMeaning::ClearEmergencyOff),
                0xFD => Some(EventMeaning::EmergencyStop),
                0xFC => Some(EventMeaning::ClearEmergencyStop),
                _ => None,
            },
            _ => None,
        }
    }

    /// Reads `01.01.02.00.00.FF.00.09`: eight bytes of two hexadecimal digits.
    pub fn read(text: &str) -> Option<Self> {
        let mut bytes = [0; 8];
        let mut parts = text.split('.');
        for byte in &mut bytes {
            let part = parts.next().filter(|part| part.len() == 2 && !part.starts_with('+'))?;
            *byte = u8::from_str_radix(part, 16).ok()?;
        }
        parts.next().is_none().then_some(Self(bytes))
    }

    /// The identifier that stands for all events that are like this one but for this many low bits, which are 0 in it: those
    /// bits are 1.
    ///
    /// # Source
    /// S-9.7.3.1, range identified: the run of like bits at the end is the range.
    #[must_use]
    pub const fn range(self, bits: u32) -> Self {
        let mask = if bits >= 64 { u64::MAX } else { (1 << bits) - 1 };
        Self((u64::from_be_bytes(self.0) | mask).to_be_bytes())
    }
}

impl fmt::Display for EventId {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        for (index, byte) in self.0.iter().enumerate() {
            write!(to, "{}{byte:02X}", if index == 0 { "" } else { "." })?;
        }
        Ok(())
    }
}

/// The twelve bits by which a node is known on its segment; never 0.
///
/// # Source
/// S-9.7.2.1, section 6.3.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Alias(u16);

impl Alias {
    /// The alias of this number, 1 to 4095; none for others.
    pub const fn new(alias: u16) -> Option<Self> {
        if alias >= 1 && alias <= 0xFFF { Some(Self(alias)) } else { None }
    }

    /// Its number.
    pub const fn number(self) -> u16 {
        self.0
    }
}

/// A message about an event.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum EventMessage {
    /// It happens.
    Report,
    /// Who could produce it?
    IdentifyProducer,
    /// Who would act on it?
    IdentifyConsumer,
    /// I could, and it is so.
    ProducerValid,
    /// I could, and it is not so.
    ProducerInvalid,
    /// I could, and do not know.
    ProducerUnknown,
    /// I would act on it, and it is so.
    ConsumerValid,
    /// I would act on it, and it is not so.
    ConsumerInvalid,
    /// I would act on it, and do not know.
    ConsumerUnknown,
    /// I could produce all of a range.
    ProducerRange,
    /// I would act on all of a range.
    ConsumerRange,
}

/// Every message with its number.
const MESSAGES: [(EventMessage, u16); 11] = [
    (EventMessage::Report, 0x5B4),
    (EventMessage::IdentifyProducer, 0x914),
    (EventMessage::IdentifyConsumer, 0x8F4),
    (EventMessage::ProducerValid, 0x544),
    (EventMessage::ProducerInvalid, 0x545),
    (EventMessage::ProducerUnknown, 0x547),
    (EventMessage::ConsumerValid, 0x4C4),
    // From memory; the others stand in the table.
    (EventMessage::ConsumerInvalid, 0x4C5),
    (EventMessage::ConsumerUnknown, 0x4C7),
    (EventMessage::ProducerRange, 0x524),
    (EventMessage::ConsumerRange, 0x4A4),
];

/// Bits 28 and 27: always 1, and 1 for a message; then 001 for one that is for all.
const FOR_ALL: u32 = 0x1900_0000;

impl EventMessage {
    /// The frame that carries it.
    pub fn frame(self, from: Alias, event: EventId) -> CanFrame {
        let number = MESSAGES.iter().find(|(message, _)| *message == self).map_or(0, |(_, number)| *number);
        let header = FOR_ALL | u32::from(number) << 12 | u32::from(from.0);
        CanFrame::of_eight(header, event.0)
    }

    /// The message of a frame, who sent it, and its event; none where the frame carries another.
    pub fn read(frame: &CanFrame) -> Option<(Self, Alias, EventId)> {
        let event = EventId(frame.data().try_into().ok()?);
        let [.., high, low] = frame.header().to_be_bytes();
        let alias = Alias::new(u16::from_be_bytes([high, low]) & 0xFFF)?;
        let (top, number) = (frame.header() & 0xFF00_0000, frame.header() >> 12 & 0xFFF);
        let (message, _) = MESSAGES.iter().find(|(_, known)| u32::from(*known) == number)?;
        (top == FOR_ALL).then_some((*message, alias, event))
    }
}
