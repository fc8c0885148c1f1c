//! What each decoder is programmed with: its address, in the two variables that hold it.
//!
//! A decoder that takes its address by board is given the board that its first address has in the packet, by the system's way of
//! counting; its further outputs follow. One that learns its address by a push of a button, or takes it by output, goes by its own
//! leaflet.
//!
//! # Source
//! NMRA S-9.2.2 (July 2012), accessory decoders, table 3: CV 1 holds the six low bits of the board, CV 9 the three high ones.

use crate::model::Plan;
use crate::reason::{BOARD_HIGH, BOARD_LOW};
use description::AddressScheme;
use notice::{Because, Decided};
use packet::Scheme;

/// One value to write into one variable of one decoder.
#[derive(Clone, Debug)]
pub struct Step {
    /// Index of the decoder in [`Plan::decoders`].
    pub decoder: usize,
    /// The variable.
    pub cv: u16,
    /// What to write, and why.
    pub value: Decided<u16>,
}

/// Every step, decoder by decoder.
pub fn steps(plan: &Plan) -> Vec<Step> {
    let scheme = match plan.network.described.system.address_scheme {
        AddressScheme::Linear => Scheme::Linear,
        AddressScheme::ZeroBased => Scheme::ZeroBased,
        AddressScheme::BlocksOf256 => Scheme::BlocksOf256,
    };
    let mut steps = Vec::new();
    for (index, decoder) in plan.decoders.iter().enumerate() {
        let first = decoder.first.value;
        let board = first.binary(scheme).board();
        let saw = || [first.number().into(), board.into()];
        for (cv, value, why) in [
            (1, board % 64, Because::new(&BOARD_LOW, saw())),
            (9, board / 64, Because::new(&BOARD_HIGH, saw())),
        ] {
            steps.push(Step { decoder: index, cv, value: Decided::new(value, why) });
        }
    }
    steps
}
