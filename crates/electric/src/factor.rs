//! Eliminating the points of a network of conductances one by one, and what can be asked of the result.
//!
//! The matrix is symmetric: links between points, and for each point its *excess*, the conductance that leads out of the
//! network to a known voltage. Elimination turns a star into a mesh. It keeps the excess apart instead of a diagonal, so that with
//! positive conductances nothing is ever subtracted and no figure is lost, however far the conductances lie apart. That is
//! `L·D·Lᵀ` with the off-diagonals of `L` negative; their magnitudes are kept.
//!
//! # Source
//! Left-looking sparse elimination along the elimination tree: T. A. Davis, "Direct Methods for Sparse Linear Systems"
//! (2006), chapter 4. Without subtraction: A. S. Alfa, J. Xue, Q. Ye, "Accurate computation of the smallest eigenvalue of a
//! diagonally dominant M-matrix", Math. Comp. 71 (2002) 217–236. Entries of the inverse on the pattern of `L`: K. Takahashi,
//! J. Fagan, M. Chen, "Formation of a sparse bus impedance matrix and its application to short circuit study" (1973).

use crate::ordering::least_degree;

const NONE: usize = usize::MAX;

/// Which points are linked, in what order they go, and where new links will appear. Serves any values.
#[derive(Debug)]
pub(crate) struct Pattern {
    /// The place of each point in the order of elimination.
    place: Vec<usize>,
    /// For each place, its links to later places: (later place, number of the link).
    links: Vec<Vec<(usize, usize)>>,
    /// Where each column begins in `rows`.
    starts: Vec<usize>,
    rows: Vec<usize>,
}

/// The network eliminated.
#[derive(Debug)]
pub(crate) struct Factor<'p> {
    pattern: &'p Pattern,
    /// Magnitudes of `L` below its diagonal, by column.
    lower: Vec<f64>,
    pivots: Vec<f64>,
}

/// A pivot that is not above zero: the network is not positive definite.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(crate) struct NotPositive;

impl Pattern {
    /// The pattern of `count` points with these links, each given once, never from a point to itself.
    pub(crate) fn new(count: usize, links: &[(usize, usize)]) -> Self {
        let mut adjacency = vec![Vec::new(); count];
        for &(a, b) in links {
            adjacency[a].push(b);
            adjacency[b].push(a);
        }
        let order = least_degree(&adjacency);
        let mut place = vec![0; count];
        for (at, &node) in order.iter().enumerate() {
            place[node] = at;
        }
        let mut later = vec![Vec::new(); count];
        for (number, &(a, b)) in links.iter().enumerate() {
            let (a, b) = (place[a].min(place[b]), place[a].max(place[b]));
            later[a].push((b, number));
        }
        let (starts, rows) = columns(&later);
        Self { place, links: later, starts, rows }
    }

    fn column(&self, at: usize) -> std::ops::Range<usize> {
        self.starts[at]..self.starts[at + 1]
    }

    /// Eliminates all points. `conductance` by link, `excess` by point.
    pub(crate) fn factor(&self, conductance: &[f64], excess: &[f64]) -> Result<Factor<'_>, NotPositive> {
        let count = self.place.len();
        let mut out = vec![0.0; count];
        for (node, &at) in self.place.iter().enumerate() {
            out[at] = excess[node];
        }
        let mut lower = vec![0.0; self.rows.len()];
        let mut pivots = vec![0.0; count];
        let mut work = vec![0.0; count];
        // Columns that still have to be taken to this row, as lists, and how far down each column has come.
        let (mut head, mut next) = (vec![NONE; count], vec![NONE; count]);
        let mut down: Vec<usize> = self.starts[..count].to_vec();
        for at in 0..count {
            for &(row, link) in &self.links[at] {
                work[row] += conductance[link];
            }
            let mut column = head[at];
            while column != NONE {
                let after = next[column];
                let here = down[column];
                let end = self.starts[column + 1];
                out[at] += lower[here] * out[column];
                let times = lower[here] * pivots[column];
                for (row, value) in self.rows[here + 1..end].iter().zip(&lower[here + 1..end]) {
                    work[*row] += value * times;
                }
                down[column] = here + 1;
                if here + 1 < end {
                    let row = self.rows[here + 1];
                    next[column] = head[row];
                    head[row] = column;
                }
                column = after;
            }
            let range = self.column(at);
            let pivot = out[at] + self.rows[range.clone()].iter().map(|&row| work[row]).sum::<f64>();
            if pivot.is_nan() || pivot <= 0.0 {
                return Err(NotPositive);
            }
            pivots[at] = pivot;
            for slot in range.clone() {
                lower[slot] = work[self.rows[slot]] / pivot;
                work[self.rows[slot]] = 0.0;
            }
            if let Some(&row) = self.rows[range].first() {
                next[at] = head[row];
                head[row] = at;
            }
        }
        Ok(Factor { pattern: self, lower, pivots })
    }
}

