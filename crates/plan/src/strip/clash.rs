//! Why a chain finds no addresses: which statements of the description clash, and none more than it takes.
//!
//! The chains that found a place, and the one that did not, cannot all be had beside what is taken, pinned and last. Statement after
//! statement is left out as long as that stays so (in halves, so that much is left out at once); what is left then is
//! irreducible: without any one of the statements all these chains have a place. It need not be the smallest such set.
//!
//! What the as-built record holds is no statement here: it stays.
//!
//! # Source
//! The deletion filter: J. W. Chinneck, E. W. Dravnieks, Locating minimal infeasible constraint sets in linear programs,
//! ORSA Journal on Computing 3 (1991), from memory.

use super::start::{Fixed, has_room, length, start_built};
use super::{Beside, Seated, Wanted};
use description::LAST_ADDRESS_USUAL;
use network::LeverId;
use notice::{Diagnostic, Span};
use packet::UserAddress;
use std::collections::BTreeSet;

/// The most times that it is asked again whether everything fits, for all chains of a layout together.
const ASKED_MAX: usize = 200;

/// The most chains side by side that are looked into.
const CHAINS_MAX: usize = 32;

/// The most starts that are tried for one answer.
const STEPS_MAX: usize = 50_000;

/// The most statements that a finding lists.
const LISTED_MAX: usize = 12;

/// Something the user wrote that takes addresses away.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Statement {
    /// A lever that stands on no strip is pinned to an address.
    Pin(LeverId),
    /// One of the ranges of `taken`.
    Taken(usize),
    /// A chain: where it starts, if that is fixed, or that it wants a place at all.
    Chain(usize),
    /// `last_address`.
    Last,
}

/// The chains of a layout, and what was decided about them.
pub(super) struct Asked<'a> {
    beside: &'a Beside<'a>,
    chains: &'a [&'a [Wanted<'a>]],
    fixed: &'a [Option<Fixed>],
    /// Chains that are free to move and have a place.
    placed: Vec<usize>,
    left: usize,
}

