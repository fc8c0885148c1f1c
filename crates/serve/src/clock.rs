//! The clock of the running panel. It is set once, when the panel opens, and then only counts on: so a computer whose
//! clock is set while it runs neither stops a machine in its travel nor makes one overdue.

use std::time::{Instant, SystemTime, UNIX_EPOCH};

use live::{Moment, Wait};

#[derive(Clone, Copy, Debug)]
pub(crate) struct Clock {
    opened: Moment,
    started: Instant,
}

impl Clock {
    pub(crate) fn start() -> Self {
        let since_1970 = SystemTime::now().duration_since(UNIX_EPOCH).unwrap_or_default();
        let opened = Moment(u64::try_from(since_1970.as_millis()).unwrap_or(u64::MAX));
        Self { opened, started: Instant::now() }
    }

    pub(crate) fn now(self) -> Moment {
        let passed = u64::try_from(self.started.elapsed().as_millis()).unwrap_or(u64::MAX);
        self.opened.after(Wait(passed))
    }
}
