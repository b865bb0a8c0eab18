//! The best k of many sites, exactly: each zone takes the best saving among the chosen ones.
//!
//! Covering is the case where every site that reaches a zone saves its whole weight; the p-median saves distance. Branch and bound:
//!
//! - *Bound*: let each zone take at most its multiplier `l` for nothing, and pay a site only what it saves beyond: `sum l + the k largest of
//!   sum max(0, saving - l)` is never below the best. Subgradient steps on `l` bring it down to the linear programme's bound. Multipliers
//!   are whole, so the bound is exact arithmetic.
//! - *Start*: greedy, then swaps, and every set that the bound chooses on its way.
//! - *Fixing*: a site whose entry, or whose absence, would pull the bound to the best known answer or below is settled without branching.

use super::savings::{Savings, put};
use crate::amount::{float, nearest, real};
use crate::sets::pick;
use crate::watch::Work;

/// Rounds of the bound at the top and below it.
const ROUNDS: (u32, u32) = (400, 30);

/// The best sites found for one k.
#[derive(Debug, Clone)]
pub(super) struct BestSites {
    pub(super) value: i64,
    /// Ascending; fewer than k where more bring nothing.
    pub(super) sites: Vec<usize>,
    /// No choice is better; the value when it is proved.
    pub(super) bound: i64,
}

/// The best 1, 2, ... `most` sites.
pub(super) fn best(savings: &Savings, most: usize, work: &mut Work<'_>) -> Vec<BestSites> {
    let sites = savings.undominated();
    let all = savings.value(&sites);
    let mut answers: Vec<BestSites> = Vec::new();
    let mut multipliers = vec![0; savings.zones()];
    for site in &sites {
        savings.raise(&mut multipliers, *site);
    }
    multipliers.iter_mut().for_each(|l| *l /= 2);
    for k in 1..=most {
        let before = answers.last().map(|found| found.sites.clone()).unwrap_or_default();
        if let Some(last) = answers.last().filter(|last| last.value == all) {
            let same = last.clone();
            answers.push(same);
            continue;
        }
        let afresh = savings.improve(Vec::new(), k, &sites);
        let grown = savings.improve(before, k, &sites);
        let (value, chosen) = if grown.0 > afresh.0 { grown } else { afresh };
        let mut search = Search {
            savings,
            best: value,
            chosen,
            top: all,
        };
        let root = Node {
            chosen: Vec::new(),
            levels: vec![0; savings.zones()],
            value: 0,
            free: sites.clone(),
            left: k,
            multipliers: multipliers.clone(),
        };
        let bound = search.dive(root, ROUNDS.0, work, Some(&mut multipliers)).min(all).max(search.best);
        let mut chosen = search.chosen;
        chosen.sort_unstable();
        // What brings nothing is left away.
        let mut at = chosen.len();
        while at > 0 {
            at -= 1;
            let mut rest = chosen.clone();
            rest.remove(at);
            if savings.value(&rest) == search.best {
                chosen = rest;
            }
        }
        answers.push(BestSites {
            value: search.best,
            sites: chosen,
            bound,
        });
    }
    answers
}

struct Search<'a> {
    savings: &'a Savings,
    best: i64,
    chosen: Vec<usize>,
    /// For the watcher: nothing is above it.
    top: i64,
}

struct Node {
    chosen: Vec<usize>,
    /// What each zone saves by the chosen ones.
    levels: Vec<i64>,
    value: i64,
    free: Vec<usize>,
    left: usize,
    multipliers: Vec<i64>,
}

/// A bound with what each free site adds to it, largest first.
struct Priced {
    bound: i64,
    sites: Vec<(i64, usize)>,
    multipliers: Vec<i64>,
}

