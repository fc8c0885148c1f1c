//! The layout was read anew: the desk goes on with another railroad.
//!
//! What becomes of the state stands in [`live::change`]. It is written down before anything is changed; then the links of the old
//! railroad are let go and those of the new one opened, and every page is shown the new railroad.

use std::sync::Arc;

use live::{Railroad, Said, change};

use super::keeper::Keeper;
use super::{Changes, Ear};
use crate::link::Links;
use crate::refusal::{JournalStopped, Refused};
use crate::snapshot::LeverNow;

impl Keeper {
    pub(super) fn change(&mut self, railroad: Arc<Railroad>, by: &Said) -> Result<Changes, Refused> {
        let made = change(&self.railroad, &self.state, &railroad, by, self.clock.now());
        let rows: Vec<String> = made.entries.iter().map(live::Entry::write).collect();
        if !self.stopped && self.journal.append(&rows).is_err() {
            self.stop_writing();
        }
        if self.stopped {
            return Err(JournalStopped {}.into());
        }
        let first = self.journal.last_sequence().saturating_sub(rows.len() as u64) + 1;
        for (entry, sequence) in made.entries.iter().zip(first..) {
            self.logbook.add(sequence, entry);
        }
        (self.state, self.railroad) = (made.state, railroad);
        self.turn += 1;
        self.for_others.clear();
        // Before the links, which may show a page something: what is so on one railroad is never shown with another.
        self.snapshot.railroad = Arc::clone(&self.railroad);
        let change = self.snapshot.change + 1;
        let see = |lever| LeverNow::see(&self.railroad, &self.state, lever, change);
        self.snapshot.levers = self.railroad.levers().map(see).collect();
        self.reopen_links();
        self.announce(&[]);
        self.begin();
        self.keep_checkpoint(1);
        Ok(Changes { says: made.says, released: made.released })
    }

    /// Lets the links of the old railroad go first: two cannot hold one port.
    fn reopen_links(&mut self) {
        self.links.close();
        self.snapshot.link_troubles.clear();
        let ear = Ear { orders: self.orders.clone(), turn: self.turn };
        match Links::open(&self.railroad, &self.state, self.clock, &ear) {
            Ok(links) => {
                self.links = links;
                if self.state.stopped().is_some() {
                    self.links.stop(self.clock.now());
                }
                // Faults to practise on stay in machines that are still modelled.
                for (machine, (fault, by)) in std::mem::take(&mut self.snapshot.put_in) {
                    drop(self.spoil(&machine, Some(fault), by));
                }
            }
            Err(error) => {
                self.snapshot.trouble = Some(format!(
                    "The links of the layout cannot be opened ({error}): start the panel again."
                ));
            }
        }
    }
}
