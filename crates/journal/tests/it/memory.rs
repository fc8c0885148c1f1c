//! Storage for tests: a memory that outlives the journal on it and, when told, fails from the nth call on.

use std::io;
use std::sync::Arc;
use std::sync::atomic::{AtomicU64, Ordering};

use journal::{Journal, Memory, Storage};

/// Memory that stays when the journal is closed, as a disk does.
#[derive(Clone, Debug)]
pub(crate) struct Disk {
    memory: Arc<Memory>,
    /// How many more calls that change it succeed.
    writes_left: Arc<AtomicU64>,
}

impl Disk {
    pub(crate) fn new() -> Self {
        Self { memory: Arc::new(Memory::new()), writes_left: Arc::new(AtomicU64::new(u64::MAX)) }
    }

    /// From now on this many changing calls succeed, and every one after them fails.
    pub(crate) fn fail_after(&self, writes: u64) {
        self.writes_left.store(writes, Ordering::SeqCst);
    }

    pub(crate) fn mend(&self) {
        self.fail_after(u64::MAX);
    }

    fn spend(&self) -> io::Result<()> {
        let spent =
            self.writes_left.fetch_update(Ordering::SeqCst, Ordering::SeqCst, |left| left.checked_sub(1));
        spent.map(drop).map_err(|_| io::Error::new(io::ErrorKind::StorageFull, "no room left"))
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

/// Every row of a journal, in order, after checking that their numbers run from 1 without a gap.
pub(crate) fn rows(journal: &Journal) -> Vec<String> {
    let records: Vec<_> = journal.replay().unwrap().collect::<Result<_, _>>().unwrap();
    for (record, expected) in records.iter().zip(1..) {
        assert_eq!(record.sequence, expected);
    }
    assert_eq!(journal.last_sequence(), records.len() as u64);
    records.into_iter().map(|record| record.row).collect()
}
