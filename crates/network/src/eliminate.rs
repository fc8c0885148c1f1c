//! The cheapest way to set many two-valued things, some of which should agree and some differ, exactly where that is
//! within reach.
//!
//! Each wish joins two things, asks that they agree or that they differ, and costs something when it is not met. Things
//! that hang together by wishes that can all be met are set so, in linear time. The others are eliminated one by one, always the one with the fewest neighbours left: what the rest of the wishes would
//! pay for each setting of the neighbours is put in a table, and the thing is gone. In the end the settings are read
//! back in reverse. With at most [`WIDTH_MAX`] neighbours at every step the answer is exact; the cost is
//! O(n·2^w) for n things and w the most neighbours met. Where a step would have more, its tables are split into groups
//! that fit, each paying on its own: the sum is then a bound from below, and the settings read back a bound from above.
//!
//! # Source
//! Bucket elimination and mini-buckets: Dechter, *Bucket elimination: a unifying framework for reasoning*, Artificial
//! Intelligence 113 (1999); Dechter and Rish, *Mini-buckets*, JACM 50 (2003).

use std::collections::BTreeSet;

/// The most neighbours a table is made for.
const WIDTH_MAX: usize = 16;

/// A wish about two things.
#[derive(Clone, Copy, Debug)]
pub(crate) struct Wish {
    pub(crate) a: usize,
    pub(crate) b: usize,
    /// Whether the two should differ.
    pub(crate) differ: bool,
    /// What it costs when they do not stand as wished.
    pub(crate) cost: i64,
}

/// A setting of all things, what it costs, and what no setting can cost less than.
#[derive(Clone, Debug)]
pub(crate) struct Setting {
    pub(crate) values: Vec<bool>,
    pub(crate) cost: i64,
    pub(crate) bound: i64,
}

/// What some wishes pay, for every setting of a few things: bit i of the index is the value of `things[i]`.
struct Table {
    things: Vec<usize>,
    pays: Vec<i64>,
}

/// How an eliminated thing follows from its neighbours: the choice for every setting of them.
struct Follows {
    thing: usize,
    neighbours: Vec<usize>,
    choice: Vec<bool>,
}

/// The cheapest setting of `count` things.
pub(crate) fn cheapest(count: usize, wishes: &[Wish]) -> Setting {
    let settled = settle(count, wishes);
    let open: Vec<Wish> = wishes.iter().filter(|wish| settled[wish.a].is_none()).copied().collect();
    let mut tables: Vec<Option<Table>> = open.iter().map(|wish| Some(table_of(*wish))).collect();
    let mut tables_of: Vec<Vec<usize>> = vec![Vec::new(); count];
    let mut neighbours: Vec<BTreeSet<usize>> = vec![BTreeSet::new(); count];
    for (index, wish) in open.iter().enumerate() {
        tables_of[wish.a].push(index);
        if wish.a != wish.b {
            tables_of[wish.b].push(index);
            neighbours[wish.a].insert(wish.b);
            neighbours[wish.b].insert(wish.a);
        }
    }
    let mut queue: BTreeSet<(usize, usize)> = (0..count)
        .filter(|&thing| settled[thing].is_none())
        .map(|thing| (neighbours[thing].len(), thing))
        .collect();
    let mut follows: Vec<Follows> = Vec::with_capacity(count);
    let mut bound = 0;
    while let Some((_, thing)) = queue.pop_first() {
        let mine: Vec<Table> = std::mem::take(&mut tables_of[thing])
            .into_iter()
            .filter_map(|index| tables[index].take())
            .collect();
        for (position, group) in groups_that_fit(thing, mine).into_iter().enumerate() {
            let (table, choice) = eliminate(thing, &group);
            // The first group's choice is read back; the others only pay.
            if position == 0 {
                follows.push(Follows { thing, neighbours: table.things.clone(), choice });
            }
            if table.things.is_empty() {
                bound += table.pays[0];
                continue;
            }
            for &near in &table.things {
                tables_of[near].push(tables.len());
                queue.remove(&(neighbours[near].len(), near));
                neighbours[near].remove(&thing);
                neighbours[near].extend(table.things.iter().filter(|&&other| other != near));
                queue.insert((neighbours[near].len(), near));
            }
            tables.push(Some(table));
        }
    }
    let mut values: Vec<bool> = settled.into_iter().map(Option::unwrap_or_default).collect();
    for step in follows.iter().rev() {
        let index = index_of(&step.neighbours, |thing| values[thing]);
        values[step.thing] = step.choice[index];
    }
    let cost = wishes
        .iter()
        .filter(|wish| (values[wish.a] != values[wish.b]) != wish.differ)
        .map(|wish| wish.cost)
        .sum();
    Setting { values, cost, bound }
}

