//! From names to ids: a description becomes a network, and what does not fit is left out with a diagnostic.
//!
//! A track exists because things name its ends, so tracks are gathered from the joints. Where a track has too few or
//! too many ends the network is patched (a spare end, a spare track) so that every index stays good and the later
//! checks can still run; the layout has an error then, and nobody builds from it.

mod accessory;
mod bus;
mod joint;
mod known;
mod lever;
mod line;
mod link;
mod names;
mod nudge;
mod panel;
mod track;
mod wanted;

use crate::model::Network;
use description::Description;
use notice::{Diagnostic, Outcome};
use std::collections::BTreeSet;

/// Resolves the names of a description.
pub fn resolve(mut description: Description) -> Outcome<Network> {
    let mut notes: Vec<Diagnostic> = Vec::new();
    let mut network = Network::default();
    let kept = names::unique_joints(&description, &mut notes);
    // The tracks of a joint that is left out are not at fault for the end they lack.
    let is_kept: BTreeSet<usize> = kept.iter().copied().collect();
    let left_out = (0..description.joints.len()).filter(|index| !is_kept.contains(index));
    let orphans = left_out.flat_map(|index| &description.joints[index].tracks);
    description.unread.tracks.extend(orphans.map(|name| name.value.clone()));
    let patched_count = track::gather(&description, &kept, &mut network, &mut notes);
    joint::add_moves(&description, &kept, &mut network, &mut notes);
    lever::gather(&description, &mut network, &mut notes);
    line::find_paths(&description, &mut network, &mut notes);
    nudge::resolve_nudges(&description, &mut network, &mut notes);
    wanted::resolve_routes(&description, &mut network, &mut notes);
    accessory::resolve_accessories(&description, &mut network, &mut notes);
    panel::resolve_controls(&description, &mut network, &mut notes);
    names::check_places(&description, &mut notes);
    bus::resolve_buses(&description, &mut network, &mut notes);
    link::resolve_links(&description, &mut network, &mut notes);
    names::check_parts(&description, &mut notes);
    // What the finished network lacks may be what was patched; the checks above were to see it as it is written.
    description.unread.ends += patched_count;
    network.described = description;
    Outcome::new(network, notes)
}