impl<'a> Asked<'a> {
    pub(super) fn new(
        beside: &'a Beside<'a>,
        chains: &'a [&'a [Wanted<'a>]],
        fixed: &'a [Option<Fixed>],
        placed: Vec<usize>,
    ) -> Self {
        Self { beside, chains, fixed, placed, left: ASKED_MAX }
    }

    /// Adds to a finding about a chain without a place what it clashes with.
    pub(super) fn explain(&mut self, chain: usize, mut note: Diagnostic) -> Diagnostic {
        let clash = self.clash(chain);
        let more = clash.len().saturating_sub(LISTED_MAX);
        for statement in clash.into_iter().take(LISTED_MAX) {
            for (span, words) in self.words(statement) {
                note = note.related(span, words);
            }
        }
        if let (true, Some(help)) = (more > 0, note.help.clone()) {
            note = note.help(format!("{help}; {more} more statements like those named stand in the way"));
        }
        note
    }

    /// Statements that cannot be met together with the chain; without any one of them they can.
    fn clash(&mut self, chain: usize) -> Vec<Statement> {
        if self.placed.len() >= CHAINS_MAX {
            return Vec::new();
        }
        let system = &self.beside.network.described.system;
        let mut all: Vec<Statement> =
            self.pins_off_strips().map(|(lever, _)| Statement::Pin(lever)).collect();
        all.extend((0..system.taken.len()).map(Statement::Taken));
        let fixed = (0..self.chains.len()).filter(|other| self.fixed[*other].is_some());
        all.extend(fixed.map(Statement::Chain));
        all.extend(self.placed.iter().map(|other| Statement::Chain(*other)));
        if self.may_be_raised() {
            all.push(Statement::Last);
        }
        if !self.is_impossible(chain, &all) {
            return Vec::new();
        }
        let mut kept = Vec::new();
        self.leave_out(chain, &all, &[], &mut kept);
        kept
    }

    /// Leaves out of a stretch of statements what the clash does not need: kept are `kept` and, of those behind, `rest`.
    fn leave_out(
        &mut self,
        chain: usize,
        stretch: &[Statement],
        rest: &[Statement],
        kept: &mut Vec<Statement>,
    ) {
        if stretch.is_empty() {
            return;
        }
        let without: Vec<Statement> = kept.iter().chain(rest).copied().collect();
        if self.is_impossible(chain, &without) {
            return;
        }
        if stretch.len() == 1 {
            kept.extend(stretch);
            return;
        }
        let (first, second) = stretch.split_at(stretch.len() / 2);
        let behind: Vec<Statement> = second.iter().chain(rest).copied().collect();
        self.leave_out(chain, first, &behind, kept);
        self.leave_out(chain, second, rest, kept);
    }

    /// Whether the chain surely finds no place beside these statements. Where it takes too long to know, it does not say so.
    fn is_impossible(&mut self, chain: usize, statements: &[Statement]) -> bool {
        if self.left == 0 {
            return false;
        }
        self.left -= 1;
        let system = &self.beside.network.described.system;
        let is_raised = self.may_be_raised() && !statements.contains(&Statement::Last);
        let last = if is_raised { LAST_ADDRESS_USUAL } else { system.last_address };
        let field = self.field(last, statements);
        let mut wanted: Vec<usize> = statements
            .iter()
            .filter_map(|statement| match statement {
                Statement::Chain(other) if self.fixed[*other].is_none() => Some(*other),
                Statement::Pin(_) | Statement::Taken(_) | Statement::Chain(_) | Statement::Last => None,
            })
            .collect();
        wanted.push(chain);
        wanted.sort_unstable();
        let rows: Vec<(u32, Vec<u32>)> =
            wanted.iter().map(|chain| (length(self.chains[*chain]), self.starts(*chain, &field))).collect();
        all_fit(&rows) == Some(false)
    }

    /// Whether there would be more addresses if the user wrote no last one.
    fn may_be_raised(&self) -> bool {
        let system = &self.beside.network.described.system;
        system.last_address_at.is_some() && system.last_address < LAST_ADDRESS_USUAL
    }

    /// Pinned addresses of levers that stand on no strip.
    fn pins_off_strips(&self) -> impl Iterator<Item = (LeverId, u16)> {
        let on: BTreeSet<LeverId> = self.on_strips((0..self.chains.len()).collect());
        let network = self.beside.network;
        let all = (0..network.levers.len()).map(LeverId::at).filter(move |lever| !on.contains(lever));
        all.filter_map(|lever| Some((lever, network.pin(lever, |pins| pins.address)?.value)))
    }

    fn on_strips(&self, chains: Vec<usize>) -> BTreeSet<LeverId> {
        let strips = chains.into_iter().flat_map(|chain| self.chains[chain].iter());
        let seats = strips.flat_map(|strip| strip.seats.iter());
        let levers = seats.filter_map(|seat| match seat {
            Seated::Lever(lever) => Some(*lever),
            Seated::Accessory(_) => None,
        });
        levers.collect()
    }

    fn field(&self, last: u16, statements: &[Statement]) -> Field {
        let network = self.beside.network;
        let mut whole = vec![false; usize::from(UserAddress::MAX) + 1];
        let mut points: BTreeSet<u32> = self.beside.built.iter().copied().map(u32::from).collect();
        let mut fill = |first: u32, end: u32| {
            let end = (end as usize).min(whole.len());
            if let Some(range) = whole.get_mut(first as usize..end) {
                range.fill(true);
            }
        };
        for statement in statements {
            match *statement {
                Statement::Last => {}
                Statement::Taken(index) => {
                    let (low, high) = network.described.system.taken[index].value;
                    fill(low.into(), u32::from(high) + 1);
                }
                Statement::Pin(lever) => {
                    points.extend(network.pin(lever, |pins| pins.address).map(|pin| u32::from(pin.value)));
                }
                Statement::Chain(chain) => {
                    let mut next =
                        self.fixed[chain].as_ref().map(|fixed| u32::from(fixed.start.value.number()));
                    for strip in self.chains[chain] {
                        let first = strip.panel.start.map(|start| u32::from(start.value)).or(next);
                        next = first.map(|first| first + u32::from(strip.pair_count));
                        if let (Some(first), Some(next)) = (first, next) {
                            fill(first, next);
                        }
                    }
                    let pins = self.on_strips(vec![chain]).into_iter();
                    let pins = pins.filter_map(|lever| network.pin(lever, |pins| pins.address));
                    points.extend(pins.map(|pin| u32::from(pin.value)));
                }
            }
        }
        Field { last: last.into(), whole, points }
    }

    /// The starts that a chain may have there, as they are weighed when the chains are placed.
    fn starts(&self, chain: usize, field: &Field) -> Vec<u32> {
        let strips = self.chains[chain];
        let own: BTreeSet<u32> = {
            let pins = self.on_strips(vec![chain]).into_iter();
            let pins = pins.filter_map(|lever| self.beside.network.pin(lever, |pins| pins.address));
            pins.map(|pin| u32::from(pin.value)).collect()
        };
        let points: BTreeSet<u32> = field
            .points
            .iter()
            .copied()
            .filter(|point| {
                !own.contains(point) || self.beside.built.iter().any(|built| u32::from(*built) == *point)
            })
            .collect();
        let is_new = self.beside.kept.record.is_empty();
        let (length, built) = (length(strips), start_built(strips));
        let fits = |start: &u32| {
            let end = *start + length;
            end - 1 <= field.last
                && field.whole.get(*start as usize..end as usize).is_some_and(|range| !range.contains(&true))
                && (!is_new || points.range(*start..end).next().is_none())
                && (built == Some(*start) || has_room(strips, *start, &points))
        };
        let mut starts: Vec<u32> = (1..=field.last).step_by(4).chain(built).filter(fits).collect();
        starts.sort_unstable();
        starts.dedup();
        starts
    }

    /// How a statement is named, and where it stands.
    fn words(&self, statement: Statement) -> Vec<(Span, String)> {
        let network = self.beside.network;
        let system = &network.described.system;
        match statement {
            Statement::Last => {
                let span = system.last_address_at;
                span.map(|span| (span, format!("no address is past {}", system.last_address)))
                    .into_iter()
                    .collect()
            }
            Statement::Taken(index) => {
                vec![(system.taken[index].span, "taken here, by something else".to_owned())]
            }
            Statement::Pin(lever) => {
                let pin = network.pin(lever, |pins| pins.address);
                let id = &network.lever(lever).id;
                pin.map(|pin| (pin.span, format!("`{id}` is pinned to address {}", pin.value)))
                    .into_iter()
                    .collect()
            }
            Statement::Chain(chain) => self.chain_words(chain),
        }
    }

    fn chain_words(&self, chain: usize) -> Vec<(Span, String)> {
        let strips = self.chains[chain];
        let (first, length) = (strips[0].panel, length(strips));
        let head = match &self.fixed[chain] {
            Some(Fixed { start, span }) => {
                let start = u32::from(start.value.number());
                let last = start + u32::from(strips[0].pair_count) - 1;
                (*span, format!("this puts strip `{}` at {start}–{last}", first.id.value))
            }
            None => (
                first.id.span,
                format!("the chain of strip `{}` needs {length} addresses in a row", first.id.value),
            ),
        };
        let pinned = strips.iter().skip(1).filter_map(|strip| {
            let start = strip.panel.start?;
            Some((
                start.span,
                format!("this puts strip `{}` of the same chain at {}", strip.panel.id.value, start.value),
            ))
        });
        [head].into_iter().chain(pinned).collect()
    }
}

/// The addresses beside which chains are to find a place.
struct Field {
    last: u32,
    /// Addresses that no strip may lie over.
    whole: Vec<bool>,
    /// Single addresses of others.
    points: BTreeSet<u32>,
}

/// Whether every row, of so many addresses, finds one of its starts clear of the others; none where it takes too long to know.
fn all_fit(rows: &[(u32, Vec<u32>)]) -> Option<bool> {
    let mut steps = STEPS_MAX;
    descend(rows, &mut Vec::new(), &mut steps)
}

fn descend(rows: &[(u32, Vec<u32>)], chosen: &mut Vec<u32>, steps: &mut usize) -> Option<bool> {
    let at = chosen.len();
    let Some((length, starts)) = rows.get(at) else { return Some(true) };
    for &start in starts {
        *steps = steps.checked_sub(1)?;
        // Of two rows that are alike the first may as well lie lower.
        let is_second = at > 0 && rows[at - 1] == rows[at] && chosen[at - 1] > start;
        let mut others = rows.iter().zip(chosen.iter());
        if is_second || !others.all(|((other, _), first)| start + length <= *first || first + other <= start)
        {
            continue;
        }
        chosen.push(start);
        if descend(rows, chosen, steps)? {
            return Some(true);
        }
        chosen.pop();
    }
    Some(false)
}
