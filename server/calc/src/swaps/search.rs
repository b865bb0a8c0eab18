//! Which rigs to make full, and by which of their mends.
//!
//! Branch and bound over the ways to mend each candidate rig. All three aims are one whole number: weight, less moves, less minutes, each so scaled
//! that no amount of the next outweighs one step of it.
//!
//! - *Bound*: each zone may be taken once for its multiplier; a rig then brings what its zones are worth beyond, less its moves and nearest minutes, shared
//!   out over its gaps (over what all its ways have in common, where it has several). The gaps that can be filled at once are the independent sets of
//!   a matroid (matching with limits for groups), so filling gaps by falling share is the best of all fillings, half-filled rigs included: nothing that
//!   makes whole rigs full is better.
//! - *Minutes* of a set of ways: least-cost flow, exact.

use super::pairs::{Pairs, cheapest};
use super::shape::least;
use super::zones::Task;
use crate::amount::real;
use crate::sets::pick;
use crate::watch::Work;
use std::cmp::Reverse;

/// Rounds of the bound at the top and below it.
const ROUNDS: (u32, u32) = (250, 16);

/// The best plan found.
#[derive(Debug, Clone, Default)]
pub(super) struct BestPlan {
    /// The ways by which rigs are made full, ascending.
    pub(super) chosen: Vec<usize>,
    /// Gap and donor of each move.
    pub(super) pairs: Vec<(usize, usize)>,
    pub(super) value: i64,
    pub(super) minutes: i64,
    /// No plan reaches more than this beyond what is reached already.
    pub(super) bound: i64,
    /// No plan is better in any of the three aims.
    pub(super) proved: bool,
}

pub(super) struct Search<'a> {
    pub(super) task: &'a Task,
    /// One step of weight, and one move, in minutes.
    pub(super) weight: i128,
    pub(super) a_move: i128,
    pub(super) best: BestPlan,
    pub(super) score: i128,
}

#[derive(Clone)]
pub(super) struct Node {
    /// Ways that are taken, one for a rig.
    pub(super) chosen: Vec<usize>,
    /// Ways that may be.
    pub(super) free: Vec<usize>,
    pub(super) reached: Vec<bool>,
    pub(super) pairs: Pairs,
    pub(super) multipliers: Vec<i128>,
}

pub(super) fn best(task: &Task, work: &mut Work<'_>) -> BestPlan {
    let most = |of: &dyn Fn(usize) -> i64| -> i64 {
        let ways = |c: &super::zones::Candidate| c.ways.iter().map(|way| of(*way)).max().unwrap_or(0);
        task.candidates.iter().map(ways).sum()
    };
    let gaps_of = |way: usize| task.ways.get(way).map_or(&[][..], |way| way.gaps.as_slice());
    let farthest = |gap: &usize| task.fits.get(*gap).and_then(|list| list.last()).map_or(0, |fit| fit.1);
    let a_move = i128::from(most(&|way| gaps_of(way).iter().map(farthest).sum())) + 1;
    let gaps = most(&|way| i64::try_from(gaps_of(way).len()).unwrap_or(i64::MAX));
    let mut search = Search {
        task,
        weight: a_move * (i128::from(gaps) + 1),
        a_move,
        best: BestPlan::default(),
        score: 0,
    };
    search.start();
    let shared: Vec<i128> = (0..task.weights.len())
        .map(|zone| wide(task.candidates.iter().filter(|c| c.zones.contains(&zone)).count()))
        .collect();
    let root = Node {
        chosen: Vec::new(),
        free: (0..task.ways.len()).collect(),
        reached: vec![false; task.weights.len()],
        pairs: Pairs::new(task, &[]),
        multipliers: task
            .weights
            .iter()
            .zip(&shared)
            .map(|(w, n)| i128::from(*w) * search.weight * (n - 1).max(0) / (*n).max(1))
            .collect(),
    };
    let bound = search.dive(root, ROUNDS.0, work).max(search.score);
    let (value, proved) = (search.most_value(bound), bound <= search.score);
    let mut found = search.best;
    found.bound = if proved { found.value } else { value.max(found.value) };
    found.proved = proved;
    found
}

