//! The cheapest conductors for a bus that is a tree: every run its size, so that no place loses too many volts, a short trips the
//! breaker everywhere, and nothing carries more than it may.
//!
//! In a tree the current of each run does not hang on the sizes, so drop and loop resistance add up along each way from the
//! supply. From the ends inwards every subtree keeps its front: the choices of which none is better in price, worst drop and worst
//! resistance at once. Joined at each branch, the cheapest entry that is left at the supply is the cheapest of all: that is exact.
//! A front that outgrows its limit is thinned, and the answer then says that it is not proven.
//!
//! # Units
//! Ohms of the loop, out and return; volts; amperes; price in any money.

/// Entries that a front may have before it is thinned.
const FRONT_MAX: usize = 3_000;

/// What sums of the same figures in another order may differ by, as a share.
const ROUNDING: f64 = 1e-12;

/// A size that can be had.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Size {
    /// Loop ohms of one metre of run.
    pub loop_ohm_per_m: f64,
    /// What it may carry.
    pub amps_max: f64,
    /// The price of one metre of run.
    pub price_per_m: f64,
}

/// A run of the tree that a size is sought for.
#[derive(Clone, Debug, PartialEq)]
pub struct TreeRun {
    /// The run before it on the way to the supply: an earlier place in the list. None if it begins at the supply.
    pub after: Option<usize>,
    /// One way.
    pub length_m: f64,
    /// Of its joints.
    pub joint_ohms: f64,
    /// What it carries when the bus is loaded.
    pub amps: f64,
    /// What it has to bear: at least `amps`, and the breaker's trip current if nothing else protects it.
    pub bears_amps: f64,
    /// A size that is there already, or pinned: its place in the list of sizes.
    pub pinned: Option<usize>,
}

/// A bus to be given its conductors.
#[derive(Clone, Debug, PartialEq)]
pub struct TreeBus {
    /// Each after the one it hangs on.
    pub runs: Vec<TreeRun>,
    /// What can be had.
    pub sizes: Vec<Size>,
    /// Volts that may be lost between the supply and any place, beyond what its own resistance loses.
    pub drop_volts_max: f64,
    /// Loop ohms between the supply and any place, so that a short trips the breaker.
    pub loop_ohms_max: f64,
}

/// The sizes chosen.
#[derive(Clone, Debug, PartialEq)]
pub struct Gauged {
    /// By run: the place of its size in the list.
    pub sizes: Vec<usize>,
    /// Of all runs.
    pub price: f64,
    /// No choice is cheaper than this.
    pub price_min: f64,
    /// The most volts lost at any place.
    pub drop_volts: f64,
    /// The most loop ohms to any place.
    pub loop_ohms: f64,
    /// No choice is cheaper.
    pub proven: bool,
}

/// Why no choice does.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Ungauged {
    /// No size bears what this run has to.
    CarriesTooMuch {
        /// Its place in the list.
        run: usize,
    },
    /// Even the heaviest sizes lose too many volts at the end of this run.
    DropsTooMuch {
        /// Its place in the list.
        run: usize,
        /// The volts lost there with the heaviest sizes.
        volts: f64,
    },
    /// Even with the heaviest sizes a short at the end of this run does not draw enough.
    TripsTooLate {
        /// Its place in the list.
        run: usize,
        /// The loop ohms to there with the heaviest sizes.
        ohms: f64,
    },
    /// A run names one that does not come before it.
    NotATree {
        /// Its place in the list.
        run: usize,
    },
}

/// One choice for a subtree.
#[derive(Clone, Debug)]
struct Entry {
    price: f64,
    drop: f64,
    ohms: f64,
    size: usize,
    /// The entries it is made of: places in the store.
    parts: Vec<usize>,
    run: usize,
}

