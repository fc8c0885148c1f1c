//! In which order a railroad is tried, so that each step can fail only for reasons that it names.
//!
//! Supplies come before what they feed, the bus before the decoder, the decoder before the machine (common practice, no
//! source). Within that, what is done at one place is done in one crawl as far as it can be: [`walk`] finds the order of visits.
//! What a step can fail for comes from the fault model: the faults that would show at what it looks at, less all that an
//! earlier step would have shown.

mod task;
pub mod walk;

use crate::fault::{Answer, System};
use plan::model::Plan;
use plan::model::power::Reading;
use std::collections::{BTreeMap, BTreeSet};
use task::Task;
use walk::{Visit, Walk};

/// What kind of step, in the order of the electricity.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Phase {
    /// A supply alone.
    Supply,
    /// A bus, place by place.
    Bus,
    /// A dead short, on purpose.
    Coin,
    /// A decoder programmed and labelled.
    Decoder,
    /// A bus with all that hangs on it.
    Loaded,
    /// A lever thrown both ways.
    Machine,
    /// A gap.
    Gap,
    /// The rails.
    Rails,
    /// A frog and the contact that feeds it.
    Frog,
    /// A strip or the buttons of a panel.
    Strip,
    /// A lamp, a signal or a light.
    Lamp,
    /// The screen.
    Screen,
    /// Routes, set with one push or lever by lever.
    Routes,
    /// An hour of operation.
    Hour,
}

impl Phase {
    /// The word for it, as JSON and sheets have it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Supply => "supply",
            Self::Bus => "bus",
            Self::Coin => "coin test",
            Self::Decoder => "decoder",
            Self::Loaded => "bus under load",
            Self::Machine => "machine",
            Self::Frog => "frog",
            Self::Gap => "gap",
            Self::Rails => "rails",
            Self::Strip => "strip",
            Self::Lamp => "lamp",
            Self::Screen => "screen",
            Self::Routes => "routes",
            Self::Hour => "operating hour",
        }
    }

    /// Why it comes where it comes.
    pub fn why(self) -> &'static str {
        match self {
            Self::Supply => {
                "a supply is tried alone, before anything that a wrong one could harm hangs on it"
            }
            Self::Bus => {
                "a bus is tried from its supply outwards, so that a bad reading is the fault of the last run"
            }
            Self::Coin => "the breaker has to open before anything that a short could melt is connected",
            Self::Decoder => "a decoder is programmed when both its feeds are known to be good",
            Self::Loaded => {
                "a bad joint shows only when current flows: so the bus is read again with all that it feeds"
            }
            Self::Machine => "a machine is thrown when its decoder answers",
            Self::Frog => {
                "a frog is fed by contacts of points that are known to move the right way, and an engine has to get there"
            }
            Self::Gap => "gaps are tried before the droppers are on, so that nothing else leads across",
            Self::Rails => "rails are tried when gaps are cut, so that only droppers and units are in doubt",
            Self::Strip => "buttons are tried when what they move is known to move",
            Self::Lamp => "lamps tell the truth only of points that move the right way",
            Self::Screen => "the screen is tried when everything moves without it",
            Self::Routes => "routes need every lever on them",
            Self::Hour => "what is in order cold may fail warm",
        }
    }
}

/// One thing to do, to look at, and to tick.
#[derive(Clone, Debug)]
pub struct Step {
    /// What it is about, in words that stay when steps are added before it: findings are kept under it.
    pub key: String,
    /// The lever that it throws.
    pub lever: Option<network::LeverId>,
    /// What kind.
    pub phase: Phase,
    /// The place.
    pub at: Option<String>,
    /// Whether one is under the bench there.
    pub under: bool,
    /// What to do.
    pub does: String,
    /// What is seen when all is in order.
    pub expect: String,
    /// What a meter shows, where one is needed.
    pub reading: Option<Reading>,
    /// Whether what is read is judged by the supply's label, since the plan has no figure for it.
    pub by_label: bool,
    /// The checks that are answered by it.
    pub checks: Vec<usize>,
    /// The least bad answer that it would show: a bus that carries nothing shows no bad joint.
    pub least: Answer,
    /// The faults that it can fail for, all steps before it being in order.
    pub faults: Vec<usize>,
    /// What else it can fail for.
    pub otherwise: Vec<String>,
}

