//! Storage for a journal in tests: a memory that outlives the journal on it and, when told, fails from the nth call on.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use journal::{Memory, Storage};

/// Memory that stays when the journal is closed, as a disk does.
#[derive(Clone, Debug)]
pub struct Disk {
    memory: Arc<Memory>,
    /// How many more calls that change it succeed.
    writes_left: Arc<AtomicU64>,
}

impl Disk {
    /// An empty disk, all of whose calls succeed.
    pub fn new() -> Self {
        Self { memory: Arc::new(Memory::new()), writes_left: Arc::new(AtomicU64::new(u64::MAX)) }
    }

    /// From now on this many changing calls succeed, and every one after them fails.
    pub fn fail_after(&self, writes: u64) {
        self.writes_left.store(writes, Ordering::SeqCst);
    }

    /// From now on every call succeeds again.
    pub fn mend(&self) {
        self.fail_after(u64::MAX);
    }

    fn spend(&self) -> io::Result<()> {
        let spent =
            self.writes_left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |left| left.checked_sub(1));
        spent.map(drop).map_err(|_| io::Error::new(io::ErrorKind::StorageFull, "no room left"))
    }
}

impl Default for Disk {
    fn default() -> Self {
        Self::new()
    }
}

impl Storage for Disk {
    fn len(&self) -> io::Result<u64> {
        Storage::len(&*self.memory)
    }

    fn read(&self, offset: u64, out: &mut [u8]) -> io::Result<()> {
        Storage::read(&*self.memory, offset, out)
    }

    fn set_len(&self, len: u64) -> io::Result<()> {
        self.spend()?;
        self.memory.set_len(len)
    }

    fn sync_data(&self) -> io::Result<()> {
        self.spend()?;
        self.memory.sync_data()
    }

    fn write(&self, offset: u64, data: &[u8]) -> io::Result<()> {
        self.spend()?;
        Storage::write(&*self.memory, offset, data)
    }
}
