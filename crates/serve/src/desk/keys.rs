//! Keys under which things were done: a request that is sent again, because its answer was lost, is not done twice.
//!
//! The last [`KEYS_MAX`] are kept in memory. A panel that was closed in between has forgotten them.
//!
//! # Source
//! The header field `Idempotency-Key` of the IETF HTTP API working group's draft of that name, from memory.

use std::collections::VecDeque;

use live::Event;

/// How many keys are remembered.
const KEYS_MAX: usize = 1_000;

#[derive(Debug, Default)]
pub(super) struct Keys(VecDeque<(String, Event)>);

/// What is known of a key.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Known {
    /// Nothing.
    New,
    /// This was done under it.
    Same,
    /// Something else was done under it.
    Other,
}

impl Keys {
    pub(super) fn find(&self, key: &str, event: &Event) -> Known {
        match self.0.iter().find(|(known, _)| known == key) {
            Some((_, done)) if done == event => Known::Same,
            Some(_) => Known::Other,
            None => Known::New,
        }
    }

    pub(super) fn add(&mut self, key: String, event: Event) {
        if self.0.len() >= KEYS_MAX {
            self.0.pop_front();
        }
        self.0.push_back((key, event));
    }
}
