//! What each decoder is programmed with, step by step in bench order: which variables, which values, how to see that each is right,
//! what a wrong one would do, and what to write on the decoder's label.
//!
//! There are two methods. By decoder address the variables hold the board that the packet carries, and the decoder answers all four
//! pairs of it and of those that follow; that is how a decoder is set that starts on a board. By output address they hold the number of
//! its first output; that is how one is set that starts between boards, and the other way for one that can do both. A decoder that
//! learns its address by a push of a button goes by its own leaflet.
//!
//! # Source
//! NMRA S-9.2.2 (July 2012), accessory decoders, table 3: CV 1 and CV 9 hold the address, CV 29 says which method (bit 6), basic or
//! extended (bit 5), accessory (bit 7). The packets on the main: NMRA S-9.2.1 (July 2012), sections C and D.

mod wrong;

use crate::distance::Distances;
use crate::model::{Decoder, Plan, scheme_of};
use crate::reason::{
    BOARD_HIGH, BOARD_LOW, METHOD_BOARD, METHOD_OUTPUT, OUTPUT_HIGH, OUTPUT_LOW, READ_BACK, THROW_ENDS,
};
use notice::{Because, Decided, natural};
use packet::{
    AccessoryConfiguration, AddressCvs, BinaryAddress, Board, Bytes, CvAccess, CvAction, CvNumber, CvTarget,
    Scheme,
};

/// What the variables of an address count.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Method {
    /// Boards of four.
    DecoderAddress,
    /// Outputs.
    OutputAddress,
}

impl Method {
    /// The standard's word for it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::DecoderAddress => "decoder-address",
            Self::OutputAddress => "output-address",
        }
    }

    /// The other one.
    #[must_use]
    pub const fn other(self) -> Self {
        match self {
            Self::DecoderAddress => Self::OutputAddress,
            Self::OutputAddress => Self::DecoderAddress,
        }
    }
}

/// All that is done to one decoder.
#[derive(Clone, Debug)]
pub struct Sheet {
    /// Index of the decoder in [`Plan::decoders`].
    pub decoder: usize,
    /// How it is set, where it can be set both ways.
    pub method: Method,
    /// The steps of that method.
    pub steps: Vec<Step>,
    /// The steps of the other one; none where it starts between boards, so that there is no other.
    pub other: Vec<Step>,
    /// What to write on its label.
    pub label: String,
}

/// One value to write into one variable of one decoder.
#[derive(Clone, Debug)]
pub struct Step {
    /// The variable.
    pub cv: u16,
    /// What to write, and why.
    pub value: Decided<u8>,
    /// How to see that it is right, before the next step.
    pub check: Vec<Because>,
    /// What wrong values would do, the likeliest first.
    pub if_wrong: Vec<Because>,
    /// The packet that writes it on the main, to be sent twice, where the decoder had the variables of a new one before the first
    /// step. None by output address, where the standard leaves open to whom it would be sent.
    pub on_main: Option<Bytes>,
}

/// The sheets of all decoders, place by place along the runs of the bench; those without a place come last.
pub fn sheets(plan: &Plan) -> Vec<Sheet> {
    let distances = Distances::new(&plan.network.described);
    let rank = |decoder: &Decoder| {
        let at = decoder.at.as_ref().map(|at| at.value.as_str());
        let along = at.and_then(|at| distances.places().iter().position(|place| place == at));
        (at.is_none(), along.unwrap_or(usize::MAX), at.unwrap_or_default().to_owned())
    };
    let mut order: Vec<usize> = (0..plan.decoders.len()).collect();
    order.sort_by(|&a, &b| {
        let (a, b) = (rank(&plan.decoders[a]), rank(&plan.decoders[b]));
        a.0.cmp(&b.0).then(a.1.cmp(&b.1)).then_with(|| natural(&a.2, &b.2))
    });
    order.into_iter().map(|index| sheet(plan, index)).collect()
}

/// One decoder with what its steps are worked out from.
struct Subject<'a> {
    plan: &'a Plan,
    decoder: &'a Decoder,
    /// The first address that it answers, as the packet carries it.
    first: BinaryAddress,
    /// How it counts outputs.
    counts: Scheme,
}