impl TreeBus {
    fn choices(&self, run: usize) -> impl Iterator<Item = (usize, &Size)> + '_ {
        let part = &self.runs[run];
        let wanted =
            self.sizes.iter().enumerate().filter(move |&(at, _)| part.pinned.is_none_or(|pin| pin == at));
        wanted.filter(move |(_, size)| size.amps_max >= part.bears_amps * (1.0 - ROUNDING))
    }

    fn ohms(&self, run: usize, size: &Size) -> f64 {
        self.runs[run].length_m * size.loop_ohm_per_m + self.runs[run].joint_ohms
    }

    /// The cheapest sizes.
    ///
    /// # Errors
    /// Why there are none: the first run that no size serves.
    pub fn cheapest(&self) -> Result<Gauged, Ungauged> {
        let up = self.least_from_supply()?;
        let mut store: Vec<Entry> = Vec::new();
        let mut below: Vec<Vec<Vec<usize>>> = vec![Vec::new(); self.runs.len()];
        let (mut roots, mut proven) = (Vec::new(), true);
        for run in (0..self.runs.len()).rev() {
            let joined = branch(&below[run], &store, &mut proven);
            let (drop_left, ohms_left) =
                self.runs[run].after.map_or((0.0, 0.0), |after| (up[after].0, up[after].1));
            let mut front = Vec::new();
            for (at, size) in self.choices(run) {
                let ohms = self.ohms(run, size);
                for &(price, drop, most_ohms, ref parts) in &joined {
                    let entry = Entry {
                        price: price + self.runs[run].length_m * size.price_per_m,
                        drop: drop + ohms * self.runs[run].amps,
                        ohms: most_ohms + ohms,
                        size: at,
                        parts: parts.clone(),
                        run,
                    };
                    let fits = entry.drop + drop_left <= self.drop_volts_max * (1.0 + ROUNDING)
                        && entry.ohms + ohms_left <= self.loop_ohms_max * (1.0 + ROUNDING);
                    if fits {
                        front.push(entry);
                    }
                }
            }
            let places: Vec<usize> = best_of(front, &mut proven)
                .into_iter()
                .map(|entry| {
                    store.push(entry);
                    store.len() - 1
                })
                .collect();
            match self.runs[run].after {
                Some(after) => below[after].push(places),
                None => roots.push(places),
            }
        }
        Ok(self.collect(&store, &roots, proven))
    }

    /// Each subtree at the supply stands for itself: its cheapest entry.
    fn collect(&self, store: &[Entry], roots: &[Vec<usize>], proven: bool) -> Gauged {
        let mut gauged = Gauged {
            sizes: vec![0; self.runs.len()],
            price: 0.0,
            price_min: 0.0,
            drop_volts: 0.0,
            loop_ohms: 0.0,
            proven,
        };
        // Fronts are in the order of price.
        let mut open: Vec<usize> = roots.iter().filter_map(|front| front.first().copied()).collect();
        for &at in &open {
            let entry = &store[at];
            gauged.price += entry.price;
            gauged.drop_volts = gauged.drop_volts.max(entry.drop);
            gauged.loop_ohms = gauged.loop_ohms.max(entry.ohms);
        }
        while let Some(at) = open.pop() {
            gauged.sizes[store[at].run] = store[at].size;
            open.extend(&store[at].parts);
        }
        gauged.price_min = if proven { gauged.price } else { self.price_alone() };
        gauged
    }

    /// What the runs cost if each has the cheapest size that bears its current.
    fn price_alone(&self) -> f64 {
        let cheapest = |run: &TreeRun| {
            let fits = self.sizes.iter().enumerate().filter(|&(at, size)| match run.pinned {
                Some(pinned) => at == pinned,
                None => run.amps.max(run.bears_amps) <= size.amps_max * (1.0 + 1e-12),
            });
            fits.map(|(_, size)| size.price_per_m).min_by(f64::total_cmp).unwrap_or(0.0) * run.length_m
        };
        self.runs.iter().map(cheapest).sum()
    }

    /// With the heaviest sizes: volts and ohms to the end of each run; refused where even those do not do.
    fn least_from_supply(&self) -> Result<Vec<(f64, f64)>, Ungauged> {
        let mut up: Vec<(f64, f64)> = Vec::with_capacity(self.runs.len());
        for (run, part) in self.runs.iter().enumerate() {
            let before = match part.after {
                None => (0.0, 0.0),
                Some(after) => *up.get(after).ok_or(Ungauged::NotATree { run })?,
            };
            let least = self.choices(run).map(|(_, size)| self.ohms(run, size)).min_by(f64::total_cmp);
            let ohms = least.ok_or(Ungauged::CarriesTooMuch { run })?;
            let (volts, ohms) = (before.0 + ohms * part.amps, before.1 + ohms);
            if volts > self.drop_volts_max * (1.0 + ROUNDING) {
                return Err(Ungauged::DropsTooMuch { run, volts });
            }
            if ohms > self.loop_ohms_max * (1.0 + ROUNDING) {
                return Err(Ungauged::TripsTooLate { run, ohms });
            }
            up.push((volts, ohms));
        }
        Ok(up)
    }
}

/// What the runs below a branch come to together: price, worst drop, worst ohms, entries.
fn branch(fronts: &[Vec<usize>], store: &[Entry], proven: &mut bool) -> Vec<(f64, f64, f64, Vec<usize>)> {
    let mut joined = vec![(0.0, 0.0, 0.0, Vec::new())];
    for front in fronts {
        let mut next = Vec::new();
        for (price, drop, ohms, parts) in &joined {
            for &at in front {
                let entry = &store[at];
                let mut parts = parts.clone();
                parts.push(at);
                next.push(Entry {
                    price: price + entry.price,
                    drop: entry.drop.max(*drop),
                    ohms: entry.ohms.max(*ohms),
                    size: 0,
                    parts,
                    run: 0,
                });
            }
        }
        joined = best_of(next, proven)
            .into_iter()
            .map(|entry| (entry.price, entry.drop, entry.ohms, entry.parts))
            .collect();
    }
    joined
}

/// Those entries that no other is at least as good as in everything, cheapest first.
fn best_of(mut entries: Vec<Entry>, proven: &mut bool) -> Vec<Entry> {
    entries.sort_by(|a, b| {
        a.price.total_cmp(&b.price).then(a.drop.total_cmp(&b.drop)).then(a.ohms.total_cmp(&b.ohms))
    });
    let mut front: Vec<Entry> = Vec::new();
    // Of those before an entry, which are all as cheap: a staircase of drop against ohms, drops rising and ohms falling.
    let mut stairs: Vec<(f64, f64)> = Vec::new();
    for entry in entries {
        let after = stairs.partition_point(|&(drop, _)| drop <= entry.drop);
        if after > 0 && stairs[after - 1].1 <= entry.ohms {
            continue;
        }
        let first_kept = after + stairs[after..].partition_point(|&(_, ohms)| ohms >= entry.ohms);
        // An equal drop with more ohms stands just before.
        let begin = if after > 0 && stairs[after - 1].0 >= entry.drop { after - 1 } else { after };
        stairs.splice(begin..first_kept, [(entry.drop, entry.ohms)]);
        front.push(entry);
    }
    if front.len() > FRONT_MAX {
        *proven = false;
        // Both ends stay: the cheapest, and the dearest, which loses least.
        let last = front.len() - 1;
        let kept = (0..FRONT_MAX).map(|at| at * last / (FRONT_MAX - 1));
        front = kept.map(|at| front[at].clone()).collect();
    }
    front
}
