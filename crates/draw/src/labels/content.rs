//! What stands on each label.

use plan::model::{ANY_COLOUR, Plan};

/// Kinds of labels.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Kind {
    /// A lever's number.
    Number,
    /// A decoder.
    Decoder,
    /// A terminal of a decoder.
    Terminal,
    /// One end of a conductor; printed twice on it, to be folded round the wire.
    Flag,
}

impl Kind {
    pub(super) fn class(self) -> &'static str {
        match self {
            Self::Number => "label-number",
            Self::Decoder => "label-decoder",
            Self::Terminal => "label-terminal",
            Self::Flag => "label-flag",
        }
    }
}

/// One label.
#[derive(Clone, Debug)]
pub(super) struct Label {
    pub(super) kind: Kind,
    /// What stands large.
    pub(super) head: String,
    /// What stands below it, row by row.
    pub(super) rows: Vec<String>,
    /// The places of what it stands on.
    pub(super) at: Vec<String>,
    /// What its QR code opens.
    pub(super) link: Option<String>,
}

/// All labels of a kind.
pub(super) fn labels_of(plan: &Plan, kind: Kind) -> Vec<Label> {
    match kind {
        Kind::Number => numbers(plan),
        Kind::Decoder => decoders(plan),
        Kind::Terminal => terminals(plan),
        Kind::Flag => flags(plan),
    }
}

fn numbers(plan: &Plan) -> Vec<Label> {
    let label = |lever: &plan::model::PlannedLever| {
        let number = lever.number.value.to_string();
        let name = plan.network.lever(lever.lever).name.clone();
        let rows = if name == number { Vec::new() } else { vec![name] };
        Label { kind: Kind::Number, head: number, rows, at: Vec::new(), link: None }
    };
    plan.levers.iter().map(label).collect()
}

fn decoders(plan: &Plan) -> Vec<Label> {
    let link = plan.network.described.labels.link.as_ref();
    let label = |decoder: &plan::model::Decoder| {
        let first = u32::from(decoder.first.value.number());
        let last = first + u32::from(decoder.outputs.max(1)) - 1;
        let mut rows = vec![format!("addresses {first} to {last}"), decoder.part.clone()];
        rows.extend(decoder.at.as_ref().map(|at| format!("at {}", at.value)));
        let link = link.map(|link| format!("{}/#{}", link.value.trim_end_matches('/'), decoder.anchor()));
        let at = decoder.at.iter().map(|at| at.value.clone()).collect();
        Label { kind: Kind::Decoder, head: decoder.id.clone(), rows, at, link }
    };
    plan.decoders.iter().map(label).collect()
}

fn terminals(plan: &Plan) -> Vec<Label> {
    let mut labels = Vec::new();
    for (index, decoder) in plan.decoders.iter().enumerate() {
        for output in 0..decoder.outputs {
            let address = u32::from(decoder.first.value.number()) + u32::from(output);
            let mut hangs: Vec<String> = plan
                .addresses
                .iter()
                .filter(|planned| {
                    planned.decoder == Some(index) && u32::from(planned.address.number()) == address
                })
                .flat_map(|planned| &planned.machines)
                .map(|&machine| plan.network.machine(machine).name.clone())
                .collect();
            let others = plan.accessories_of(index);
            let others =
                others.filter(|planned| plan.output_of(planned).is_some_and(|(_, at)| at == output + 1));
            hangs.extend(others.map(|planned| plan.network.accessory(planned.accessory).key()));
            let hangs = if hangs.is_empty() { "spare".to_owned() } else { hangs.join(", ") };
            let head = format!("{} · {}", decoder.id, output + 1);
            let rows = vec![hangs, format!("address {address}")];
            let at = decoder.at.iter().map(|at| at.value.clone()).collect();
            labels.push(Label { kind: Kind::Terminal, head, rows, at, link: None });
        }
    }
    labels
}

/// Two flags for each conductor: what it is called, where it goes from that end, what it does and its colour.
fn flags(plan: &Plan) -> Vec<Label> {
    let mut labels = Vec::new();
    for (wire, core) in plan.wires.iter().flat_map(|wire| wire.cores.iter().map(move |core| (wire, core))) {
        let does = match core.colour.value.as_str() {
            ANY_COLOUR => core.job.words().to_owned(),
            colour => format!("{}, {colour}", core.job.words()),
        };
        labels.extend(core.labels.iter().map(|there| {
            let there = there.strip_prefix(core.id.as_str()).unwrap_or(there).trim_start();
            let rows = vec![there.to_owned(), does.clone()];
            let at = wire.ends.iter().filter_map(|end| end.at.clone()).collect();
            Label { kind: Kind::Flag, head: core.id.clone(), rows, at, link: None }
        }));
    }
    labels
}
