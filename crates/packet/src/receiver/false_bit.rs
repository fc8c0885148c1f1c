//! Bytes that are no packet though they have the form of one: a single false bit made them begin too soon or end too late.

use crate::Bytes;

/// Whether bytes with a wrong error byte hold a whole packet beside one false bit, so that they ran on past its end.
pub(super) fn ran_past_its_packet(bytes: Bytes) -> bool {
    !bytes.checksum_ok() && (began_too_soon(bytes) || ended_too_late(bytes))
}

/// Whether a whole packet begins at the first 0 of these bytes, with nothing but 1 bits behind it: then a 1 of its preamble was taken for
/// a 0, and what looked like a start bit was none.
fn began_too_soon(bytes: Bytes) -> bool {
    let bytes = bytes.as_slice();
    let all = bytes.iter().enumerate().flat_map(|(index, byte)| {
        let last = index + 1 == bytes.len();
        (0..8).rev().map(move |place| byte >> place & 1 == 1).chain([last])
    });
    let mut bits = all.skip_while(|bit| *bit).skip(1);
    let (mut count, mut sum) = (0, 0);
    loop {
        let (mut byte, mut places) = (0u8, 0);
        for bit in bits.by_ref().take(8) {
            byte = byte << 1 | u8::from(bit);
            places += 1;
        }
        count += 1;
        sum ^= byte;
        match bits.next() {
            Some(false) if places == 8 => {}
            Some(true) if places == 8 => return count >= Bytes::MIN && sum == 0 && bits.all(|bit| bit),
            _ => return false,
        }
    }
}

/// Whether all but the last byte are a whole packet and that one is of 1 bits alone: then its end bit was taken for a 0, and the rest
/// is of the next preamble.
fn ended_too_late(bytes: Bytes) -> bool {
    bytes.error_byte() == 0xFF && Bytes::received(bytes.payload()).is_some_and(|bytes| bytes.checksum_ok())
}
