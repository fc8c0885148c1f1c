//! What the user's words for places on the railroad mean: ends, tracks and joints by name.

use crate::model::{JointId, JointKind, Network, Port, TrackId};
use description::{Description, Name};
use notice::{Code, Confidence, Diagnostic, quoted, suggest};
use std::collections::BTreeMap;

/// The names of a network.
pub(super) struct Known<'a> {
    pub(super) network: &'a Network,
    ends: BTreeMap<&'a str, Port>,
    tracks: BTreeMap<&'a str, TrackId>,
    joints: BTreeMap<&'a str, JointId>,
}

impl<'a> Known<'a> {
    pub(super) fn new(network: &'a Network) -> Self {
        let mut known =
            Self { network, ends: BTreeMap::new(), tracks: BTreeMap::new(), joints: BTreeMap::new() };
        for (index, joint) in network.joints.iter().enumerate() {
            let id = JointId::at(index);
            if matches!(joint.kind, JointKind::End { .. }) {
                known.ends.entry(&joint.id).or_insert(Port { joint: id, port: 0 });
            } else {
                known.joints.entry(&joint.id).or_insert(id);
            }
        }
        for (index, track) in network.tracks.iter().enumerate() {
            known.tracks.entry(&track.name).or_insert(TrackId::at(index));
        }
        known
    }

    /// The end of this name.
    pub(super) fn end_of(&self, name: &Name) -> Option<Port> {
        self.ends.get(name.value.as_str()).copied()
    }

    /// The track of this name.
    pub(super) fn track_named(&self, name: &Name) -> Option<TrackId> {
        self.tracks.get(name.value.as_str()).copied()
    }

    /// The joint of this name that is no end.
    pub(super) fn joint_of(&self, name: &Name) -> Option<JointId> {
        self.joints.get(name.value.as_str()).copied()
    }

    /// The track at the end of this name, or the track of this name; none, with a note, when there is neither.
    pub(super) fn track_of(
        &self,
        description: &Description,
        name: &Name,
        code: Code,
        notes: &mut Vec<Diagnostic>,
    ) -> Option<TrackId> {
        match self.end_of(name) {
            Some(end) => Some(self.network.joint(end.joint).tracks[0]),
            None => self.via_of(description, name, code, notes),
        }
    }

    /// The track of this name; none, with a note, when there is none.
    pub(super) fn via_of(
        &self,
        description: &Description,
        name: &Name,
        code: Code,
        notes: &mut Vec<Diagnostic>,
    ) -> Option<TrackId> {
        let track = self.track_named(name);
        if track.is_none() && may_be_missed(description, name) {
            let message = format!("there is no end or track `{}`", name.value);
            let note = Diagnostic::error(code, name.span, message);
            let known = self.ends.keys().chain(self.tracks.keys()).copied();
            notes.push(match suggest(notes.len(), &name.value, known) {
                Some(near) => {
                    note.help(format!("did you mean `{near}`?")).replace(quoted(near), Confidence::Ask)
                }
                None => note.help("name an [end.*] or a track that a joint names"),
            });
        }
        track
    }

    /// Every name of a joint that is no end.
    pub(super) fn joints(&self) -> impl Iterator<Item = &'a str> {
        self.joints.keys().copied()
    }

    /// Every name of a track or of a joint that is no end.
    pub(super) fn tracks_and_joints(&self) -> impl Iterator<Item = &'a str> {
        self.tracks.keys().chain(self.joints.keys()).copied()
    }
}

/// Whether a name that means nothing is the user's mistake, and not just something that could not be read.
pub(super) fn may_be_missed(description: &Description, name: &Name) -> bool {
    let unread = &description.unread;
    !unread.ids.contains(&name.value)
        && !unread.tracks.contains(&name.value)
        && unread.ends == 0
        && !unread.text
}
