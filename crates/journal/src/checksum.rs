//! CRC-32: 32 bits that change when any few bits of a record do.
//!
//! # Source
//! The cyclic redundancy check of ISO/IEC/IEEE 8802-3 (Ethernet), clause 3.2.9: polynomial 04C11DB7, bits taken lowest
//! first, register all ones at the start, complemented at the end.

/// The polynomial with its bits in the order in which they are taken.
const POLYNOMIAL: u32 = 0xEDB8_8320;

const TABLE: [u32; 256] = {
    let mut table = [0; 256];
    let mut index = 0;
    while index < 256 {
        #[allow(clippy::cast_possible_truncation, reason = "the index is below 256")]
        let mut remainder = index as u32;
        let mut bit = 0;
        while bit < 8 {
            remainder = if remainder & 1 == 1 { (remainder >> 1) ^ POLYNOMIAL } else { remainder >> 1 };
            bit += 1;
        }
        table[index] = remainder;
        index += 1;
    }
    table
};

/// The CRC-32 of these stretches of bytes, one after the other.
pub fn checksum(parts: &[&[u8]]) -> u32 {
    let bytes = parts.iter().copied().flatten();
    !bytes.fold(!0, |sum: u32, byte| {
        let [low, ..] = sum.to_le_bytes();
        (sum >> 8) ^ TABLE[usize::from(low ^ byte)]
    })
}
