//! The work order between two plans: what of the one that is built stays, and what has to be taken out, moved, fitted,
//! labelled anew and programmed anew for the other to be built.
//!
//! Things are known again as the as-built record knows them: levers by their machines and ids, machines by names and
//! tracks, decoders by ids, strips by panels, wires by what they are for. Which numbers and addresses change is not decided
//! here: the new plan was made beside the record of the old one, with the fewest changes.

mod part;
mod was;

use crate::model::Plan;
use crate::reason::MINUTES_OF_WORK;
use description::Work;
use description::record::Record;
use measure::Duration;
use notice::{Because, Decided, natural};
use part::Comparison;
use std::cmp::Ordering;
use std::collections::BTreeSet;
use was::Was;

/// What is done with a thing, in the order in which it is done at one place.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Action {
    /// It is taken out.
    Remove,
    /// It goes to another place, or its lead to another output.
    Move,
    /// It is fitted.
    Add,
    /// It gets another label or plate.
    Relabel,
    /// It is set to another address.
    Reprogram,
    /// Nothing is done.
    Keep,
}

impl Action {
    /// The word for it on a list of work.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Remove => "take out",
            Self::Move => "move",
            Self::Add => "fit",
            Self::Relabel => "label anew",
            Self::Reprogram => "set",
            Self::Keep => "leave",
        }
    }
}

/// A kind of thing that is built.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Thing {
    /// A row of button pairs.
    Strip,
    /// A decoder.
    Decoder,
    /// What moves points.
    Machine,
    /// A light, a signal or the like.
    Accessory,
    /// A wire.
    Wire,
    /// A control, with the plate beside it.
    Lever,
}

impl Thing {
    /// The word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Strip => "strip",
            Self::Decoder => "decoder",
            Self::Machine => "machine",
            Self::Accessory => "accessory",
            Self::Wire => "wire",
            Self::Lever => "lever",
        }
    }
}

/// One piece of work, or one thing that stays.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Item {
    /// What is done.
    pub action: Action,
    /// With what kind of thing.
    pub thing: Thing,
    /// Its id or name; that of the new plan where it is in both.
    pub name: String,
    /// Where the work is done; none where the layout does not say.
    pub at: Option<String>,
    /// What it is as built, in words: a place, a number, an output.
    pub was: Option<String>,
    /// What it is to be.
    pub now: Option<String>,
    /// How long it takes.
    ///
    /// # Units
    /// Seconds.
    pub seconds: u32,
}

/// Everything there is to do, in bench order: place by place along the runs of the bench, and at each place in the order
/// of [`Action`]. What stays is among it.
#[derive(Clone, Debug, Default)]
pub struct WorkOrder {
    /// The items.
    pub items: Vec<Decided<Item>>,
}

impl WorkOrder {
    /// The items of one action, in bench order.
    pub fn of(&self, action: Action) -> impl Iterator<Item = &Decided<Item>> {
        self.items.iter().filter(move |item| item.value.action == action)
    }

    /// How many pieces of work there are.
    pub fn count(&self) -> usize {
        self.items.iter().filter(|item| item.value.action != Action::Keep).count()
    }

    /// Whose plates, labels and flags have to be printed, kind by kind, each once, in bench order.
    pub fn labels(&self) -> Vec<(Thing, Vec<&str>)> {
        let needs = |item: &Item| match item.action {
            Action::Relabel => true,
            // The flags of a wire say where its ends are.
            Action::Move => item.thing == Thing::Wire,
            Action::Add => !matches!(item.thing, Thing::Machine | Thing::Strip),
            Action::Remove | Action::Reprogram | Action::Keep => false,
        };
        let kinds =
            [Thing::Lever, Thing::Accessory, Thing::Decoder, Thing::Strip, Thing::Machine, Thing::Wire];
        let of = |kind: Thing| {
            let mut met = BTreeSet::new();
            let items = self.items.iter().map(|item| &item.value);
            let items = items.filter(|item| item.thing == kind && needs(item));
            items.map(|item| item.name.as_str()).filter(|name| met.insert(*name)).collect::<Vec<_>>()
        };
        kinds.into_iter().map(|kind| (kind, of(kind))).filter(|(_, names)| !names.is_empty()).collect()
    }

