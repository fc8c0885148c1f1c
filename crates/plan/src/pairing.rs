//! Who takes whose place: the pairing of two lists in which the sum of the weights of its pairs is most.
//!
//! The graph falls into parts that have nothing to do with one another; where most things stay, nearly every part is a
//! single pair. Each part is solved exactly by shortest augmenting paths. Runs in O(n²·m) for a part of n and m things, n the
//! fewer.
//!
//! # Source
//! H. W. Kuhn, The Hungarian method for the assignment problem, Naval Research Logistics Quarterly 2 (1955); with
//! potentials, as in R. Jonker, A. Volgenant, A shortest augmenting path algorithm for dense and sparse linear assignment
//! problems, Computing 38 (1987), both from memory.

use std::collections::BTreeMap;

/// The most things on the lesser side of a part that is solved exactly; a larger one is paired by weight, heaviest first.
const EXACT_MAX: usize = 400;

/// A possible pair: its place on the left, its place on the right, and its weight, which is more than 0.
pub(crate) type Edge = (usize, usize, i64);

/// For each place on the left, the place on the right it is paired with.
pub(crate) fn heaviest(left_count: usize, edges: &[Edge]) -> Vec<Option<usize>> {
    let mut paired = vec![None; left_count];
    for part in parts(left_count, edges) {
        let &[&(left, right, _)] = part.as_slice() else {
            for (left, right) in solve(&part) {
                paired[left] = Some(right);
            }
            continue;
        };
        paired[left] = Some(right);
    }
    paired
}

/// The edges of each part of the graph, in the order of the edges.
fn parts(left_count: usize, edges: &[Edge]) -> Vec<Vec<&Edge>> {
    fn root(above: &mut [usize], mut at: usize) -> usize {
        while above[at] != at {
            above[at] = above[above[at]];
            at = above[at];
        }
        at
    }
    let right_count = edges.iter().map(|edge| edge.1 + 1).max().unwrap_or(0);
    let mut above: Vec<usize> = (0..left_count + right_count).collect();
    for &(left, right, _) in edges {
        let (a, b) = (root(&mut above, left), root(&mut above, left_count + right));
        above[a.max(b)] = a.min(b);
    }
    let mut parts: BTreeMap<usize, Vec<&Edge>> = BTreeMap::new();
    for edge in edges {
        parts.entry(root(&mut above, edge.0)).or_default().push(edge);
    }
    parts.into_values().collect()
}

fn solve(part: &[&Edge]) -> Vec<(usize, usize)> {
    let number = |places: &mut dyn Iterator<Item = usize>| -> Vec<usize> {
        let mut list: Vec<usize> = places.collect();
        list.sort_unstable();
        list.dedup();
        list
    };
    let lefts = number(&mut part.iter().map(|edge| edge.0));
    let rights = number(&mut part.iter().map(|edge| edge.1));
    if lefts.len().min(rights.len()) > EXACT_MAX {
        return by_weight(part);
    }
    let turned = lefts.len() > rights.len();
    let (rows, columns) = if turned { (&rights, &lefts) } else { (&lefts, &rights) };
    let mut weights = vec![vec![0; columns.len()]; rows.len()];
    let place = |list: &[usize], at: usize| list.binary_search(&at).unwrap_or_default();
    for &&(left, right, weight) in part {
        let (row, column) = if turned { (right, left) } else { (left, right) };
        weights[place(rows, row)][place(columns, column)] = weight;
    }
    let pairs = assign(&weights).into_iter().enumerate();
    // A pair of no weight is none: the two have nothing to do with each other.
    let real = pairs.filter(|&(row, column)| weights[row][column] > 0);
    real.map(|(row, column)| {
        let (row, column) = (rows[row], columns[column]);
        if turned { (column, row) } else { (row, column) }
    })
    .collect()
}

