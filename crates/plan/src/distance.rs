//! How much cable goes from one place to another: the shortest way along the bench runs, with the slack that the user adds.

use description::Description;
use measure::Length;
use std::cmp::Reverse;
use std::collections::{BTreeMap, BTreeSet, BinaryHeap};

/// The places of the bench and the runs between them.
#[derive(Clone, Debug, Default)]
pub struct Distances {
    /// Every place of the bench, in the order in which runs name them.
    places: Vec<String>,
    index: BTreeMap<String, usize>,
    /// For each place, where its runs lead and how many metres it is there, before slack.
    runs: Vec<Vec<(usize, f64)>>,
    /// What a length along the bench is multiplied by: 1.15 with a slack of 15 %.
    times: f64,
}

impl Distances {
    /// Reads the bench of a description; without one there are no places.
    pub fn new(described: &Description) -> Self {
        let mut distances = Self { times: 1.0, ..Self::default() };
        let Some(bench) = &described.bench else { return distances };
        distances.times = 1.0 + bench.slack.map_or(0.0, |slack| slack.value.value());
        for run in &bench.runs {
            let (from, to) = (distances.put(&run.from.value), distances.put(&run.to.value));
            let metres = run.length.value.value();
            distances.runs[from].push((to, metres));
            distances.runs[to].push((from, metres));
        }
        distances
    }

    fn put(&mut self, name: &str) -> usize {
        if let Some(&index) = self.index.get(name) {
            return index;
        }
        self.places.push(name.to_owned());
        self.runs.push(Vec::new());
        self.index.insert(name.to_owned(), self.places.len() - 1);
        self.places.len() - 1
    }

    /// Every place of the bench.
    pub fn places(&self) -> &[String] {
        &self.places
    }

    /// The runs of the bench, each once: its two places and the metres of cable along it, with slack.
    pub fn runs(&self) -> impl Iterator<Item = (&str, &str, f64)> + '_ {
        self.runs.iter().enumerate().flat_map(move |(from, runs)| {
            let once = runs.iter().filter(move |(to, _)| from < *to);
            once.map(move |(to, metres)| {
                (self.places[from].as_str(), self.places[*to].as_str(), metres * self.times)
            })
        })
    }

    /// The length of a cable between two places with its slack; none where no bench run leads from one to the other.
    ///
    /// # Example
    /// ```
    /// let text = r#"
    /// [layout]
    /// name = "Tern Harbor Terminal"
    /// [bench]
    /// runs = [{ from = "bay 1", to = "bay 2", length = "2 m" }]
    /// slack = "15 %"
    /// "#;
    /// let distances = plan::distance::Distances::new(&description::read(text).value);
    /// assert!((distances.between("bay 1", "bay 2").unwrap().value() - 2.3).abs() < 1e-12);
    /// assert_eq!(distances.between("bay 1", "attic"), None);
    /// ```
    pub fn between(&self, from: &str, to: &str) -> Option<Length> {
        if from == to {
            return Some(Length::new(0.0));
        }
        let to = *self.index.get(to)?;
        let metres = self.search(*self.index.get(from)?, Some(to))[to];
        metres.is_finite().then(|| Length::new(metres * self.times))
    }

    /// Metres of cable from one place to every place of [`Self::places`], with slack; infinite where no run leads there.
    /// Takes O(runs · log places).
    pub fn metres_from(&self, place: &str) -> Vec<f64> {
        match self.index.get(place) {
            Some(&from) => self.search(from, None).into_iter().map(|metres| metres * self.times).collect(),
            None => vec![f64::INFINITY; self.places.len()],
        }
    }

    /// The places that cable passes from one place to another, both named; none where no run leads there. Of ways of one length
    /// the one whose places come first.
    pub fn way(&self, from: &str, to: &str) -> Option<Vec<&str>> {
        let (from, to) = (*self.index.get(from)?, *self.index.get(to)?);
        let metres = self.search(to, None);
        if !metres[from].is_finite() {
            return None;
        }
        let mut way = vec![self.places[from].as_str()];
        let (mut at, mut seen) = (from, BTreeSet::from([from]));
        while at != to {
            let (next, _) = self.runs[at]
                .iter()
                .filter(|(next, length)| {
                    !seen.contains(next) && metres[*next] + length <= metres[at] * (1.0 + 1e-12)
                })
                .min_by_key(|(next, _)| *next)?;
            at = *next;
            seen.insert(at);
            way.push(&self.places[at]);
        }
        Some(way)
    }

    /// Metres along the bench from one place, by Dijkstra's algorithm; ends early when `to` is reached.
    fn search(&self, from: usize, to: Option<usize>) -> Vec<f64> {
        let mut metres = vec![f64::INFINITY; self.places.len()];
        metres[from] = 0.0;
        let mut open = BinaryHeap::from([Reverse((Ordered(0.0), from))]);
        while let Some(Reverse((Ordered(far), at))) = open.pop() {
            if to == Some(at) {
                break;
            }
            if far > metres[at] {
                continue;
            }
            for &(next, length) in &self.runs[at] {
                if far + length < metres[next] {
                    metres[next] = far + length;
                    open.push(Reverse((Ordered(far + length), next)));
                }
            }
        }
        metres
    }
}

/// A length that can be put in order.
#[derive(Clone, Copy, PartialEq)]
struct Ordered(f64);

impl Eq for Ordered {}

impl PartialOrd for Ordered {
    fn partial_cmp(&self, other: &Self) -> Option<std::cmp::Ordering> {
        Some(self.cmp(other))
    }
}

impl Ord for Ordered {
    fn cmp(&self, other: &Self) -> std::cmp::Ordering {
        self.0.total_cmp(&other.0)
    }
}
