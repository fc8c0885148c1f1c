//! Frames of the layout bus as text: `:X195B43CCN0101020000FF0009;`.
//!
//! # Source
//! The form of the frames printed in the technical notes of the LCC standards (such as TN Firmware Upgrade, section 4). No LCC
//! standard defines it. Lower-case digits and rows between frames are taken too: from memory. A frame begins anew at each
//! colon, so one that lost its end costs no other.

use core::fmt;

/// A frame: a header of 29 bits and up to eight bytes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct CanFrame {
    header: u32,
    held: [u8; Self::DATA_MAX],
    count: u8,
}

impl CanFrame {
    /// The most bytes of data.
    pub const DATA_MAX: usize = 8;
    /// The highest header.
    pub const HEADER_MAX: u32 = 0x1FFF_FFFF;

    /// A frame; none where the header has more than 29 bits or the data more than eight bytes.
    pub fn new(header: u32, data: &[u8]) -> Option<Self> {
        if header > Self::HEADER_MAX || data.len() > Self::DATA_MAX {
            return None;
        }
        let mut held = [0; Self::DATA_MAX];
        for (to, from) in held.iter_mut().zip(data) {
            *to = *from;
        }
        Some(Self { header, held, count: u8::try_from(data.len()).ok()? })
    }

    /// A frame of eight bytes under a header of 29 bits; what is above them is left out.
    pub(crate) const fn of_eight(header: u32, data: [u8; 8]) -> Self {
        Self { header: header & Self::HEADER_MAX, held: data, count: 8 }
    }

    /// The 29 bits of its header.
    pub const fn header(&self) -> u32 {
        self.header
    }

    /// Its data.
    pub fn data(&self) -> &[u8] {
        self.held.get(..usize::from(self.count)).unwrap_or_default()
    }
}

impl fmt::Display for CanFrame {
    fn fmt(&self, to: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(to, ":X{:08X}N", self.header)?;
        for byte in self.data() {
            write!(to, "{byte:02X}")?;
        }
        to.write_str(";")
    }
}

/// What came out of text.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameRead {
    /// A whole frame.
    Frame(CanFrame),
    /// Something that began like a frame and was none.
    Fault(FrameFault),
}

/// Why something was no frame.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FrameFault {
    /// Its header has too few or too many digits, or more than 29 bits.
    Header,
    /// A letter that has no place there.
    Letter(u8),
    /// An odd number of digits.
    HalfByte,
    /// More than eight bytes.
    Long,
    /// A colon came before its semicolon.
    Unended,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum State {
    /// Between frames.
    Outside,
    /// A colon has come.
    Colon,
    /// So many digits of the header have come.
    Header { digits: u8 },
    /// So many digits of the data have come.
    Data { digits: u8 },
}

/// Takes frames out of text as it comes.
#[derive(Clone, Debug)]
pub struct FrameReader {
    state: State,
    header: u32,
    held: [u8; CanFrame::DATA_MAX],
}

impl Default for FrameReader {
    fn default() -> Self {
        Self { state: State::Outside, header: 0, held: [0; CanFrame::DATA_MAX] }
    }
}

impl FrameReader {
    /// A reader between frames.
    pub fn new() -> Self {
        Self::default()
    }

    /// More of the text.
    pub fn feed(&mut self, text: &[u8], to: &mut impl FnMut(FrameRead)) {
        for byte in text {
            if let Some(read) = self.byte(*byte) {
                to(read);
            }
        }
    }

    fn byte(&mut self, byte: u8) -> Option<FrameRead> {
        let before = self.state;
        if byte == b':' {
            self.state = State::Colon;
            return (before != State::Outside).then_some(FrameRead::Fault(FrameFault::Unended));
        }
        let fault = match (before, byte) {
            (State::Outside, _) => return None,
            (State::Colon, b'X' | b'x') => {
                self.header = 0;
                self.state = State::Header { digits: 0 };
                return None;
            }
            (State::Header { digits: 8 }, b'N' | b'n') if self.header <= CanFrame::HEADER_MAX => {
                self.held = [0; CanFrame::DATA_MAX];
                self.state = State::Data { digits: 0 };
                return None;
            }
            (State::Header { digits }, _) => match hex(byte).filter(|_| digits < 8) {
                Some(digit) => {
                    self.header = self.header << 4 | u32::from(digit);
                    self.state = State::Header { digits: digits + 1 };
                    return None;
                }
                None if matches!(byte, b'N' | b'n' | b';') || digits >= 8 => FrameFault::Header,
                None => FrameFault::Letter(byte),
            },
            (State::Data { digits }, b';') => {
                self.state = State::Outside;
                if digits % 2 == 1 {
                    return Some(FrameRead::Fault(FrameFault::HalfByte));
                }
                let data = self.held.get(..usize::from(digits / 2)).unwrap_or_default();
                return CanFrame::new(self.header, data).map(FrameRead::Frame);
            }
            (State::Data { digits }, _) => match (hex(byte), self.held.get_mut(usize::from(digits / 2))) {
                (Some(digit), Some(held)) => {
                    *held = *held << 4 | digit;
                    self.state = State::Data { digits: digits + 1 };
                    return None;
                }
                (Some(_), None) => FrameFault::Long,
                (None, _) => FrameFault::Letter(byte),
            },
            (State::Colon, _) => FrameFault::Letter(byte),
        };
        self.state = State::Outside;
        Some(FrameRead::Fault(fault))
    }
}

fn hex(byte: u8) -> Option<u8> {
    match byte {
        b'0'..=b'9' => Some(byte - b'0'),
        b'a'..=b'f' => Some(byte - b'a' + 10),
        b'A'..=b'F' => Some(byte - b'A' + 10),
        _ => None,
    }
}
