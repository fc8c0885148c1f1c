//! DCC accessory addresses and, later, packets: bits and their meaning. No dependencies; works without the standard
//! library.
#![no_std]

mod address;

pub use address::{BROADCAST_BOARD, BinaryAddress, Scheme, UserAddress};