/// The values of all things that hang together by wishes that can all be met; none for those of other things.
fn settle(count: usize, wishes: &[Wish]) -> Vec<Option<bool>> {
    let mut near: Vec<Vec<(usize, bool)>> = vec![Vec::new(); count];
    for wish in wishes {
        near[wish.a].push((wish.b, wish.differ));
        near[wish.b].push((wish.a, wish.differ));
    }
    let mut values: Vec<Option<bool>> = vec![None; count];
    let mut settled = vec![None; count];
    for first in 0..count {
        if values[first].is_some() {
            continue;
        }
        values[first] = Some(false);
        let mut part = vec![first];
        let mut all_met = true;
        let mut next = 0;
        while let Some(&thing) = part.get(next) {
            next += 1;
            for &(other, differ) in &near[thing] {
                let asked = values[thing].map(|value| value != differ);
                if values[other].is_none() {
                    values[other] = asked;
                    part.push(other);
                }
                all_met &= values[other] == asked;
            }
        }
        if all_met {
            for thing in part {
                settled[thing] = values[thing];
            }
        }
    }
    settled
}

fn table_of(wish: Wish) -> Table {
    if wish.a == wish.b {
        let pays = if wish.differ { wish.cost } else { 0 };
        return Table { things: vec![wish.a], pays: vec![pays, pays] };
    }
    let (agree, differ) = if wish.differ { (wish.cost, 0) } else { (0, wish.cost) };
    Table { things: vec![wish.a, wish.b], pays: vec![agree, differ, differ, agree] }
}

/// The tables about `thing`, in as few groups as come of putting each where it still fits.
fn groups_that_fit(thing: usize, tables: Vec<Table>) -> Vec<Vec<Table>> {
    let mut groups: Vec<(BTreeSet<usize>, Vec<Table>)> = Vec::new();
    for table in tables {
        let others = table.things.iter().copied().filter(|&other| other != thing);
        let fits = groups
            .iter()
            .position(|(things, _)| {
                let new_count = others.clone().filter(|other| !things.contains(other)).count();
                things.len() + new_count <= WIDTH_MAX
            })
            .unwrap_or(groups.len());
        if fits == groups.len() {
            groups.push((BTreeSet::new(), Vec::new()));
        }
        groups[fits].0.extend(others);
        groups[fits].1.push(table);
    }
    if groups.is_empty() {
        groups.push((BTreeSet::new(), Vec::new()));
    }
    groups.into_iter().map(|(_, tables)| tables).collect()
}

/// Sums the tables of a group and takes the cheaper value of `thing` for every setting of the others.
fn eliminate(thing: usize, group: &[Table]) -> (Table, Vec<bool>) {
    let others: BTreeSet<usize> =
        group.iter().flat_map(|table| &table.things).copied().filter(|&other| other != thing).collect();
    let things: Vec<usize> = others.into_iter().collect();
    let size = 1usize << things.len();
    // What all tables pay together; `thing` itself is the highest bit of the joint setting.
    let mut pays = vec![0; 2 * size];
    let mut index = vec![0; 2 * size];
    for table in group {
        let mut bit_of = vec![0; things.len() + 1];
        for (bit, other) in table.things.iter().enumerate() {
            bit_of[things.binary_search(other).unwrap_or(things.len())] = 1 << bit;
        }
        pays[0] += table.pays[0];
        for setting in 1..2 * size {
            // The setting without its lowest bit has been looked up before.
            let lowest = setting.trailing_zeros() as usize;
            index[setting] = index[setting & (setting - 1)] | bit_of[lowest];
            pays[setting] += table.pays[index[setting]];
        }
    }
    let (clear, set) = pays.split_at(size);
    let choice = clear.iter().zip(set).map(|(clear, set)| set < clear).collect();
    let pays = clear.iter().zip(set).map(|(clear, set)| *clear.min(set)).collect();
    (Table { things, pays }, choice)
}

fn index_of(things: &[usize], value: impl Fn(usize) -> bool) -> usize {
    things.iter().enumerate().map(|(bit, &thing)| usize::from(value(thing)) << bit).sum()
}
