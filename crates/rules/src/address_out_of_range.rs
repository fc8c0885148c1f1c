//! An address beyond the highest that the system may use.
//!
//! # Source
//! NMRA S-9.2.1 (July 2012), section D: board 511 is the broadcast, so user addresses 2041 to 2044 reach every decoder;
//! 2045 to 2048 wrap to board 0. That 2040 is the usual last address: common practice, no source.

use notice::{Diagnostic, code};
use plan::model::Plan;

pub(crate) fn check(plan: &Plan) -> Vec<Diagnostic> {
    let last = plan.network.described.system.last_address;
    let claims = crate::claims(plan).into_iter();
    // A strip that runs past the last address is one mistake, reported at the strip.
    let beyond = claims.filter(|claim| claim.address.number() > last && claim.strip.is_none());
    beyond
        .map(|claim| {
            let message =
                format!("`{}` is at address {}, past the last address {last}", claim.id, claim.address.number());
            let note = Diagnostic::error(code::ADDRESS_OUT_OF_RANGE, claim.span, message);
            crate::beside_last_address(plan, note.help(format!(
                "write an address from 1 to {last}, or raise `last_address` in [system] if your system reaches it"
            )))
        })
        .collect()
}