fn sheet(plan: &Plan, index: usize) -> Sheet {
    let decoder = &plan.decoders[index];
    let part = plan.network.described.parts.get(&decoder.part);
    let counts = part.and_then(|part| part.counts).map_or(Scheme::Linear, |counts| scheme_of(counts.value));
    let subject = Subject { plan, decoder, first: decoder.first.value.binary(plan.scheme()), counts };
    let on_board = subject.first.output() == 0;
    let (method, steps, other) = if on_board {
        (Method::DecoderAddress, subject.by_board(), subject.by_output())
    } else {
        (Method::OutputAddress, subject.by_output(), Vec::new())
    };
    let written: Vec<String> =
        steps.iter().map(|step| format!("CV {} = {}", step.cv, step.value.value)).collect();
    let label = format!("{}: {}; {}", decoder.id, subject.heard(subject.first), written.join(", "));
    Sheet { decoder: index, method, steps, other, label }
}

impl Subject<'_> {
    fn by_board(&self) -> Vec<Step> {
        let (first, board) = (self.decoder.first.value.number(), Board::of(self.first));
        let cvs = AddressCvs::of_board(board);
        let saw = || [first.into(), board.number().into()];
        let kind = AccessoryConfiguration::default();
        let new = AddressCvs { cv1: 1, cv9: 0 };
        let between = AddressCvs { cv9: 0, ..cvs };
        let main = |cv, value, had: AddressCvs| {
            let target = CvTarget::Board(Board::new(u16::from(had.cv9) << 6 | u16::from(had.cv1))?);
            Some(CvAccess { target, cv: CvNumber::new(cv)?, action: CvAction::Write(value) }.encode())
        };
        let step = |cv, value: Decided<u8>, had, if_wrong| Step {
            cv,
            on_main: main(cv, value.value, had),
            check: vec![Because::new(&READ_BACK, [cv.into(), u16::from(value.value).into()])],
            value,
            if_wrong,
        };
        let mut steps = vec![
            step(1, Decided::new(cvs.cv1, Because::new(&BOARD_LOW, saw())), new, self.wrong_board_low(cvs)),
            step(
                9,
                Decided::new(cvs.cv9, Because::new(&BOARD_HIGH, saw())),
                between,
                self.wrong_board_high(cvs),
            ),
            step(
                29,
                Decided::new(kind.value(), Because::new(&METHOD_BOARD, [])),
                cvs,
                self.wrong_method_board(cvs),
            ),
        ];
        self.thrown_at_last(&mut steps);
        steps
    }

    fn by_output(&self) -> Vec<Step> {
        let user = self.first.user(self.counts);
        let cvs = AddressCvs::of_output(user);
        let first = self.decoder.first.value.number();
        let saw = || [first.into(), user.number().into(), self.counts.word().into()];
        let kind = AccessoryConfiguration { outputs: true, ..AccessoryConfiguration::default() };
        let step = |cv, value: Decided<u8>, if_wrong| Step {
            cv,
            check: vec![Because::new(&READ_BACK, [cv.into(), u16::from(value.value).into()])],
            value,
            if_wrong,
            on_main: None,
        };
        let mut steps = vec![
            step(1, Decided::new(cvs.cv1, Because::new(&OUTPUT_LOW, saw())), self.wrong_output_low(user)),
            step(9, Decided::new(cvs.cv9, Because::new(&OUTPUT_HIGH, saw())), self.wrong_output_high(cvs)),
            step(
                29,
                Decided::new(kind.value(), Because::new(&METHOD_OUTPUT, [])),
                self.wrong_method_output(cvs),
            ),
        ];
        self.thrown_at_last(&mut steps);
        steps
    }

    /// With the last variable written the decoder answers: its first and last output are thrown, and their neighbours.
    fn thrown_at_last(&self, steps: &mut [Step]) {
        let outputs = self.decoder.outputs.max(1);
        let span = i16::try_from(outputs).unwrap_or(i16::MAX);
        let at = |by: i16| self.first.further(by).user(self.plan.scheme()).number();
        let last = self.plan.network.described.system.last_address;
        let beside: Vec<String> =
            [at(-1), at(span)].iter().filter(|at| **at <= last).map(ToString::to_string).collect();
        if let Some(step) = steps.last_mut() {
            step.check.push(Because::new(
                &THROW_ENDS,
                [at(0).into(), at(span - 1).into(), outputs.into(), beside.join(" and ").into()],
            ));
        }
    }
}
