//! DCC packets after the open standards: bits, bytes, addresses and their meaning. No dependencies, no allocation; works
//! without the standard library.
//!
//! [`Packet`] holds every packet that may be sent, and nothing else: [`Packet::encode`] gives its [`Bytes`].
//! [`Decoded`] says what received bytes mean, those of locomotives too. [`Schedule`], [`Bits`] and [`Wave`] put packets on
//! the rails; [`Receiver`] and [`Watch`] read what is there, [`VcdReader`] and [`CsvReader`] what was captured of it.
//! [`EventMeaning`] and [`CanFrame`] say the same on the open layout bus.
#![no_std]

mod accessory;
mod address;
mod address_cv;
mod bytes;
mod cv;
mod decode;
mod export;
mod form;
mod frame;
mod histogram;
mod instruction;
mod lcc;
mod packet;
mod read;
mod receiver;
mod schedule;
mod watch;
mod wave;

pub use accessory::{Basic, Direction, Extended, NormalIs, Position};
pub use address::{BROADCAST_BOARD, BinaryAddress, LastAddress, Scheme, UserAddress};
pub use address_cv::{AccessoryConfiguration, AddressCvs, AddressMethod, OutputReading};
pub use bytes::{Bytes, checksum};
pub use cv::{BitIndex, Board, CvAccess, CvAction, CvNumber, CvTarget};
pub use decode::{Decoded, Kind, LocoAddress, Seen, Warning};
pub use export::{Csv, Vcd};
pub use form::{Forms, meaning};
pub use frame::{CanFrame, FrameFault, FrameRead, FrameReader};
pub use histogram::{Spread, Timing};
pub use instruction::Instruction;
pub use lcc::{Alias, BasicEvent, EventId, EventMeaning, EventMessage};
pub use packet::{LocoStop, Packet};
pub use read::{CHANNELS_MAX, Change, ChannelName, CsvReader, Read, ReadFault, TimeUnit, VcdReader};
pub use receiver::{CUTOUT, Event, LONG_MAX, Received, Receiver, SignalFault};
pub use schedule::{Job, Recipient, Schedule, Sent};
pub use watch::{TrafficFault, Watch, Watched};
pub use wave::{
    Bits, Half, Limits, NOMINAL_ONE, NOMINAL_ZERO, Ns, Preamble, SENT_ONE, SENT_ONE_DIFFERENCE, SENT_ZERO,
    SENT_ZERO_TOTAL, SPACING, TAKEN_ONE, TAKEN_ONE_DIFFERENCE, TAKEN_PREAMBLE, TAKEN_ZERO, Wave, WaveFault,
};