/// The column of each row in the assignment of the greatest weight; no more rows than columns.
fn assign(weights: &[Vec<i64>]) -> Vec<usize> {
    let (rows, columns) = (weights.len(), weights.first().map_or(0, Vec::len));
    // Row and column 0 stand for "none", as the method has it.
    let mut of_row = vec![0i64; rows + 1];
    let mut of_column = vec![0i64; columns + 1];
    let mut owner = vec![0usize; columns + 1];
    for row in 1..=rows {
        owner[0] = row;
        let mut at = 0;
        let mut least = vec![i64::MAX; columns + 1];
        let mut before = vec![0usize; columns + 1];
        let mut seen = vec![false; columns + 1];
        loop {
            seen[at] = true;
            let from = owner[at];
            let (mut step, mut next) = (i64::MAX, 0);
            for column in (1..=columns).filter(|&column| !seen[column]) {
                let reduced = -weights[from - 1][column - 1] - of_row[from] - of_column[column];
                if reduced < least[column] {
                    least[column] = reduced;
                    before[column] = at;
                }
                if least[column] < step {
                    (step, next) = (least[column], column);
                }
            }
            for column in 0..=columns {
                if seen[column] {
                    of_row[owner[column]] += step;
                    of_column[column] -= step;
                } else if least[column] < i64::MAX {
                    least[column] -= step;
                }
            }
            at = next;
            if owner[at] == 0 {
                break;
            }
        }
        while at != 0 {
            owner[at] = owner[before[at]];
            at = before[at];
        }
    }
    let mut column_of = vec![0; rows];
    for column in 1..=columns {
        if owner[column] > 0 {
            column_of[owner[column] - 1] = column - 1;
        }
    }
    column_of
}

fn by_weight(part: &[&Edge]) -> Vec<(usize, usize)> {
    let mut order: Vec<&Edge> = part.to_vec();
    order.sort_by_key(|edge| (std::cmp::Reverse(edge.2), edge.0, edge.1));
    let (mut left_taken, mut right_taken) = (BTreeMap::new(), BTreeMap::new());
    for &(left, right, _) in order {
        if !left_taken.contains_key(&left) && !right_taken.contains_key(&right) {
            left_taken.insert(left, right);
            right_taken.insert(right, left);
        }
    }
    left_taken.into_iter().collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The most that any pairing weighs, by trying them all.
    fn most(weights: &[Vec<i64>], row: usize, taken: u32) -> i64 {
        let Some(columns) = weights.get(row) else { return 0 };
        let with = (0..columns.len())
            .filter(|column| taken & (1 << column) == 0)
            .map(|column| columns[column] + most(weights, row + 1, taken | 1 << column));
        with.max().unwrap_or(0).max(most(weights, row + 1, taken))
    }

    /// Every pairing weighs what the best of all tried ones does: 4,000 small cases, with and without gaps.
    #[test]
    fn no_pairing_weighs_more() {
        let mut state = 1u64;
        let mut next = |below: u64| {
            state = state.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
            (state >> 33) % below
        };
        for case in 0..4_000 {
            let mut size = || 1 + usize::try_from(next(5)).unwrap();
            let (rows, columns) = (size(), size());
            let mut weights = vec![vec![0i64; columns]; rows];
            let mut edges = Vec::new();
            for (row, weights) in weights.iter_mut().enumerate() {
                for (column, weight) in weights.iter_mut().enumerate() {
                    if next(3) > 0 {
                        *weight = 1 + i64::try_from(next(9)).unwrap();
                        edges.push((row, column, *weight));
                    }
                }
            }
            let paired = heaviest(rows, &edges);
            let mut taken: Vec<usize> = paired.iter().copied().flatten().collect();
            let weight: i64 =
                paired.iter().enumerate().filter_map(|(row, column)| Some(weights[row][(*column)?])).sum();
            assert_eq!(weight, most(&weights, 0, 0), "case {case}: {weights:?} → {paired:?}");
            taken.sort_unstable();
            let count = taken.len();
            taken.dedup();
            assert_eq!(taken.len(), count, "case {case}: one place is taken twice");
            assert!(
                paired
                    .iter()
                    .enumerate()
                    .all(|(row, column)| column.is_none_or(|column| weights[row][column] > 0))
            );
        }
    }
}
