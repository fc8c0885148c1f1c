//! The clock of the running panel. It is set once, when the panel opens, and then only counts on: so a computer whose
//! clock is set while it runs neither stops a machine in its travel nor makes one overdue.

use std::time::{Instant, SystemTime, UNIX_EPOCH};

use live::link::broker::Clocks;
use live::{Moment, Wait};

#[derive(Clone, Copy, Debug)]
pub(crate) struct Clock {
    opened: Moment,
    started: Instant,
}

impl Clock {
    pub(crate) fn start() -> Self {
        Self { opened: time_of_day(), started: Instant::now() }
    }

    /// Both clocks: this one, and the time of day.
    pub(crate) fn both(self) -> Clocks {
        Clocks { passed: self.now(), wall: time_of_day() }
    }

    pub(crate) fn now(self) -> Moment {
        let passed = u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX);
        self.opened.after(Wait(passed))
    }
}

fn time_of_day() -> Moment {
    let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
    Moment(u64::try_from(since_1970.as_millis()).unwrap_or(u64::MAX))
}
