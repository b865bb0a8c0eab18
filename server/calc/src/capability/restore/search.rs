//! The cheapest set that does, where having more never does less.
//!
//! Every set that does not do, made as large as it can be without doing, says: of these sorts one more is needed than it has
//! (a *cut*). The cheapest set that satisfies all cuts found so far costs no more than the cheapest set that does. So either it
//! does, and is the cheapest; or it gives a further cut. Each question to the level counts as one try.

use crate::sets::{self, Set, pick};
use std::collections::BTreeSet;

/// Things that can stand for each other, in the order in which they are taken.
pub(in crate::capability) struct Sort {
    pub members: Vec<usize>,
    /// What each costs.
    pub weight: u32,
}

pub(super) struct Choice {
    /// How many of each sort.
    pub counts: Vec<usize>,
    pub is_smallest: bool,
}

/// What [`Attempts::every_smallest`] finds.
#[derive(Default)]
pub(in crate::capability) struct EverySet {
    /// How many of each sort.
    pub sets: Vec<Vec<usize>>,
    /// Whether nothing was left unasked.
    pub is_whole: bool,
}

/// "One of these: so many of that sort."
type Cut = Vec<(usize, usize)>;

pub(in crate::capability) struct Attempts<'s, F> {
    sorts: &'s [Sort],
    does: F,
    left: usize,
    /// Steps of the search over cuts.
    steps: usize,
}

/// Steps of the search over cuts at most.
const STEPS: usize = 20_000;

impl<'s, F: FnMut(Set) -> Option<bool>> Attempts<'s, F> {
    pub(in crate::capability) fn new(left: usize, sorts: &'s [Sort], does: F) -> Self {
        Self {
            sorts,
            does,
            left,
            steps: STEPS,
        }
    }

    fn ask(&mut self, counts: &[usize]) -> Option<bool> {
        self.left = self.left.checked_sub(1)?;
        let pieces = self
            .sorts
            .iter()
            .zip(counts)
            .fold(0, |set, (sort, count)| sort.members.iter().take(*count).fold(set, |set, i| set | sets::one(*i)));
        (self.does)(pieces)
    }

    fn cost(&self, counts: &[usize]) -> u32 {
        self.sorts
            .iter()
            .zip(counts)
            .map(|(sort, count)| sort.weight * u32::try_from(*count).unwrap_or(u32::MAX))
            .sum()
    }

    /// The cheapest set that does; none: not even all together do, or it could not be asked.
    pub(super) fn cheapest(&mut self) -> Option<Choice> {
        let most: Vec<usize> = self.sorts.iter().map(|sort| sort.members.len()).collect();
        if !self.ask(&most)? {
            return None;
        }
        let upper = self.thinned(most.clone());
        let mut cuts: Vec<Cut> = Vec::new();
        let proved = loop {
            let mut best = None;
            let mut counts = vec![0; self.sorts.len()];
            self.satisfy(&cuts, &mut counts, &mut best);
            if self.steps == 0 {
                break None;
            }
            let Some(lower) = best else { break None };
            if self.cost(&lower) >= self.cost(&upper) {
                break Some(upper.clone());
            }
            match self.ask(&lower) {
                Some(true) => break Some(lower),
                Some(false) => {}
                None => break None,
            }
            match self.grown(lower, &most) {
                Some(cut) => cuts.push(cut),
                None => break None,
            }
        };
        let is_smallest = proved.is_some();
        Some(Choice {
            counts: proved.unwrap_or(upper),
            is_smallest,
        })
    }

    /// Every set of at most `size` things that does and of which nothing can be left out. What could not be asked ends the search.
    pub(in crate::capability) fn every_smallest(&mut self, size: usize) -> EverySet {
        let mut all = EverySet::default();
        all.is_whole = self.seek_every(size, &mut all.sets).is_some();
        all
    }

