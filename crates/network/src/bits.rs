//! Sets of small numbers as rows of bits, for work over all pairs of routes.

/// A set of numbers below a size fixed when it is made.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(crate) struct Bits(Vec<u64>);

impl Bits {
    /// The empty set, with room for numbers below `size`.
    pub(crate) fn new(size: usize) -> Self {
        Self(vec![0; size.div_ceil(64)])
    }

    pub(crate) fn insert(&mut self, number: usize) {
        self.0[number / 64] |= 1 << (number % 64);
    }

    pub(crate) fn remove(&mut self, number: usize) {
        self.0[number / 64] &= !(1 << (number % 64));
    }

    pub(crate) fn contains(&self, number: usize) -> bool {
        self.0[number / 64] >> (number % 64) & 1 == 1
    }

    pub(crate) fn len(&self) -> usize {
        self.0.iter().map(|word| word.count_ones() as usize).sum()
    }

    pub(crate) fn is_empty(&self) -> bool {
        self.0.iter().all(|&word| word == 0)
    }

    pub(crate) fn add_all(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a |= b;
        }
    }

    /// Whether every number here that is also in `within` is in `other`.
    pub(crate) fn is_within(&self, within: &Self, other: &Self) -> bool {
        self.0.iter().zip(&within.0).zip(&other.0).all(|((a, within), b)| a & within & !b == 0)
    }

    pub(crate) fn keep(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a &= b;
        }
    }

    pub(crate) fn take_away(&mut self, other: &Self) {
        for (a, b) in self.0.iter_mut().zip(&other.0) {
            *a &= !b;
        }
    }

    /// The numbers in the set, in order.
    pub(crate) fn iter(&self) -> impl Iterator<Item = usize> {
        self.0.iter().enumerate().flat_map(|(index, &word)| {
            let mut word = word;
            std::iter::from_fn(move || {
                if word == 0 {
                    return None;
                }
                let bit = word.trailing_zeros() as usize;
                word &= word - 1;
                Some(index * 64 + bit)
            })
        })
    }

    /// The least number in the set.
    pub(crate) fn first(&self) -> Option<usize> {
        let index = self.0.iter().position(|&word| word != 0)?;
        Some(index * 64 + self.0[index].trailing_zeros() as usize)
    }
}
