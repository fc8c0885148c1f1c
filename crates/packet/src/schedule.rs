//! Packets one after another: who comes next, what stands between two to the same decoder, and how long it all takes.

use crate::{BinaryAddress, Board, Bytes, CvTarget, Kind, LocoAddress, Ns, Packet, Preamble, SPACING, Wave};

/// Whom a packet is for, as far as its address tells.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Recipient {
    /// Nobody.
    Nobody,
    /// One board of four pairs. A decoder with eight outputs is two of these.
    Board(Board),
    /// One extended accessory address.
    Extended(BinaryAddress),
    /// Every accessory decoder.
    Accessories,
    /// One locomotive.
    Loco(LocoAddress),
    /// Every locomotive.
    Locos,
    /// Everyone.
    All,
}

impl Recipient {
    /// Whom a packet of this kind is for.
    pub fn of(kind: Kind) -> Self {
        match kind {
            Kind::Idle | Kind::Reserved => Self::Nobody,
            Kind::Reset | Kind::ServiceDirect { .. } | Kind::ServiceRegister { .. } => Self::All,
            Kind::LocoStop(_) | Kind::MultiFunction { address: LocoAddress::Broadcast, .. } => Self::Locos,
            Kind::MultiFunction { address, .. } => Self::Loco(address),
            Kind::Basic(basic) if basic.address.is_broadcast_board() => Self::Accessories,
            Kind::Basic(basic) => Self::Board(Board::of(basic.address)),
            Kind::Extended(extended) if extended.is_broadcast() => Self::Accessories,
            Kind::Extended(extended) => Self::Extended(extended.address),
            Kind::AccessoryCv(access) => match access.target {
                CvTarget::Board(board) | CvTarget::Output(board, _) => Self::Board(board),
                CvTarget::Extended(address) => Self::Extended(address),
            },
            Kind::LegacyCv { board, .. } => Self::Board(board),
            Kind::AccessoryNothing(address) | Kind::AccessoryReserved(address) => {
                Self::Board(Board::of(address))
            }
        }
    }

    /// Whether a decoder may be meant by both.
    pub fn meets(self, other: Self) -> bool {
        match (self, other) {
            (Self::Nobody, _) | (_, Self::Nobody) => false,
            (Self::All, _) | (_, Self::All) => true,
            (Self::Accessories, met) | (met, Self::Accessories) => {
                matches!(met, Self::Accessories | Self::Board(_) | Self::Extended(_))
            }
            (Self::Locos, met) | (met, Self::Locos) => matches!(met, Self::Locos | Self::Loco(_)),
            (one, other) => one == other,
        }
    }
}

/// A packet to send, some times over.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Job {
    bytes: Bytes,
    recipient: Recipient,
    /// Whether it writes a variable: any other packet to the same decoder in between makes the decoder forget it.
    writes: bool,
    times: u8,
    sent: u8,
    ended: Option<Ns>,
}

impl Job {
    /// A packet to be sent this often.
    pub fn new(packet: Packet, times: u8) -> Self {
        let bytes = packet.encode();
        let kind = crate::Decoded::new(bytes, crate::Seen::Main).kind;
        let writes = matches!(packet, Packet::Cv(access) if access.action.writes());
        Self { bytes, recipient: Recipient::of(kind), writes, times, sent: 0, ended: None }
    }

    /// A write that was begun and has not come as often as it has to.
    const fn is_begun_write(&self) -> bool {
        self.writes && self.sent > 0 && self.sent < self.times
    }
}

/// A packet that was sent.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Sent {
    /// When its first preamble bit began.
    pub began: Ns,
    /// When its start bit began.
    pub start_bit: Ns,
    /// When its end bit ended.
    pub ended: Ns,
    /// Its bytes.
    pub bytes: Bytes,
    /// Which job it was for; none for other traffic and idle packets.
    pub job: Option<usize>,
}

/// Sends jobs turn by turn until all are done.
///
/// The job that was sent least comes next, the earlier of equals first, so that every decoder has heard its command once
/// before any hears it again. Writes of a variable are not parted by another packet to the same decoder. Where the
/// standard's spacing forbids all that are left, an idle packet is sent.
///
/// # Source
/// NMRA S-9.2 (July 2004), section C, for the spacing; NMRA S-9.2.1 (July 2012), section C, write byte, for the writes.
#[derive(Debug)]
pub struct Schedule<'a> {
    jobs: &'a mut [Job],
    wave: Wave,
    preamble: Preamble,
    others: &'a [Bytes],
    others_between: u8,
    others_due: u8,
    others_sent: usize,
    at: Ns,
}

impl<'a> Schedule<'a> {
    /// These jobs, on a signal of this form, alone on the rails.
    pub fn new(jobs: &'a mut [Job], wave: Wave, preamble: Preamble) -> Self {
        Self { jobs, wave, preamble, others: &[], others_between: 0, others_due: 0, others_sent: 0, at: 0 }
    }

    /// The same, with so many packets of other traffic between each two of the jobs, taken in turn from these; idle packets
    /// where there are none.
    #[must_use]
    pub fn among(mut self, others: &'a [Bytes], between: u8) -> Self {
        self.others = others;
        self.others_between = between;
        self
    }

    /// When the packet that comes next could begin its start bit.
    fn start_bit(&self) -> Ns {
        self.at + self.wave.preamble(self.preamble)
    }

    fn next_job(&self) -> Option<usize> {
        let start_bit = self.start_bit();
        let free = |index: usize, job: &Job| {
            let met = self.jobs.iter().enumerate().filter(|(_, other)| other.recipient.meets(job.recipient));
            met.into_iter().all(|(met, other)| {
                let apart = other.ended.is_none_or(|ended| start_bit >= ended + SPACING);
                apart && (met == index || !other.is_begun_write())
            })
        };
        let waiting = self.jobs.iter().enumerate();
        let waiting = waiting.filter(|(index, job)| job.sent < job.times && free(*index, job));
        waiting.min_by_key(|(index, job)| (job.sent, *index)).map(|(index, _)| index)
    }

    fn send(&mut self, bytes: Bytes, job: Option<usize>) -> Sent {
        let (began, start_bit) = (self.at, self.start_bit());
        self.at += self.wave.duration(&bytes, self.preamble);
        Sent { began, start_bit, ended: self.at, bytes, job }
    }

    fn other(&mut self) -> Bytes {
        if self.others.is_empty() {
            return Packet::Idle.encode();
        }
        let other = self.others.get(self.others_sent % self.others.len()).copied();
        self.others_sent += 1;
        other.unwrap_or(Packet::Idle.encode())
    }
}

impl Iterator for Schedule<'_> {
    type Item = Sent;

    fn next(&mut self) -> Option<Sent> {
        if self.jobs.iter().all(|job| job.sent >= job.times) {
            return None;
        }
        if self.others_due > 0 {
            self.others_due -= 1;
            let other = self.other();
            return Some(self.send(other, None));
        }
        let Some(index) = self.next_job() else { return Some(self.send(Packet::Idle.encode(), None)) };
        let bytes = self.jobs.get(index)?.bytes;
        let sent = self.send(bytes, Some(index));
        if let Some(job) = self.jobs.get_mut(index) {
            job.sent += 1;
            job.ended = Some(sent.ended);
        }
        self.others_due = self.others_between;
        Some(sent)
    }
}