    fn seek_every(&mut self, size: usize, found: &mut Vec<Vec<usize>>) -> Option<()> {
        let most: Vec<usize> = self.sorts.iter().map(|sort| sort.members.len()).collect();
        if !self.ask(&most)? {
            return Some(());
        }
        let mut cuts: Vec<Cut> = Vec::new();
        // By size, so that a set is found before those that hold more than it.
        let mut open = BTreeSet::from([(0, vec![0; most.len()])]);
        while let Some((taken, counts)) = open.pop_first() {
            self.steps = self.steps.checked_sub(1)?;
            if found.iter().any(|set| set.iter().zip(&counts).all(|(less, have)| less <= have)) {
                continue;
            }
            let lacks: Vec<&Cut> = cuts.iter().filter(|cut| !satisfied(cut, &counts)).collect();
            let cut = match lacks.iter().min_by_key(|cut| cut.len()) {
                Some(_) if apart(&lacks) > size - taken => continue,
                Some(cut) => (*cut).clone(),
                None if self.ask(&counts)? => {
                    found.push(counts);
                    continue;
                }
                None => {
                    let cut = self.grown(counts.clone(), &most)?;
                    cuts.push(cut.clone());
                    cut
                }
            };
            for (sort, needed) in cut {
                let with = taken + needed - pick(&counts, sort);
                let mut more = counts.clone();
                if let Some(count) = more.get_mut(sort).filter(|_| with <= size) {
                    *count = needed;
                    open.insert((with, more));
                }
            }
        }
        Some(())
    }

    /// Takes away what is not needed, the dearest first: as much as goes at once, for most sorts are not needed at all.
    fn thinned(&mut self, mut counts: Vec<usize>) -> Vec<usize> {
        let mut units: Vec<usize> = (0..self.sorts.len()).flat_map(|sort| std::iter::repeat_n(sort, pick(&counts, sort))).collect();
        units.sort_by_key(|sort| std::cmp::Reverse((self.sorts.get(*sort).map(|s| s.weight), *sort)));
        let mut open = vec![units.as_slice()];
        while let Some(units) = open.pop() {
            let mut fewer = counts.clone();
            change(&mut fewer, units, |have| have.saturating_sub(1));
            match self.ask(&fewer) {
                Some(true) => counts = fewer,
                Some(false) => open.extend(halves(units).into_iter().rev()),
                None => break,
            }
        }
        counts
    }

    /// As large as it can be without doing: what it still lacks is a cut. None when it could not be asked.
    fn grown(&mut self, mut counts: Vec<usize>, most: &[usize]) -> Option<Cut> {
        let left = |sort: usize| pick(most, sort).saturating_sub(pick(&counts, sort));
        let units: Vec<usize> = (0..counts.len()).flat_map(|sort| std::iter::repeat_n(sort, left(sort))).collect();
        let mut open = vec![units.as_slice()];
        while let Some(units) = open.pop() {
            let mut more = counts.clone();
            change(&mut more, units, |have| have + 1);
            if self.ask(&more)? {
                open.extend(halves(units).into_iter().rev());
            } else {
                counts = more;
            }
        }
        let cut: Cut = counts
            .iter()
            .zip(most)
            .enumerate()
            .filter(|(_, (have, all))| have < all)
            .map(|(sort, (have, _))| (sort, have + 1))
            .collect();
        (!cut.is_empty()).then_some(cut)
    }

    /// The cheapest counts that satisfy every cut.
    fn satisfy(&mut self, cuts: &[Cut], counts: &mut Vec<usize>, best: &mut Option<Vec<usize>>) {
        self.steps = self.steps.saturating_sub(1);
        if self.steps == 0 || best.as_ref().is_some_and(|best| self.cost(counts) >= self.cost(best)) {
            return;
        }
        let Some(open) = cuts.iter().find(|cut| !satisfied(cut, counts)) else {
            *best = Some(counts.clone());
            return;
        };
        for (sort, needed) in open {
            let Some(was) = counts.get(*sort).copied() else { continue };
            if let Some(of) = counts.get_mut(*sort) {
                *of = *needed;
            }
            self.satisfy(cuts, counts, best);
            if let Some(of) = counts.get_mut(*sort) {
                *of = was;
            }
        }
    }
}

fn satisfied(cut: &Cut, counts: &[usize]) -> bool {
    cut.iter().any(|(sort, needed)| counts.get(*sort).is_some_and(|have| have >= needed))
}

/// So many of these cuts, at the least, take a thing each of their own.
fn apart(cuts: &[&Cut]) -> usize {
    let mut seen: BTreeSet<usize> = BTreeSet::new();
    let mut apart = 0;
    for cut in cuts {
        if cut.iter().all(|(sort, _)| !seen.contains(sort)) {
            seen.extend(cut.iter().map(|(sort, _)| *sort));
            apart += 1;
        }
    }
    apart
}

/// A row in two; nothing for one that cannot be divided.
fn halves(units: &[usize]) -> Vec<&[usize]> {
    let (one, other) = units.split_at(units.len() / 2);
    if one.is_empty() { Vec::new() } else { vec![one, other] }
}

fn change(counts: &mut [usize], units: &[usize], by: impl Fn(usize) -> usize) {
    for unit in units {
        if let Some(count) = counts.get_mut(*unit) {
            *count = by(*count);
        }
    }
}
