//! DCC packets after the open standards: bits, bytes, addresses and their meaning. No dependencies, no allocation; works
//! without the standard library.
//!
//! [`Packet`] holds every packet that may be sent, and nothing else: [`Packet::encode`] gives its [`Bytes`].
//! [`Decoded`] says what received bytes mean, those of locomotives too.
#![no_std]

mod accessory;
mod address;
mod bytes;
mod cv;
mod decode;
mod instruction;
mod packet;

pub use accessory::{Basic, Direction, Extended, NormalIs, Position};
pub use address::{BROADCAST_BOARD, BinaryAddress, LastAddress, Scheme, UserAddress};
pub use bytes::{Bytes, checksum};
pub use cv::{BitIndex, Board, CvAccess, CvAction, CvNumber, CvTarget};
pub use decode::{Decoded, Kind, LocoAddress, Seen, Warning};
pub use instruction::Instruction;
pub use packet::{LocoStop, Packet};
