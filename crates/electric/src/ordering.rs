//! In which order to eliminate the points of a circuit, so that few new links appear.
//!
//! Leaves go first, one after another, which empties a tree without any new link. What is left goes by approximate least
//! degree on a quotient graph: an eliminated point stands for the clique that it leaves behind, so that no link of a clique is
//! ever written down. Ties fall the same way on every machine: last touched first.
//!
//! # Source
//! P. R. Amestoy, T. A. Davis, I. S. Duff, "An approximate minimum degree ordering algorithm", SIAM J. Matrix Anal. Appl. 17
//! (1996) 886–905: the degree bound (their equation 4.1) and aggressive absorption; supervariables are left out.

const NONE: usize = usize::MAX;

/// The points in the order of elimination. `adjacency` is symmetric, without loops and without repeats.
pub(crate) fn least_degree(adjacency: &[Vec<usize>]) -> Vec<usize> {
    let mut order = Vec::with_capacity(adjacency.len());
    let gone = strip_leaves(adjacency, &mut order);
    let mut quotient = Quotient::new(adjacency, gone);
    while let Some(pivot) = quotient.least() {
        quotient.eliminate(pivot);
        order.push(pivot);
    }
    order
}

/// Takes points with one neighbour or none, again and again. Returns which are gone.
fn strip_leaves(adjacency: &[Vec<usize>], order: &mut Vec<usize>) -> Vec<bool> {
    let mut degree: Vec<usize> = adjacency.iter().map(Vec::len).collect();
    let mut gone = vec![false; adjacency.len()];
    let mut leaves: Vec<usize> = (0..adjacency.len()).rev().filter(|&node| degree[node] <= 1).collect();
    while let Some(leaf) = leaves.pop() {
        if gone[leaf] {
            continue;
        }
        gone[leaf] = true;
        order.push(leaf);
        for &next in &adjacency[leaf] {
            if !gone[next] {
                degree[next] -= 1;
                if degree[next] <= 1 {
                    leaves.push(next);
                }
            }
        }
    }
    gone
}

/// The graph during elimination: points, and elements, each the clique that an eliminated point left.
struct Quotient {
    /// Neighbours that no element accounts for.
    plain: Vec<Vec<usize>>,
    /// Elements that a point belongs to.
    within: Vec<Vec<usize>>,
    /// The points of an element; its name is the point whose elimination made it.
    clique: Vec<Vec<usize>>,
    absorbed: Vec<bool>,
    degree: Vec<usize>,
    /// Points of a degree as a list: its head, and links both ways.
    head: Vec<usize>,
    next: Vec<usize>,
    previous: Vec<usize>,
    lowest: usize,
    left: usize,
    /// Whether a point is in the newest clique: the stamp says of which round.
    stamp: Vec<usize>,
    /// Points of an element outside the newest clique, counted down from a tag that grows.
    outside: Vec<usize>,
    tag: usize,
}

impl Quotient {
    fn new(adjacency: &[Vec<usize>], gone: Vec<bool>) -> Self {
        let count = adjacency.len();
        let plain: Vec<Vec<usize>> = adjacency
            .iter()
            .enumerate()
            .map(|(node, next)| {
                if gone[node] {
                    Vec::new()
                } else {
                    next.iter().copied().filter(|&other| !gone[other]).collect()
                }
            })
            .collect();
        let mut quotient = Self {
            degree: plain.iter().map(Vec::len).collect(),
            plain,
            within: vec![Vec::new(); count],
            clique: vec![Vec::new(); count],
            absorbed: vec![false; count],
            head: vec![NONE; count.max(1)],
            next: vec![NONE; count],
            previous: vec![NONE; count],
            lowest: 0,
            left: 0,
            stamp: vec![NONE; count],
            outside: vec![0; count],
            tag: 1,
        };
        for (node, gone) in gone.into_iter().enumerate().rev() {
            if !gone {
                quotient.insert(node);
                quotient.left += 1;
            }
        }
        quotient
    }

    fn insert(&mut self, node: usize) {
        let degree = self.degree[node];
        let first = self.head[degree];
        self.next[node] = first;
        self.previous[node] = NONE;
        if first != NONE {
            self.previous[first] = node;
        }
        self.head[degree] = node;
        self.lowest = self.lowest.min(degree);
    }

    fn remove(&mut self, node: usize) {
        let (before, after) = (self.previous[node], self.next[node]);
        if before == NONE {
            self.head[self.degree[node]] = after;
        } else {
            self.next[before] = after;
        }
        if after != NONE {
            self.previous[after] = before;
        }
    }

    fn least(&mut self) -> Option<usize> {
        if self.left == 0 {
            return None;
        }
        while self.head[self.lowest] == NONE {
            self.lowest += 1;
        }
        Some(self.head[self.lowest])
    }

    fn eliminate(&mut self, pivot: usize) {
        self.remove(pivot);
        self.left -= 1;
        let clique = self.clique_of(pivot);
        self.count_outside(&clique);
        for &node in &clique {
            self.remove(node);
            let (absorbed, outside, tag) = (&mut self.absorbed, &self.outside, self.tag);
            let mut degree = clique.len() - 1;
            self.within[node].retain(|&element| {
                if absorbed[element] {
                    return false;
                }
                let beyond = outside[element] - tag;
                // Every point of it is in the new clique: it says nothing more.
                absorbed[element] = beyond == 0;
                degree += beyond;
                beyond > 0
            });
            let stamp = &self.stamp;
            self.plain[node].retain(|&other| other != pivot && stamp[other] != pivot);
            degree += self.plain[node].len();
            self.within[node].push(pivot);
            let grown = self.degree[node] + clique.len() - 1;
            self.degree[node] = degree.min(grown).min(self.left.saturating_sub(1));
            self.insert(node);
        }
        self.tag += self.plain.len() + 1;
        self.clique[pivot] = clique;
    }

    /// The points that become linked with each other when the pivot goes; its elements are absorbed.
    fn clique_of(&mut self, pivot: usize) -> Vec<usize> {
        let mut clique = std::mem::take(&mut self.plain[pivot]);
        for &node in &clique {
            self.stamp[node] = pivot;
        }
        self.stamp[pivot] = pivot;
        for element in std::mem::take(&mut self.within[pivot]) {
            self.absorbed[element] = true;
            for node in std::mem::take(&mut self.clique[element]) {
                if self.stamp[node] != pivot {
                    self.stamp[node] = pivot;
                    clique.push(node);
                }
            }
        }
        clique
    }

    /// For each element that touches the clique: how many of its points are outside it, above the tag.
    fn count_outside(&mut self, clique: &[usize]) {
        for &node in clique {
            for &element in &self.within[node] {
                if self.absorbed[element] {
                    continue;
                }
                if self.outside[element] < self.tag {
                    self.outside[element] = self.clique[element].len() + self.tag;
                }
                self.outside[element] -= 1;
            }
        }
    }
}
