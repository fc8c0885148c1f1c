//! What a decoder answers when a variable is wrong: off by four, board 0, the high part left over, the wrong method.

use super::Subject;
use crate::reason::{
    WRONG_BROADCAST, WRONG_COMPLEMENT, WRONG_EXTENDED, WRONG_LEFT, WRONG_LITERAL, WRONG_LOCOMOTIVE,
    WRONG_METHOD, WRONG_NO_BOARD, WRONG_ONE_BOARD, WRONG_WHOLE_BOARD,
};
use notice::Because;
use packet::{AddressCvs, AddressMethod, BROADCAST_BOARD, BinaryAddress, Board, Scheme, UserAddress};

impl Subject<'_> {
    /// The addresses that this decoder answers when it starts here, as the system counts.
    fn answered(&self, start: BinaryAddress) -> impl Iterator<Item = UserAddress> {
        let scheme = self.plan.scheme();
        let outputs = i16::try_from(self.decoder.outputs.max(1)).unwrap_or(i16::MAX);
        (0..outputs).map(move |offset| start.further(offset).user(scheme))
    }

    /// The same in words: `5–12`.
    pub(super) fn heard(&self, start: BinaryAddress) -> String {
        let all = self.answered(start).map(UserAddress::number);
        let mut runs: Vec<(u16, u16)> = Vec::new();
        for address in all {
            match runs.last_mut() {
                Some((_, last)) if *last + 1 == address => *last = address,
                _ => runs.push((address, address)),
            }
        }
        let words = runs
            .iter()
            .map(|(first, last)| if first == last { first.to_string() } else { format!("{first}–{last}") });
        words.collect::<Vec<_>>().join(" and ")
    }

    /// The same, with whom of the plan it would answer for.
    fn heard_of(&self, start: BinaryAddress) -> String {
        let heard = self.heard(start);
        let all: Vec<UserAddress> = self.answered(start).collect();
        let mut others: Vec<&str> = self
            .plan
            .addresses
            .iter()
            .filter(|row| all.contains(&row.address))
            .filter_map(|row| Some(self.plan.decoders.get(row.decoder?)?.id.as_str()))
            .filter(|id| *id != self.decoder.id)
            .collect();
        others.dedup();
        if others.is_empty() { heard } else { format!("{heard}, addresses of {}", others.join(" and ")) }
    }

    /// What it answers with these variables by decoder address.
    fn of_board(&self, cvs: AddressCvs) -> Option<String> {
        Some(self.heard_of(cvs.first(AddressMethod::Decoder)?))
    }

    pub(super) fn wrong_board_low(&self, right: AddressCvs) -> Vec<Because> {
        let with = |cv1| AddressCvs { cv1, ..right };
        let mut wrong = Vec::new();
        let board = Board::of(self.first).number();
        if board == BROADCAST_BOARD {
            wrong.push(Because::new(&WRONG_BROADCAST, [board.into()]));
        }
        for cv1 in [right.cv1.checked_sub(1), right.cv1.checked_add(1)].into_iter().flatten() {
            if let Some(heard) = self.of_board(with(cv1)) {
                let zero = if cv1 == 0 && right.cv9 == 0 { ", which is board 0," } else { "" };
                wrong
                    .push(Because::new(&WRONG_ONE_BOARD, [u16::from(cv1).into(), zero.into(), heard.into()]));
            }
        }
        if board > 63 {
            wrong.push(Because::new(&WRONG_WHOLE_BOARD, [board.into()]));
        }
        if let Some(heard) = self.of_board(with(1)).filter(|_| right.cv1 > 2) {
            wrong.push(Because::new(&WRONG_LEFT, [1u16.into(), heard.into()]));
        }
        wrong
    }

    pub(super) fn wrong_board_high(&self, right: AddressCvs) -> Vec<Because> {
        let with = |cv9| AddressCvs { cv9, ..right };
        let left = u8::from(right.cv9 == 0);
        let mut wrong = Vec::new();
        if let Some(heard) = self.of_board(with(left)) {
            wrong.push(Because::new(&WRONG_LEFT, [u16::from(left).into(), heard.into()]));
        }
        let turned = !right.cv9 & 7;
        if let Some(heard) = self.of_board(with(turned)) {
            wrong.push(Because::new(&WRONG_COMPLEMENT, [u16::from(turned).into(), heard.into()]));
        }
        wrong
    }

    pub(super) fn wrong_method_board(&self, right: AddressCvs) -> Vec<Because> {
        let number = u16::from_be_bytes([right.cv9, right.cv1]);
        // Of board 1 the variables are the same either way.
        let as_outputs = UserAddress::new(number).map(|user| user.binary(self.counts));
        let as_outputs = as_outputs.filter(|start| *start != self.first).map(|start| {
            let heard = self.heard_of(start);
            Because::new(&WRONG_METHOD, [0xC0u16.into(), format!("output {number}").into(), heard.into()])
        });
        as_outputs.into_iter().chain(wrong_kind(0)).collect()
    }

    /// The standard's formula and its default value contradict each other, and four outputs lie between them.
    pub(super) fn wrong_output_low(&self, user: UserAddress) -> Vec<Because> {
        let (off, instead) = match self.counts {
            Scheme::Linear | Scheme::BlocksOf256 => (-4, user.number().checked_add(4)),
            Scheme::ZeroBased => (4, user.number().checked_sub(4)),
        };
        let heard = self.heard_of(self.first.further(off));
        let instead = instead.and_then(UserAddress::new).map(AddressCvs::of_output);
        let other = instead.map(|instead| {
            let [cv1, cv9] = [instead.cv1, instead.cv9].map(u16::from);
            Because::new(&WRONG_LITERAL, [heard.into(), cv1.into(), cv9.into()])
        });
        other.into_iter().collect()
    }

    pub(super) fn wrong_output_high(&self, right: AddressCvs) -> Vec<Because> {
        let left = u8::from(right.cv9 == 0);
        let by = (i16::from(left) - i16::from(right.cv9)) * 256;
        let heard = self.heard_of(self.first.further(by));
        vec![Because::new(&WRONG_LEFT, [u16::from(left).into(), heard.into()])]
    }

    pub(super) fn wrong_method_output(&self, right: AddressCvs) -> Vec<Because> {
        let board = u32::from(right.cv9) << 6 | u32::from(right.cv1);
        let first = match self.of_board(right) {
            Some(heard) => {
                Because::new(&WRONG_METHOD, [0x80u16.into(), format!("board {board}").into(), heard.into()])
            }
            None => Because::new(&WRONG_NO_BOARD, [0x80u16.into(), u16::from(right.cv1).into()]),
        };
        [first].into_iter().chain(wrong_kind(0x40)).collect()
    }
}

/// What bits 7 and 5 do when they are wrong, beside a right bit 6.
fn wrong_kind(bit6: u16) -> [Because; 2] {
    [Because::new(&WRONG_LOCOMOTIVE, [bit6.into()]), Because::new(&WRONG_EXTENDED, [(0xA0 | bit6).into()])]
}