/// All of commissioning.
#[derive(Clone, Debug)]
pub struct Order {
    /// The steps, in order.
    pub steps: Vec<Step>,
    /// How often one gets under the bench.
    pub crawls: usize,
    /// Metres along the bench.
    pub metres: f64,
    /// Whether no order has fewer crawls, nor as many and fewer metres.
    pub proven: bool,
    /// Faults that no step would show.
    pub unseen: Vec<usize>,
}

/// The steps that commission a plan.
///
/// # Example
/// ```
/// let text = "[layout]\nname = \"Tern Harbor\"\n[turnout.1]\npoints = \"a\"\nthrough = \"b\"\ndiverging = \"c\"\nhand = \"left\"\n\
///     [end.a]\ntrack = \"a\"\n[end.b]\ntrack = \"b\"\n[end.c]\ntrack = \"c\"\n";
/// let plan = description::read(text).then(network::resolve).then(plan::make).value;
/// let system = commission::fault::System::of(&plan);
/// let order = commission::order::lay_out(&plan, &system);
/// assert_eq!(order.steps[0].phase, commission::order::Phase::Supply);
/// assert!(order.unseen.is_empty());
/// ```
pub fn lay_out(plan: &Plan, system: &System) -> Order {
    let tasks = task::tasks(plan, system);
    let (visits, of_visit) = visits(&tasks);
    let distances = plan::distance::Distances::new(&plan.network.described);
    let metres = |from: &str, to: &str| distances.between(from, to).map_or(0.0, measure::Length::value);
    let Walk { order, crawls, metres, proven } = walk::shortest(&visits, &metres);
    let mut steps: Vec<Step> = Vec::new();
    for visit in order {
        steps.extend(of_visit[visit].iter().map(|&task| tasks[task].step.clone()));
    }
    let mut left: BTreeSet<usize> = (0..system.faults.len()).collect();
    for step in &mut steps {
        let shown = |fault: &usize| {
            let shows = &system.faults[*fault].shows;
            step.checks.iter().any(|check| shows.get(check).is_some_and(|&answer| answer >= step.least))
        };
        let faults: Vec<usize> = left.iter().copied().filter(shown).collect();
        left.retain(|fault| !faults.contains(fault));
        step.faults = faults;
    }
    Order { steps, crawls, metres, proven, unseen: left.into_iter().collect() }
}

/// What is done in one go.
#[derive(Clone, Copy, PartialEq, Eq)]
enum Together {
    /// What there is of one group at one place.
    Places,
    /// The same, each bus by itself.
    Buses,
    /// Nothing.
    Nothing,
}

/// Tasks of one group at one place are one visit. Where two buses run against one another their tasks cannot be, and each bus
/// is visited by itself. Task by task there is always an order, since each needs only such as come before it.
fn visits(tasks: &[Task]) -> (Vec<Visit>, Vec<Vec<usize>>) {
    let tried = [Together::Places, Together::Buses].map(|together| grouped(tasks, together));
    let possible = tried.into_iter().find(|(visits, _)| walk::is_possible(visits));
    possible.unwrap_or_else(|| grouped(tasks, Together::Nothing))
}

fn grouped(tasks: &[Task], together: Together) -> (Vec<Visit>, Vec<Vec<usize>>) {
    let mut index_of: BTreeMap<(usize, Option<usize>, Option<&str>), usize> = BTreeMap::new();
    let (mut visits, mut of_visit): (Vec<Visit>, Vec<Vec<usize>>) = (Vec::new(), Vec::new());
    let mut visit_of = Vec::new();
    for (index, task) in tasks.iter().enumerate() {
        let apart = match together {
            Together::Places => None,
            Together::Buses => task.bus,
            Together::Nothing => Some(index),
        };
        let key = (task.group, apart, task.step.at.as_deref());
        let visit = *index_of.entry(key).or_insert_with(|| {
            let at = task.step.at.clone().unwrap_or_default();
            visits.push(Visit { at, under: task.step.under, after: BTreeSet::new() });
            of_visit.push(Vec::new());
            visits.len() - 1
        });
        visits[visit].under |= task.step.under;
        of_visit[visit].push(index);
        visit_of.push(visit);
    }
    for (index, task) in tasks.iter().enumerate() {
        for &needed in &task.after {
            if visit_of[needed] != visit_of[index] {
                visits[visit_of[index]].after.insert(visit_of[needed]);
            }
        }
    }
    // Within a visit, what is needed comes first: phases in order, then as the plan has them.
    for tasks_of in &mut of_visit {
        tasks_of.sort_by_key(|&task| (tasks[task].bus, tasks[task].step.phase, task));
    }
    (visits, of_visit)
}