pub(super) fn wide(n: usize) -> i128 {
    i128::try_from(n).unwrap_or(i128::MAX)
}

impl Search<'_> {
    pub(super) fn gaps(&self, way: usize) -> &[usize] {
        self.task.ways.get(way).map_or(&[], |way| way.gaps.as_slice())
    }

    pub(super) fn candidate(&self, way: usize) -> usize {
        self.task.ways.get(way).map_or(usize::MAX, |way| way.candidate)
    }

    pub(super) fn ways(&self, candidate: usize) -> &[usize] {
        self.task.candidates.get(candidate).map_or(&[], |c| c.ways.as_slice())
    }

    /// The zones that a way brings.
    fn zones(&self, way: usize) -> &[usize] {
        self.task.candidates.get(self.candidate(way)).map_or(&[], |c| c.zones.as_slice())
    }

    pub(super) fn all_gaps(&self, chosen: &[usize]) -> Vec<usize> {
        chosen.iter().flat_map(|way| self.gaps(*way)).copied().collect()
    }

    fn nearest(&self, gaps: &[usize]) -> i64 {
        gaps.iter().map(|gap| least(&self.task.fits, *gap)).sum()
    }

    pub(super) fn worth(&self, chosen: &[usize]) -> i64 {
        self.task.worth(chosen)
    }

    pub(super) fn reach(&self, reached: &mut [bool], way: usize) {
        for zone in self.zones(way) {
            if let Some(mark) = reached.get_mut(*zone) {
                *mark = true;
            }
        }
    }

    /// Moves and minutes of a set of gaps, at the least.
    pub(super) fn least_effort(&self, gaps: &[usize]) -> i128 {
        self.a_move * wide(gaps.len()) + i128::from(self.nearest(gaps))
    }

    /// The most weight that a score allows.
    pub(super) fn most_value(&self, score: i128) -> i64 {
        let steps = (score + self.weight - 1).div_euclid(self.weight);
        let grain = i128::from(self.task.grain);
        i64::try_from(steps.div_euclid(grain) * grain).unwrap_or(i64::MAX)
    }

    /// Takes a set of ways if it is the best so far. Rigs that bring nothing are left away first.
    pub(super) fn offer(&mut self, chosen: &[usize]) -> usize {
        let mut chosen = chosen.to_vec();
        let value = self.worth(&chosen);
        let mut by_size = chosen.clone();
        by_size.sort_by_key(|c| Reverse(self.gaps(*c).len()));
        for candidate in by_size {
            let rest: Vec<usize> = chosen.iter().copied().filter(|c| *c != candidate).collect();
            if self.worth(&rest) == value {
                chosen = rest;
            }
        }
        let gaps = self.all_gaps(&chosen);
        if i128::from(value) * self.weight - self.least_effort(&gaps) <= self.score {
            return 0;
        }
        let Some((pairs, minutes, looks)) = cheapest(self.task, &chosen) else {
            return 0;
        };
        let score = i128::from(value) * self.weight - self.a_move * wide(gaps.len()) - i128::from(minutes);
        if score > self.score {
            chosen.sort_unstable();
            self.score = score;
            self.best = BestPlan {
                chosen,
                pairs,
                value,
                minutes,
                ..BestPlan::default()
            };
        }
        looks
    }

    /// Greedy: the rig of most weight per gap that can still be made full, until none brings more; then once more with each one forced in first.
    fn start(&mut self) {
        let all = self.task.candidates.len();
        let firsts: Vec<Option<usize>> = std::iter::once(None).chain((0..all).map(Some)).collect();
        for first in firsts {
            let (mut chosen, mut pairs) = (Vec::new(), Pairs::new(self.task, &[]));
            if let Some(first) = first
                && !self.add(&mut chosen, &mut pairs, first, &|_| true)
            {
                continue;
            }
            loop {
                let now = self.worth(&chosen);
                let mut order: Vec<(Reverse<i64>, usize)> = (0..all)
                    .filter_map(|c| {
                        let way = self.ways(c).first()?;
                        let with: Vec<usize> = chosen.iter().copied().chain([*way]).collect();
                        let gain = self.worth(&with) - now;
                        let gaps = i64::try_from(self.gaps(*way).len()).unwrap_or(1).max(1);
                        (gain > 0).then_some((Reverse(gain / gaps), c))
                    })
                    .collect();
                order.sort_unstable();
                if !order.into_iter().any(|(_, c)| self.add(&mut chosen, &mut pairs, c, &|_| true)) {
                    break;
                }
            }
            self.offer(&chosen);
        }
    }

    /// Makes one more rig full by the first of its ways that can be; false when none can.
    pub(super) fn add(&self, chosen: &mut Vec<usize>, pairs: &mut Pairs, candidate: usize, may: &dyn Fn(usize) -> bool) -> bool {
        for way in self.ways(candidate).iter().filter(|way| may(**way)) {
            if let Some(more) = self.with(chosen, pairs, *way) {
                *pairs = more;
                chosen.push(*way);
                return true;
            }
        }
        false
    }

    /// The pairing with one more way; `None` when it cannot be taken as well.
    fn with(&self, chosen: &[usize], pairs: &Pairs, way: usize) -> Option<Pairs> {
        if self.task.ways.get(way).is_some_and(|way| !way.rests_on.is_empty()) {
            let more: Vec<usize> = chosen.iter().copied().chain([way]).collect();
            let mut pairs = Pairs::new(self.task, &more);
            return pairs.fill_all(self.task, &self.all_gaps(&more), &mut 0).then_some(pairs);
        }
        let mut pairs = pairs.clone();
        pairs.fill_all(self.task, self.gaps(way), &mut 0).then_some(pairs)
    }

    /// Explores a node; no plan within it scores more than what is returned.
    fn dive(&mut self, mut node: Node, rounds: u32, work: &mut Work<'_>) -> i128 {
        node.free.retain(|way| {
            let brings = self.zones(*way).iter().any(|zone| !pick(&node.reached, *zone));
            brings && self.with(&node.chosen, &node.pairs, *way).is_some()
        });
        let looks = self.offer(&node.chosen) + node.free.len() * 60;
        let known = real(self.best.value);
        if node.free.is_empty() {
            work.spend(looks, real(self.task.total), known);
            return self.score;
        }
        let (bound, branch) = self.price(&mut node, rounds, work);
        work.spend(looks, real(self.task.total), real(self.best.value));
        if bound <= self.score || self.most_value(bound) < self.best.value || work.is_stopped() {
            return bound;
        }
        if self.most_value(bound) == self.best.value && !node.chosen.is_empty() {
            // Only moves and minutes can still be better: now the true minutes of what is chosen count.
            let gaps = self.all_gaps(&node.chosen);
            let Some((_, minutes, looks)) = cheapest(self.task, &node.chosen) else {
                return self.score;
            };
            work.spend(looks, real(self.task.total), real(self.best.value));
            if bound - i128::from(minutes - self.nearest(&gaps)) <= self.score {
                return self.score;
            }
        }
        let mut with = node.clone();
        with.chosen.push(branch);
        with.free.retain(|way| self.candidate(*way) != self.candidate(branch));
        self.reach(&mut with.reached, branch);
        let one = match self.with(&node.chosen, &node.pairs, branch) {
            Some(pairs) => {
                with.pairs = pairs;
                self.dive(with, ROUNDS.1, work)
            }
            None => self.score,
        };
        if work.is_stopped() {
            return bound;
        }
        node.free.retain(|way| *way != branch);
        one.max(self.dive(node, ROUNDS.1, work)).min(bound)
    }
}