    /// How long all of it takes.
    ///
    /// # Units
    /// Seconds.
    pub fn seconds(&self) -> u32 {
        self.items.iter().fold(0, |sum, item| sum.saturating_add(item.value.seconds))
    }
}

/// The work that leads from one plan, built as `built` says, to another, which will be built as `next` says.
///
/// `built` and `next` are what [`record_of`](crate::record_of) makes of the two plans.
pub fn work_order(old: &Plan, built: &Record, new: &Plan, next: &Record) -> WorkOrder {
    let was = Was::of_plan(old, built);
    in_bench_order(Comparison::new(&was, built, new, next).items(), &places_along_bench(&[new, old]))
}

/// The work that leads from what a record says is built to a plan, which will be built as `next` says.
///
/// A record knows no motors, no parts of strips and no names: where those change it sees no work, and [`work_order`] does.
pub fn work_since(built: &Record, new: &Plan, next: &Record) -> WorkOrder {
    let was = Was::of_record(built, new);
    in_bench_order(Comparison::new(&was, built, new, next).items(), &places_along_bench(&[new]))
}

fn in_bench_order(mut items: Vec<Decided<Item>>, places: &[String]) -> WorkOrder {
    let rank = |at: &Option<String>| match at {
        Some(at) => places.iter().position(|place| place == at).unwrap_or(places.len()),
        None => usize::MAX,
    };
    items.sort_by(|a, b| {
        let (a, b) = (&a.value, &b.value);
        let by_place = rank(&a.at).cmp(&rank(&b.at));
        let by_name = || match (&a.at, &b.at) {
            (Some(a), Some(b)) => natural(a, b),
            _ => Ordering::Equal,
        };
        by_place
            .then_with(by_name)
            .then(a.action.cmp(&b.action))
            .then(a.thing.cmp(&b.thing))
            .then_with(|| natural(&a.name, &b.name))
    });
    WorkOrder { items }
}

/// Places in the order in which the runs of the benches name them, bench by bench.
fn places_along_bench(plans: &[&Plan]) -> Vec<String> {
    let mut places: Vec<String> = Vec::new();
    for plan in plans {
        let runs = plan.network.described.bench.iter().flat_map(|bench| &bench.runs);
        for place in runs.flat_map(|run| [&run.from.value, &run.to.value]) {
            if !places.contains(place) {
                places.push(place.clone());
            }
        }
    }
    places
}

/// How long the work on one thing takes, by `[work]` of the description or the usual times.
fn seconds_of(work: &Work, action: Action, thing: Thing, is_lead: bool) -> u32 {
    let fit = match thing {
        Thing::Strip => work.strip,
        Thing::Decoder => work.decoder,
        Thing::Machine => work.machine,
        Thing::Accessory => work.accessory,
        Thing::Wire => work.wire,
        Thing::Lever => work.lever,
    };
    let share = work.take_out.value();
    let seconds = match action {
        Action::Keep => 0.0,
        Action::Add => fit.value(),
        Action::Remove => fit.value() * share,
        Action::Move if is_lead => work.lead.value(),
        Action::Move => fit.value() * (1.0 + share),
        Action::Relabel => work.relabel.value(),
        Action::Reprogram => work.reprogram.value(),
    };
    whole(Duration::new(seconds))
}

/// Whole seconds; what no calendar holds is cut off.
#[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to what fits")]
fn whole(time: Duration) -> u32 {
    time.value().round().clamp(0.0, f64::from(u32::MAX)) as u32
}

/// Why a piece of work takes as long as it does.
fn because_of_time(action: Action, thing: Thing, is_lead: bool, seconds: u32) -> Because {
    let what = match action {
        Action::Add => format!("fitting a {}", thing.word()),
        Action::Remove => format!("taking out a {}", thing.word()),
        Action::Move if is_lead => "moving a lead".to_owned(),
        Action::Move => format!("taking out a {} and fitting it", thing.word()),
        Action::Relabel => "a new label".to_owned(),
        Action::Reprogram => "setting an address".to_owned(),
        Action::Keep => "leaving it".to_owned(),
    };
    let minutes = f64::from(seconds) / 60.0;
    Because::new(&MINUTES_OF_WORK, [what.into(), format!("{minutes:.1}").trim_end_matches(".0").into()])
}
