//! Which rigs to make full.
//!
//! Branch and bound over the candidate rigs. All three aims are one whole number: weight, less moves, less minutes, each so scaled that no amount of the
//! next outweighs one step of it.
//!
//! - *Bound*: each zone may be taken once for its multiplier; a rig then brings what its zones are worth beyond, less its moves and nearest minutes, shared
//!   out over its gaps. The gaps that can be filled at once are the independent sets of a matroid (matching with limits for groups), so filling gaps by
//!   falling share is the best of all fillings, half-filled rigs included: nothing that makes whole rigs full is better.
//! - *Minutes* of a set of rigs: least-cost flow, exact.

use super::pairs::{Pairs, cheapest};
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
    /// Candidates made full, ascending.
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

struct Search<'a> {
    task: &'a Task,
    /// One step of weight, and one move, in minutes.
    weight: i128,
    a_move: i128,
    nearest: Vec<i64>,
    /// Whether a donor strips the candidate.
    stripped: Vec<bool>,
    best: BestPlan,
    score: i128,
}

#[derive(Clone)]
struct Node {
    chosen: Vec<usize>,
    free: Vec<usize>,
    reached: Vec<bool>,
    pairs: Pairs,
    multipliers: Vec<i128>,
}

pub(super) fn best(task: &Task, work: &mut Work<'_>) -> BestPlan {
    let gaps = task.candidates.iter().map(|c| c.gaps.len()).sum::<usize>();
    let ends = |far: bool| -> Vec<i64> {
        let end = |list: &Vec<(usize, i64)>| if far { list.last() } else { list.first() }.map_or(0, |fit| fit.1);
        task.fits.iter().map(end).collect()
    };
    let a_move = i128::from(ends(true).iter().sum::<i64>()) + 1;
    let stripped = task.candidates.iter().map(|c| task.strips.contains(&Some(c.rig))).collect();
    let mut search = Search {
        task,
        weight: a_move * (wide(gaps) + 1),
        a_move,
        nearest: ends(false),
        stripped,
        best: BestPlan::default(),
        score: 0,
    };
    search.start();
    let shared: Vec<i128> = (0..task.weights.len())
        .map(|zone| wide(task.candidates.iter().filter(|c| c.zones.contains(&zone)).count()))
        .collect();
    let root = Node {
        chosen: Vec::new(),
        free: (0..task.candidates.len()).collect(),
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

fn wide(n: usize) -> i128 {
    i128::try_from(n).unwrap_or(i128::MAX)
}

impl Search<'_> {
    fn gaps(&self, candidate: usize) -> &[usize] {
        self.task.candidates.get(candidate).map_or(&[], |c| c.gaps.as_slice())
    }

    fn zones(&self, candidate: usize) -> &[usize] {
        self.task.candidates.get(candidate).map_or(&[], |c| c.zones.as_slice())
    }

    fn all_gaps(&self, chosen: &[usize]) -> Vec<usize> {
        chosen.iter().flat_map(|c| self.gaps(*c)).copied().collect()
    }

    fn rigs(&self, chosen: &[usize]) -> Vec<usize> {
        chosen.iter().filter_map(|c| self.task.candidates.get(*c)).map(|c| c.rig).collect()
    }

    fn worth(&self, chosen: &[usize]) -> i64 {
        let mut reached = vec![false; self.task.weights.len()];
        chosen.iter().for_each(|c| self.reach(&mut reached, *c));
        self.task.weights.iter().zip(reached).filter(|(_, r)| *r).map(|(w, _)| w).sum()
    }

    fn reach(&self, reached: &mut [bool], candidate: usize) {
        for zone in self.zones(candidate) {
            if let Some(mark) = reached.get_mut(*zone) {
                *mark = true;
            }
        }
    }

    /// Moves and minutes of a set of gaps, at the least.
    fn least_effort(&self, gaps: &[usize]) -> i128 {
        self.a_move * wide(gaps.len()) + gaps.iter().map(|gap| i128::from(pick(&self.nearest, *gap))).sum::<i128>()
    }

    /// The most weight that a score allows.
    fn most_value(&self, score: i128) -> i64 {
        let steps = (score + self.weight - 1).div_euclid(self.weight);
        let grain = i128::from(self.task.grain);
        i64::try_from(steps.div_euclid(grain) * grain).unwrap_or(i64::MAX)
    }

    /// Takes a set of rigs if it is the best so far. Rigs that bring nothing are left away first.
    fn offer(&mut self, chosen: &[usize]) -> usize {
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
        let Some((pairs, minutes, looks)) = cheapest(self.task, &gaps, &self.rigs(&chosen)) else {
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
            let mut chosen: Vec<usize> = first.into_iter().collect();
            let Some(mut pairs) = self.paired(&chosen) else { continue };
            loop {
                let now = self.worth(&chosen);
                let mut order: Vec<(Reverse<i64>, usize)> = (0..all)
                    .filter(|c| !chosen.contains(c))
                    .filter_map(|c| {
                        let with: Vec<usize> = chosen.iter().copied().chain([c]).collect();
                        let gain = self.worth(&with) - now;
                        let gaps = i64::try_from(self.gaps(c).len()).unwrap_or(1).max(1);
                        (gain > 0).then_some((Reverse(gain / gaps), c))
                    })
                    .collect();
                order.sort_unstable();
                let next = order.into_iter().find_map(|(_, c)| self.with(&chosen, &pairs, c).map(|pairs| (c, pairs)));
                let Some((c, more)) = next else { break };
                chosen.push(c);
                pairs = more;
            }
            self.offer(&chosen);
        }
    }

    fn paired(&self, chosen: &[usize]) -> Option<Pairs> {
        let mut pairs = Pairs::new(self.task, &self.rigs(chosen));
        pairs.fill_all(self.task, &self.all_gaps(chosen), &mut 0).then_some(pairs)
    }

    /// The pairing with one more rig; `None` when it cannot be made full as well.
    fn with(&self, chosen: &[usize], pairs: &Pairs, candidate: usize) -> Option<Pairs> {
        if pick(&self.stripped, candidate) {
            let more: Vec<usize> = chosen.iter().copied().chain([candidate]).collect();
            return self.paired(&more);
        }
        let mut pairs = pairs.clone();
        pairs.fill_all(self.task, self.gaps(candidate), &mut 0).then_some(pairs)
    }

    /// Explores a node; no plan within it scores more than what is returned.
    fn dive(&mut self, mut node: Node, rounds: u32, work: &mut Work<'_>) -> i128 {
        node.free.retain(|c| {
            let brings = self.zones(*c).iter().any(|zone| !pick(&node.reached, *zone));
            brings && self.with(&node.chosen, &node.pairs, *c).is_some()
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
            let Some((_, minutes, looks)) = cheapest(self.task, &gaps, &self.rigs(&node.chosen)) else {
                return self.score;
            };
            work.spend(looks, real(self.task.total), real(self.best.value));
            let nearest: i64 = gaps.iter().map(|gap| pick(&self.nearest, *gap)).sum();
            if bound - i128::from(minutes - nearest) <= self.score {
                return self.score;
            }
        }
        let mut with = node.clone();
        with.chosen.push(branch);
        with.free.retain(|c| *c != branch);
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
        node.free.retain(|c| *c != branch);
        one.max(self.dive(node, ROUNDS.1, work)).min(bound)
    }

    /// Subgradient steps; gives the least bound and the rig to branch on, and leaves the best multipliers in the node.
    fn price(&mut self, node: &mut Node, rounds: u32, work: &mut Work<'_>) -> (i128, usize) {
        let own = self.worth(&node.chosen);
        let fixed = i128::from(own) * self.weight - self.least_effort(&self.all_gaps(&node.chosen));
        let mut hangs = vec![false; self.task.weights.len()];
        node.free.iter().for_each(|c| self.reach(&mut hangs, *c));
        let full: Vec<i128> = self
            .task
            .weights
            .iter()
            .zip(hangs.iter().zip(&node.reached))
            .map(|(w, (hangs, reached))| if *hangs && !reached { i128::from(*w) * self.weight } else { 0 })
            .collect();
        let mut l: Vec<i128> = node.multipliers.iter().zip(&full).map(|(l, most)| (*l).clamp(0, *most)).collect();
        let mut best = (i128::MAX, pick(&node.free, 0));
        let (mut stride, mut idle) = (1.0, 0);
        for _ in 0..rounds {
            let mut shares: Vec<(Reverse<i128>, usize, usize)> = Vec::new();
            let mut brings: Vec<(usize, i128)> = Vec::new();
            let mut looks = l.len();
            for candidate in &node.free {
                let (zones, gaps) = (self.zones(*candidate), self.gaps(*candidate));
                let worth: i128 = zones.iter().map(|zone| pick(&full, *zone) - pick(&l, *zone)).sum();
                let rest = worth - self.least_effort(gaps);
                looks += zones.len();
                if rest <= 0 {
                    continue;
                }
                brings.push((*candidate, rest));
                // Each gap of a rig bears the same share; the first bears the rest of the division as well.
                let n = wide(gaps.len().max(1));
                let each = rest / n;
                for (at, gap) in gaps.iter().enumerate() {
                    shares.push((Reverse(each + if at == 0 { rest % n } else { 0 }), *candidate, *gap));
                }
            }
            shares.sort_unstable();
            let mut pairs = node.pairs.clone();
            let mut filled: Vec<usize> = vec![0; self.task.candidates.len()];
            let mut bound = fixed + l.iter().sum::<i128>();
            for (Reverse(share), candidate, gap) in &shares {
                if pairs.fill(self.task, *gap, &mut looks) {
                    bound += share;
                    if let Some(count) = filled.get_mut(*candidate) {
                        *count += 1;
                    }
                }
            }
            let whole: Vec<usize> = brings.iter().map(|b| b.0).filter(|c| pick(&filled, *c) == self.gaps(*c).len()).collect();
            let together: Vec<usize> = node.chosen.iter().copied().chain(whole).collect();
            looks += self.offer(&together);
            if bound < best.0 {
                let most = brings.iter().filter(|b| pick(&filled, b.0) > 0).max_by_key(|b| (b.1, Reverse(b.0)));
                best = (bound, most.or(brings.first()).map_or(best.1, |b| b.0));
                node.multipliers.clone_from(&l);
                idle = 0;
            } else {
                idle += 1;
                if idle >= 4 {
                    (idle, stride) = (0, stride / 2.0);
                }
            }
            let pruned = best.0 <= self.score || self.most_value(best.0) < self.best.value;
            if pruned || stride < 0.02 || !work.spend(looks, real(self.task.total), real(self.best.value)) {
                break;
            }
            let mut slope: Vec<f64> = full.iter().map(|most| if *most > 0 { 1.0 } else { 0.0 }).collect();
            for (candidate, _) in &brings {
                let part = crate::amount::count(pick(&filled, *candidate)) / crate::amount::count(self.gaps(*candidate).len());
                for zone in self.zones(*candidate) {
                    if let Some(slope) = slope.get_mut(*zone) {
                        *slope -= part;
                    }
                }
            }
            for ((slope, l), most) in slope.iter_mut().zip(&l).zip(&full) {
                if *most == 0 || *slope > 0.0 && *l == 0 || *slope < 0.0 && l >= most {
                    *slope = 0.0;
                }
            }
            let norm: f64 = slope.iter().map(|s| s * s).sum();
            if norm < 1e-9 {
                break;
            }
            let step = stride * rough(bound - self.score) / norm;
            for ((l, slope), most) in l.iter_mut().zip(&slope).zip(&full) {
                *l = (*l - rounded(step * slope)).clamp(0, *most);
            }
        }
        best
    }
}

/// For the length of a step only.
const fn rough(n: i128) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let value = n as f64;
    value
}

const fn rounded(n: f64) -> i128 {
    #[allow(clippy::cast_possible_truncation)]
    let value = n as i128;
    value
}
