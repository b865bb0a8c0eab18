//! Counts of whole numbers by size, for whoever watches over the service. Taking one in never waits.

use std::sync::atomic::{AtomicU64, Ordering};

/// How often values up to each bound were taken in. `N` is the number of bounds.
#[derive(Debug)]
pub struct Histogram<const N: usize> {
    bounds: &'static [u64; N],
    within: [AtomicU64; N],
    beyond: AtomicU64,
    sum: AtomicU64,
}

/// What a histogram has taken in.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Counts {
    /// Each bound with how many values were at it or below.
    pub up_to: Vec<(u64, u64)>,
    /// How many in all.
    pub count: u64,
    /// Their sum.
    pub sum: u64,
}

impl<const N: usize> Histogram<N> {
    /// An empty one; the bounds rise.
    pub fn new(bounds: &'static [u64; N]) -> Self {
        Self {
            bounds,
            within: std::array::from_fn(|_| AtomicU64::new(0)),
            beyond: AtomicU64::new(0),
            sum: AtomicU64::new(0),
        }
    }

    /// Takes a value in.
    pub fn add(&self, value: u64) {
        let place = self.bounds.iter().zip(&self.within).find(|(bound, _)| value <= **bound);
        place.map_or(&self.beyond, |(_, within)| within).fetch_add(1, Ordering::Relaxed);
        self.sum.fetch_add(value, Ordering::Relaxed);
    }

    /// What it holds.
    pub fn read(&self) -> Counts {
        let mut count = 0;
        let up_to = self.bounds.iter().zip(&self.within).map(|(bound, within)| {
            count += within.load(Ordering::Relaxed);
            (*bound, count)
        });
        Counts {
            up_to: up_to.collect(),
            sum: self.sum.load(Ordering::Relaxed),
            count: count + self.beyond.load(Ordering::Relaxed),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_value_counts_at_its_bound_and_above() {
        let histogram = Histogram::new(&[1, 5, 10]);
        [0, 1, 5, 6, 10, 11, 500].into_iter().for_each(|value| histogram.add(value));
        let wanted = Counts {
            up_to: vec![(1, 2), (5, 3), (10, 5)],
            count: 7,
            sum: 533,
        };
        assert_eq!(histogram.read(), wanted);
    }
}