impl Search<'_> {
    /// Explores a node; no choice within it is better than what is returned.
    fn dive(&mut self, mut node: Node, rounds: u32, work: &mut Work<'_>, keep: Option<&mut Vec<i64>>) -> i64 {
        let mut keep = keep;
        let mut rounds = rounds;
        loop {
            if node.free.len() <= node.left {
                let mut all = node.chosen;
                all.extend(&node.free);
                let value = self.savings.value(&all);
                self.record(value, &all);
                return value;
            }
            if node.left == 0 {
                self.record(node.value, &node.chosen);
                return node.value;
            }
            let priced = self.price(&node, rounds, work);
            if let Some(multipliers) = keep.take() {
                multipliers.clone_from(&priced.multipliers);
            }
            let bound = self.reachable(priced.bound);
            if bound <= self.best || work.is_stopped() {
                return bound;
            }
            let last_in = priced.sites.get(node.left - 1).map_or(0, |s| s.0);
            let first_out = priced.sites.get(node.left).map_or(0, |s| s.0);
            let (mut must, mut may) = (Vec::new(), Vec::new());
            for (rank, (adds, site)) in priced.sites.iter().enumerate() {
                if rank < node.left {
                    if self.reachable(priced.bound - adds + first_out) <= self.best {
                        must.push(*site);
                    } else {
                        may.push(*site);
                    }
                } else if self.reachable(priced.bound - last_in + adds) > self.best {
                    may.push(*site);
                }
            }
            node.multipliers = priced.multipliers;
            let settled = !must.is_empty() || may.len() < node.free.len();
            let branch = may.first().copied();
            node.free = may;
            for site in must {
                self.choose(&mut node, site);
            }
            if settled {
                rounds = ROUNDS.1;
                continue;
            }
            let Some(site) = branch else { return node.value };
            node.free.retain(|other| *other != site);
            let mut with = Node {
                chosen: node.chosen.clone(),
                levels: node.levels.clone(),
                value: node.value,
                free: node.free.clone(),
                left: node.left,
                multipliers: node.multipliers.clone(),
            };
            self.choose(&mut with, site);
            let one = self.dive(with, ROUNDS.1, work, None);
            if work.is_stopped() {
                return bound;
            }
            return one.max(self.dive(node, ROUNDS.1, work, None)).min(bound);
        }
    }

    fn choose(&self, node: &mut Node, site: usize) {
        for (zone, saving) in self.savings.site(site) {
            if let (Some(level), Some(l)) = (node.levels.get_mut(*zone), node.multipliers.get_mut(*zone)) {
                let more = (saving - *level).max(0);
                *level += more;
                node.value += more;
                *l = (*l - more).max(0);
            }
        }
        node.chosen.push(site);
        node.left = node.left.saturating_sub(1);
    }

    /// The largest sum of savings that is not above a bound.
    const fn reachable(&self, bound: i64) -> i64 {
        bound.div_euclid(self.savings.grain()) * self.savings.grain()
    }

    fn record(&mut self, value: i64, sites: &[usize]) {
        if value > self.best {
            self.best = value;
            self.chosen = sites.to_vec();
        }
    }

    /// Subgradient steps from the node's multipliers; keeps the least bound.
    fn price(&mut self, node: &Node, rounds: u32, work: &mut Work<'_>) -> Priced {
        // What is left to save, for this node only: shorter lists than the whole.
        let open: Vec<(usize, Vec<(usize, i64)>)> = node
            .free
            .iter()
            .map(|site| {
                let rest = self
                    .savings
                    .site(*site)
                    .iter()
                    .map(|(zone, saving)| (*zone, saving - pick(&node.levels, *zone)));
                (*site, rest.filter(|(_, more)| *more > 0).collect())
            })
            .collect();
        let mut most = vec![0; self.savings.zones()];
        for (zone, more) in open.iter().flat_map(|(_, list)| list) {
            let known = pick(&most, *zone);
            put(&mut most, *zone, known.max(*more));
        }
        let mut l: Vec<i64> = node.multipliers.iter().zip(&most).map(|(l, most)| (*l).min(*most)).collect();
        let entries: usize = open.iter().map(|(_, list)| list.len()).sum::<usize>() + self.savings.zones() + 1;
        let mut best: Option<Priced> = None;
        let (mut stride, mut idle) = (1.0, 0);
        for _ in 0..rounds {
            let mut sites: Vec<(i64, usize)> = open
                .iter()
                .enumerate()
                .map(|(at, (_, list))| (list.iter().map(|(zone, more)| (more - pick(&l, *zone)).max(0)).sum(), at))
                .collect();
            sites.sort_unstable_by(|a, b| b.0.cmp(&a.0).then(a.1.cmp(&b.1)));
            let bound = node.value + l.iter().sum::<i64>() + sites.iter().take(node.left).map(|s| s.0).sum::<i64>();
            // One unit of slope for each zone; each chosen site that saves beyond the multiplier takes one away.
            let mut slope: Vec<i64> = most.iter().map(|most| i64::from(*most > 0)).collect();
            let mut levels = vec![0; self.savings.zones()];
            for (_, at) in sites.iter().take(node.left) {
                for (zone, more) in open.get(*at).map_or(&[][..], |(_, list)| list) {
                    if let (Some(level), Some(slope)) = (levels.get_mut(*zone), slope.get_mut(*zone)) {
                        *level = (*level).max(*more);
                        *slope -= i64::from(*more > pick(&l, *zone));
                    }
                }
            }
            let value = node.value + levels.iter().sum::<i64>();
            if value > self.best {
                let chosen: Vec<usize> = sites
                    .iter()
                    .take(node.left)
                    .filter_map(|(_, at)| open.get(*at))
                    .map(|(site, _)| *site)
                    .collect();
                let whole: Vec<usize> = node.chosen.iter().chain(&chosen).copied().collect();
                self.record(value, &whole);
            }
            if best.as_ref().is_none_or(|best| bound < best.bound) {
                let named = sites.iter().filter_map(|(adds, at)| open.get(*at).map(|(site, _)| (*adds, *site))).collect();
                best = Some(Priced {
                    bound,
                    sites: named,
                    multipliers: l.clone(),
                });
                idle = 0;
            } else {
                idle += 1;
                if idle >= 6 {
                    (idle, stride) = (0, stride / 2.0);
                }
            }
            let least = best.as_ref().map_or(bound, |best| best.bound);
            let (top, known) = (real(self.top), real(self.best));
            if self.reachable(least) <= self.best || stride < 0.01 || !work.spend(entries, top, known) {
                break;
            }
            // A multiplier at its end that is pushed further out does not move, and takes no part in the length of the step.
            let moves = l.iter().zip(&slope).zip(&most).map(|((l, slope), most)| {
                let stuck = *slope > 0 && *l == 0 || *slope < 0 && l >= most;
                if stuck { 0 } else { *slope }
            });
            let moves: Vec<i64> = moves.collect();
            let norm: i64 = moves.iter().map(|m| m * m).sum();
            if norm == 0 {
                break;
            }
            let step = stride * (float(bound - self.best) * 1.02 + 1.0) / float(norm);
            for ((l, m), most) in l.iter_mut().zip(&moves).zip(&most) {
                *l = (*l - nearest(step * float(*m))).clamp(0, *most);
            }
        }
        best.unwrap_or(Priced {
            bound: node.value + most.iter().sum::<i64>(),
            sites: node.free.iter().map(|site| (0, *site)).collect(),
            multipliers: l,
        })
    }
}
