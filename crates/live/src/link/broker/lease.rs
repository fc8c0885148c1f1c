//! Who may drive one machine: a lease that panels take by publishing on one topic, in the order in which the broker hands its messages out.
//!
//! ```text
//! nobody heard for a whole lease ─▶ claim sent ─▶ own claim heard, nobody else's between ─▶ held, renewed ─▶ lapses
//! ```
//!
//! Why two panels never drive one machine, given that the broker hands the messages of one topic to all who listen in one order (MQTT does not
//! promise that across publishers; brokers do it), and that a message is lost to a listener only with its connection:
//!
//! - A holder counts from when it *sent* what it heard back; whoever waits counts from when it *heard* the last message of anyone, or from when it was
//!   subscribed. Hearing comes after sending, so the wait ends later, by the margin at least.
//! - A claim is sent only when the wait is over, and wins only when it is heard back and no message of anyone else came between. A message of a
//!   holder that the broker took before the claim was therefore heard and waited for, or was sent before this panel subscribed, and is over as well.
//! - A message of a holder that the broker takes after the claim is of no use to the holder: it heard the claim between sending and hearing back.
//! - A message that was sent on one connection is never counted on another.
//!
//! The epoch plays no part in that. It is for those who read states: the highest that was heard wins. A holder that hears a higher one, from a
//! claim that failed or from a panel that remembers one, renews with one that is higher still.

use serde::{Deserialize, Serialize};

use crate::{Moment, Wait};

/// The largest epoch: every JSON reader holds it exactly. A larger one is not read.
pub(super) const EPOCH_MAX: u64 = 1 << 53;

/// How clocks may differ: one part in so many, twice over.
const RATE: u64 = 50;

/// By how much both clocks of a computer may disagree about the length of a lease before neither is believed.
const DISAGREE_MAX: Wait = Wait(300);

/// Both clocks of the computer.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Clocks {
    /// One that only counts on; it may rest while the computer sleeps.
    pub passed: Moment,
    /// The time of day; it may be set.
    pub wall: Moment,
}

/// How long things take with leases. All panels of one railroad use the same.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Terms {
    /// The length of a lease, and the longest that is read.
    pub length: Wait,
    /// How often it is renewed.
    pub renewal: Wait,
    /// What others wait beyond its length: for what may still be on the wire to the machine (a second until a write is given up, two until a
    /// connection is), and for clocks that differ.
    pub margin: Wait,
}

impl Terms {
    /// What panels use.
    pub const USUAL: Self = Self { length: Wait(6_000), renewal: Wait(1_500), margin: Wait(4_000) };

    /// How long whoever heard a message waits before the lease in it is surely over.
    pub fn wait(self, length: Wait) -> Wait {
        Wait(length.0.saturating_add(self.margin.0))
    }
}

/// What is said on the topic of a lease.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct LeaseSaid {
    /// Who.
    pub server: String,
    /// Which time of holding.
    pub epoch: u64,
    /// Counts up with everything this server says here.
    pub serial: u64,
    /// How long the lease lasts from when this was sent; 0 says that nothing is claimed, only that this epoch was seen.
    pub length_ms: u64,
    /// Whether it was held already when this was sent.
    pub held: bool,
}

/// For how long its holder may drive the machine.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Permit {
    sent: Clocks,
    length: Wait,
}

impl Permit {
    /// Whether it still does: by both clocks, and they must agree how long ago it was sent, so that neither a sleep nor a clock that is set stretches
    /// it. A sleep and a clock that is set back by just as much in the same seconds cannot be told from neither.
    pub fn is_good(&self, now: Clocks) -> bool {
        let length = self.length.0 - self.length.0 / RATE;
        let passed = now.passed.since(self.sent.passed).0;
        let wall = now.wall.since(self.sent.wall).0;
        let is_back = now.passed < self.sent.passed || now.wall < self.sent.wall;
        !is_back && passed < length && wall < length && passed.abs_diff(wall) < DISAGREE_MAX.0
    }
}

/// Orders what is said of a machine: the epoch, then the server.
pub(super) type Fence = (u64, String);

#[derive(Clone, Debug, Default)]
pub(super) struct Lease {
    pub(super) highest: Fence,
    /// Not before this may a claim be sent.
    free_from: Moment,
    mine: Option<Tenure>,
    pending: Option<Pending>,
    other: Option<Other>,
    serial: u64,
    /// The last few that were sent, for asks that name them.
    sent: Vec<(u64, Moment)>,
    objection: Objection,
}

#[derive(Clone, Copy, Debug)]
struct Tenure {
    epoch: u64,
    permit: Permit,
    /// Whether it has been renewed: others count it from then.
    is_told: bool,
}

#[derive(Clone, Copy, Debug)]
struct Pending {
    epoch: u64,
    serial: u64,
    sent: Clocks,
    is_disturbed: bool,
}

/// Another panel that holds it.
#[derive(Clone, Debug)]
struct Other {
    fence: Fence,
    serial: u64,
    heard: Moment,
    length: Wait,
}

