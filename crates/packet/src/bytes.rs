//! The bytes of one packet, its error byte among them.

/// Three to six bytes: what stands between the start bit and the end bit of a packet.
///
/// # Source
/// NMRA S-9.2.1 (July 2012), introduction: a packet has 3 to 6 bytes, the error byte included.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Bytes {
    held: [u8; Self::MAX],
    count: u8,
}

impl Bytes {
    /// The fewest bytes of a packet.
    pub const MIN: usize = 3;
    /// The most bytes of a packet.
    pub const MAX: usize = 6;

    /// Bytes as they were received, whatever their error byte is; none where they are too few or too many.
    pub fn received(bytes: &[u8]) -> Option<Self> {
        if bytes.len() < Self::MIN || bytes.len() > Self::MAX {
            return None;
        }
        let mut held = [0; Self::MAX];
        for (to, from) in held.iter_mut().zip(bytes) {
            *to = *from;
        }
        Some(Self { held, count: u8::try_from(bytes.len()).ok()? })
    }

    /// Bytes with the error byte put behind them.
    pub(crate) const fn two([a, b]: [u8; 2]) -> Self {
        Self { held: [a, b, a ^ b, 0, 0, 0], count: 3 }
    }

    /// Bytes with the error byte put behind them.
    pub(crate) const fn three([a, b, c]: [u8; 3]) -> Self {
        Self { held: [a, b, c, a ^ b ^ c, 0, 0], count: 4 }
    }

    /// Bytes with the error byte put behind them.
    pub(crate) const fn five(bytes: [u8; 5]) -> Self {
        let [first, second, third, fourth, fifth] = bytes;
        let error = first ^ second ^ third ^ fourth ^ fifth;
        Self { held: [first, second, third, fourth, fifth, error], count: 6 }
    }

    /// All of them, the error byte last.
    pub fn as_slice(&self) -> &[u8] {
        self.held.get(..usize::from(self.count)).unwrap_or_default()
    }

    /// Those before the error byte.
    pub fn payload(&self) -> &[u8] {
        self.held.get(..usize::from(self.count).saturating_sub(1)).unwrap_or_default()
    }

    /// The last byte.
    pub fn error_byte(&self) -> u8 {
        self.as_slice().last().copied().unwrap_or_default()
    }

    /// What the last byte has to be: the exclusive or of all before it.
    ///
    /// # Source
    /// NMRA S-9.2 (July 2004), section B, byte three.
    pub fn checksum(&self) -> u8 {
        checksum(self.payload())
    }

    /// Whether the last byte is what it has to be. A decoder ignores the packet where it is not.
    pub fn checksum_ok(&self) -> bool {
        self.checksum() == self.error_byte()
    }
}

impl core::fmt::Display for Bytes {
    /// Two hexadecimal digits a byte, blanks between: `81 F9 78`.
    fn fmt(&self, to: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        for (index, byte) in self.as_slice().iter().enumerate() {
            write!(to, "{}{byte:02X}", if index == 0 { "" } else { " " })?;
        }
        Ok(())
    }
}

/// The exclusive or of these bytes.
pub fn checksum(bytes: &[u8]) -> u8 {
    bytes.iter().fold(0, |sum, byte| sum ^ byte)
}
