//! One record as bytes, and finding records again in bytes that nothing else can read any more.
//!
//! ```text
//! mark "row!" · row length, 4 bytes · sequence number, 8 bytes · checksum of all that and the row, 4 bytes · row
//! ```
//! Numbers are written lowest byte first.

use std::collections::BTreeMap;

use crate::checksum;

/// The longest row that is taken, in bytes. A row of the operating log has fewer than a hundred.
pub const ROW_BYTES_MAX: usize = 64 * 1024;

/// Begins every record, so that one can be found.
const MARK: &[u8; 4] = b"row!";

/// Begins every row of a checkpoint, which is found by its place and must not be taken for a record.
const CHECKPOINT_MARK: &[u8; 4] = b"sum!";

/// Begins what says which record is the first, once others were put aside.
const FIRST_MARK: &[u8; 4] = b"top!";

/// One row of the journal.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Record {
    /// Counted from 1, without gaps.
    pub sequence: u64,
    /// What was written.
    pub row: String,
}

impl Record {
    /// The bytes that stand for it.
    pub(crate) fn seal(sequence: u64, row: &str) -> Vec<u8> {
        Self::seal_as(*MARK, sequence, row)
    }

    /// The bytes that stand for a row of the checkpoint made at this record.
    pub(crate) fn seal_checkpoint(sequence: u64, row: &str) -> Vec<u8> {
        Self::seal_as(*CHECKPOINT_MARK, sequence, row)
    }

    /// The bytes that say that this record is the first.
    pub(crate) fn seal_first(sequence: u64) -> Vec<u8> {
        Self::seal_as(*FIRST_MARK, sequence, "")
    }

    /// The number of the first record.
    pub(crate) fn unseal_first(bytes: &[u8]) -> Option<u64> {
        Self::unseal_as(*FIRST_MARK, bytes).map(|first| first.sequence)
    }

    fn seal_as(mark: [u8; 4], sequence: u64, row: &str) -> Vec<u8> {
        let length = u32::try_from(row.len()).unwrap_or(u32::MAX).to_le_bytes();
        let sequence = sequence.to_le_bytes();
        let sum = checksum(&[&length, &sequence, row.as_bytes()]).to_le_bytes();
        [&mark[..], &length[..], &sequence, &sum, row.as_bytes()].concat()
    }

    /// The record that these bytes begin with; none when they are not exactly as they were sealed.
    pub(crate) fn unseal(bytes: &[u8]) -> Option<Self> {
        Self::unseal_as(*MARK, bytes)
    }

    /// The row of a checkpoint that these bytes begin with.
    pub(crate) fn unseal_checkpoint(bytes: &[u8]) -> Option<Self> {
        Self::unseal_as(*CHECKPOINT_MARK, bytes)
    }

    fn unseal_as(mark: [u8; 4], bytes: &[u8]) -> Option<Self> {
        let rest = bytes.strip_prefix(&mark)?;
        let (length, rest) = rest.split_first_chunk::<4>()?;
        let (sequence, rest) = rest.split_first_chunk::<8>()?;
        let (sum, rest) = rest.split_first_chunk::<4>()?;
        let row = rest.get(..usize::try_from(u32::from_le_bytes(*length)).ok()?)?;
        if row.len() > ROW_BYTES_MAX || checksum(&[length, sequence, row]) != u32::from_le_bytes(*sum) {
            return None;
        }
        let row = std::str::from_utf8(row).ok()?.to_owned();
        Some(Self { sequence: u64::from_le_bytes(*sequence), row })
    }

    /// The records that lie anywhere in these bytes, from the first up to the first gap. The first is number 1, or the one that was
    /// left last when others were put aside.
    pub(crate) fn find_all(bytes: &[u8]) -> Vec<Self> {
        let mut found = BTreeMap::new();
        let marked = |index: usize| bytes.get(index..).and_then(Self::unseal_first);
        let firsts = bytes.windows(FIRST_MARK.len()).enumerate().filter(|(_, window)| window == FIRST_MARK);
        let first = firsts.filter_map(|(index, _)| marked(index)).max().unwrap_or(1);
        for (index, _) in bytes.windows(MARK.len()).enumerate().filter(|(_, window)| window == MARK) {
            if let Some(record) = bytes.get(index..).and_then(Self::unseal) {
                found.insert(record.sequence, record);
            }
        }
        (first..).map_while(|sequence| found.remove(&sequence)).collect()
    }
}