#[derive(Clone, Copy, Debug, Default)]
struct Objection {
    is_due: bool,
    last: Option<Moment>,
}

/// How many of the renewals sent an ask may name.
const SENT_MAX: usize = 8;

impl Lease {
    /// What was sent on a connection that is gone counts no more, and who was heard on it has to be heard again.
    pub(super) fn disconnected(&mut self) {
        self.pending = None;
        self.other = None;
        self.objection.is_due = false;
    }

    /// The permit to drive the machine; whoever uses it asks it for the time.
    pub(super) fn permit(&self) -> Option<Permit> {
        self.mine.map(|mine| mine.permit)
    }

    /// The epoch in which this panel holds it now.
    pub(super) fn held(&self, now: Clocks) -> Option<u64> {
        self.mine.filter(|mine| mine.permit.is_good(now)).map(|mine| mine.epoch)
    }

    /// Whoever else holds it now, and the serial of what it said last.
    pub(super) fn holder(&self, now: Clocks, terms: Terms) -> Option<(&Fence, u64)> {
        let is_there = |other: &&Other| {
            other.fence == self.highest && now.passed.since(other.heard) < terms.wait(other.length)
        };
        self.other.as_ref().filter(is_there).map(|other| (&other.fence, other.serial))
    }

    /// Whether a renewal of this serial was sent a short while ago.
    pub(super) fn is_recent(&self, serial: u64, now: Clocks, fresh: Wait) -> bool {
        self.sent.iter().any(|(sent, at)| *sent == serial && now.passed.since(*at) <= fresh)
    }

    /// What is to be published now, if this panel has been subscribed since then and could drive the machine.
    pub(super) fn due(
        &mut self,
        me: &str,
        since: Moment,
        may: bool,
        now: Clocks,
        terms: Terms,
    ) -> Option<LeaseSaid> {
        let patience = Wait(terms.renewal.0.saturating_mul(2));
        if self.pending.is_some_and(|pending| now.passed.since(pending.sent.passed) < patience) {
            return None;
        }
        if self.held(now).is_none() {
            self.mine = None;
        }
        if !may {
            return None;
        }
        let (epoch, held) = match self.mine {
            Some(mine) => {
                let sent = mine.permit.sent.passed;
                let is_over = self.highest > (mine.epoch, me.to_owned());
                let is_due = now.passed.since(sent) >= terms.renewal || sent < since || !mine.is_told;
                if !is_due && !is_over {
                    return None;
                }
                (if is_over { self.highest.0.saturating_add(1) } else { mine.epoch }, true)
            }
            None => {
                if now.passed < since.after(terms.wait(terms.length)) || now.passed < self.free_from {
                    return None;
                }
                (self.highest.0.saturating_add(1).max(now.wall.0), false)
            }
        };
        let epoch = epoch.min(EPOCH_MAX);
        self.serial += 1;
        let serial = self.serial;
        self.pending = Some(Pending { epoch, serial, sent: now, is_disturbed: false });
        if self.sent.len() == SENT_MAX {
            self.sent.remove(0);
        }
        self.sent.push((serial, now.passed));
        Some(LeaseSaid { server: me.to_owned(), epoch, serial, length_ms: terms.length.0, held })
    }

    /// That a higher epoch was seen here than someone uses, at most as often as leases are renewed.
    pub(super) fn objection(&mut self, me: &str, now: Clocks, terms: Terms) -> Option<LeaseSaid> {
        let rests = self.objection.last.is_some_and(|last| now.passed.since(last) < terms.renewal);
        if !self.objection.is_due || rests {
            return None;
        }
        self.objection = Objection { is_due: false, last: Some(now.passed) };
        Some(LeaseSaid { server: me.to_owned(), epoch: self.highest.0, serial: 0, length_ms: 0, held: false })
    }

    /// What the broker handed out, in its order. What it kept from before is no sign that anyone is there.
    pub(super) fn hear(&mut self, me: &str, said: &LeaseSaid, is_kept: bool, now: Clocks, terms: Terms) {
        let fence = (said.epoch, said.server.clone());
        let is_low = fence < self.highest;
        if said.server == me {
            let is_it = |pending: &Pending| (pending.epoch, pending.serial) == (said.epoch, said.serial);
            if let Some(pending) = self.pending.take_if(|pending| is_it(pending) && !is_kept)
                && !pending.is_disturbed
            {
                let permit = Permit { sent: pending.sent, length: Wait(said.length_ms) };
                self.mine = Some(Tenure { epoch: pending.epoch, permit, is_told: said.held });
            }
        } else if said.length_ms > 0 {
            if let Some(pending) = &mut self.pending {
                pending.is_disturbed = true;
            }
            let length = Wait(said.length_ms);
            self.free_from = self.free_from.max(now.passed.after(terms.wait(length)));
            self.objection.is_due |= is_low && !is_kept;
            if !is_low && said.held && !is_kept {
                self.other =
                    Some(Other { fence: fence.clone(), serial: said.serial, heard: now.passed, length });
            }
        }
        self.highest = self.highest.clone().max(fence);
    }
}