/// The rows of each column of `L`: its own links, and what its children in the elimination tree hand on.
fn columns(links: &[Vec<(usize, usize)>]) -> (Vec<usize>, Vec<usize>) {
    let count = links.len();
    let mut children: Vec<Vec<usize>> = vec![Vec::new(); count];
    let mut starts = Vec::with_capacity(count + 1);
    let mut rows: Vec<usize> = Vec::new();
    let mut seen = vec![NONE; count];
    starts.push(0);
    for at in 0..count {
        seen[at] = at;
        let begin = rows.len();
        for &(row, _) in &links[at] {
            if seen[row] != at {
                seen[row] = at;
                rows.push(row);
            }
        }
        for &child in &children[at] {
            for slot in starts[child]..starts[child + 1] {
                let row = rows[slot];
                if seen[row] != at {
                    seen[row] = at;
                    rows.push(row);
                }
            }
        }
        rows[begin..].sort_unstable();
        if let Some(&parent) = rows.get(begin) {
            children[parent].push(at);
        }
        starts.push(rows.len());
    }
    (starts, rows)
}

impl Factor<'_> {
    /// The voltages at which these currents flow in; by point.
    pub(crate) fn solve(&self, injected: &[f64]) -> Vec<f64> {
        let pattern = self.pattern;
        let mut volts = vec![0.0; injected.len()];
        for (node, &at) in pattern.place.iter().enumerate() {
            volts[at] = injected[node];
        }
        for at in 0..volts.len() {
            let here = volts[at];
            for slot in pattern.column(at) {
                volts[pattern.rows[slot]] += self.lower[slot] * here;
            }
        }
        for at in (0..volts.len()).rev() {
            let below: f64 =
                pattern.column(at).map(|slot| self.lower[slot] * volts[pattern.rows[slot]]).sum();
            volts[at] = volts[at] / self.pivots[at] + below;
        }
        pattern.place.iter().map(|&at| volts[at]).collect()
    }

    /// The entries of the inverse that stand where `L` has entries: in particular its whole diagonal.
    pub(crate) fn inverse(&self) -> Inverse<'_> {
        let pattern = self.pattern;
        let count = pattern.place.len();
        let mut diagonal = vec![0.0; count];
        let mut below = vec![0.0; self.lower.len()];
        let mut slot_of = vec![NONE; count];
        for at in (0..count).rev() {
            let range = pattern.column(at);
            let rows = &pattern.rows[range.clone()];
            let values = &self.lower[range.clone()];
            for (index, &row) in rows.iter().enumerate() {
                slot_of[row] = index;
            }
            let mut sums = vec![0.0; rows.len()];
            for (index, &row) in rows.iter().enumerate() {
                let value = values[index];
                let mut sum = value * diagonal[row];
                for slot in pattern.column(row) {
                    let other = slot_of[pattern.rows[slot]];
                    if other != NONE {
                        sum += values[other] * below[slot];
                        sums[other] += value * below[slot];
                    }
                }
                sums[index] += sum;
            }
            for &row in rows {
                slot_of[row] = NONE;
            }
            let sum: f64 = values.iter().zip(&sums).map(|(value, sum)| value * sum).sum();
            diagonal[at] = 1.0 / self.pivots[at] + sum;
            below[range].copy_from_slice(&sums);
        }
        Inverse { pattern, diagonal, below }
    }
}

/// Entries of the inverse: the volts at one point for each ampere put in at another.
#[derive(Debug)]
pub(crate) struct Inverse<'p> {
    pattern: &'p Pattern,
    diagonal: Vec<f64>,
    below: Vec<f64>,
}

impl Inverse<'_> {
    /// Ohms between two points and the known voltages, or `None` if the two are not linked in the pattern.
    pub(crate) fn entry(&self, a: usize, b: usize) -> Option<f64> {
        let (a, b) = (self.pattern.place[a], self.pattern.place[b]);
        let (first, last) = (a.min(b), a.max(b));
        if first == last {
            return Some(self.diagonal[first]);
        }
        let range = self.pattern.column(first);
        let index = self.pattern.rows[range.clone()].binary_search(&last).ok()?;
        Some(self.below[range.start + index])
    }
}
