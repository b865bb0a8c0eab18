//! What sites save, zone by zone, and plans that are good but not proved: greedy, then swaps.

use crate::amount::{float, grain};
use crate::sets::pick;

/// What the sites save.
pub(super) struct Savings {
    zones: usize,
    /// For each site the zones it serves with what it saves there, above 0, by ascending zone.
    of: Vec<Vec<(usize, i64)>>,
    grain: i64,
}

impl Savings {
    pub(super) fn new(zones: usize, of: Vec<Vec<(usize, i64)>>) -> Self {
        let grain = grain(of.iter().flatten().map(|(_, saving)| *saving));
        Self { zones, of, grain }
    }

    pub(super) const fn zones(&self) -> usize {
        self.zones
    }

    /// All sums of savings are multiples of it.
    pub(super) const fn grain(&self) -> i64 {
        self.grain
    }

    pub(super) fn site(&self, site: usize) -> &[(usize, i64)] {
        self.of.get(site).map_or(&[], Vec::as_slice)
    }

    /// The sites that no other one makes superfluous; of two alike the first stays.
    pub(super) fn undominated(&self) -> Vec<usize> {
        let entries: usize = self.of.iter().map(Vec::len).sum();
        if entries.saturating_mul(self.of.len()) > 100_000_000 {
            return (0..self.of.len()).collect();
        }
        let mut kept: Vec<usize> = Vec::new();
        for (site, own) in self.of.iter().enumerate() {
            let mut dense = vec![0; self.zones];
            own.iter().for_each(|(zone, saving)| put(&mut dense, *zone, *saving));
            let covers = |small: &[(usize, i64)]| small.iter().all(|(zone, saving)| pick(&dense, *zone) >= *saving);
            let superfluous = own.is_empty()
                || self
                    .of
                    .iter()
                    .enumerate()
                    .any(|(other, big)| other != site && big.len() >= own.len() && within(own, big) && (other < site || !covers(big)));
            if !superfluous {
                kept.push(site);
            }
        }
        kept
    }

    pub(super) fn value(&self, sites: &[usize]) -> i64 {
        self.levels(sites).iter().sum()
    }

    fn levels(&self, sites: &[usize]) -> Vec<i64> {
        let mut levels = vec![0; self.zones];
        sites.iter().for_each(|site| self.raise(&mut levels, *site));
        levels
    }

    pub(super) fn raise(&self, levels: &mut [i64], site: usize) {
        for (zone, saving) in self.site(site) {
            if let Some(level) = levels.get_mut(*zone) {
                *level = (*level).max(*saving);
            }
        }
    }

    fn gain(&self, levels: &[i64], site: usize) -> i64 {
        self.site(site).iter().map(|(zone, saving)| (saving - pick(levels, *zone)).max(0)).sum()
    }

    /// Adds the site of greatest gain until there are k, then swaps one for one while that helps.
    pub(super) fn improve(&self, mut sites: Vec<usize>, k: usize, free: &[usize]) -> (i64, Vec<usize>) {
        let mut levels = self.levels(&sites);
        while sites.len() < k {
            let best = free.iter().map(|site| (self.gain(&levels, *site), std::cmp::Reverse(*site))).max();
            let Some((_, std::cmp::Reverse(site))) = best.filter(|(gain, _)| *gain > 0) else {
                break;
            };
            self.raise(&mut levels, site);
            sites.push(site);
        }
        let mut value = self.value(&sites);
        let mut at = 0;
        while at < sites.len() {
            let mut rest = sites.clone();
            rest.remove(at);
            let levels = self.levels(&rest);
            let base: i64 = levels.iter().sum();
            let best = free.iter().map(|site| (base + self.gain(&levels, *site), std::cmp::Reverse(*site))).max();
            match best {
                Some((better, std::cmp::Reverse(site))) if better > value => {
                    rest.push(site);
                    (sites, value, at) = (rest, better, 0);
                }
                _ => at += 1,
            }
        }
        (value, sites)
    }
}

pub(super) fn put(values: &mut [i64], at: usize, value: i64) {
    if let Some(slot) = values.get_mut(at) {
        *slot = value;
    }
}

/// Whether every entry of `small` is in `big` and at least as large there; both by ascending zone.
fn within(small: &[(usize, i64)], big: &[(usize, i64)]) -> bool {
    let mut rest = big.iter();
    small.iter().all(|(zone, saving)| {
        rest.find(|(other, _)| other >= zone)
            .is_some_and(|(other, most)| other == zone && most >= saving)
    })
}

/// How far the best may lie above what was found, as a share of the bound.
pub(super) fn gap(value: i64, bound: i64) -> f64 {
    if bound <= value { 0.0 } else { float(bound - value) / float(bound.max(1)) }
}

/// A share of a total; all of nothing is 1.
pub(super) fn part(of: i64, total: i64) -> f64 {
    if total == 0 { 1.0 } else { float(of) / float(total) }
}
