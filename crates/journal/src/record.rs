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
        let length = u32::try_from(row.len()).unwrap_or(u32::MAX).to_le_bytes();
        let sequence = sequence.to_le_bytes();
        let sum = checksum(&[&length, &sequence, row.as_bytes()]).to_le_bytes();
        [MARK, &length[..], &sequence, &sum, row.as_bytes()].concat()
    }

    /// The record that these bytes begin with; none when they are not exactly as they were sealed.
    pub(crate) fn unseal(bytes: &[u8]) -> Option<Self> {
        let rest = bytes.strip_prefix(MARK)?;
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

    /// The records that lie anywhere in these bytes, from number 1 up to the first gap.
    pub(crate) fn find_all(bytes: &[u8]) -> Vec<Self> {
        let mut found = BTreeMap::new();
        for (index, _) in bytes.windows(MARK.len()).enumerate().filter(|(_, window)| window == MARK) {
            if let Some(record) = bytes.get(index..).and_then(Self::unseal) {
                found.insert(record.sequence, record);
            }
        }
        (1..).map_while(|sequence| found.remove(&sequence)).collect()
    }
}
