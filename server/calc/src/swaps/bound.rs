//! The bound of a node: what no plan within it passes.

use super::search::{Node, Search, wide};
use crate::amount::real;
use crate::sets::pick;
use crate::watch::Work;
use std::cmp::Reverse;

/// What a rig that is not made full yet could bring, at the most.
struct Offer {
    candidate: usize,
    gaps: Vec<usize>,
    effort: i128,
}

impl Search<'_> {
    /// What each rig of the free ways could bring, by what its free ways have in common.
    fn offers(&self, free: &[usize]) -> Vec<Offer> {
        let mut all: Vec<Offer> = Vec::new();
        for way in free {
            let (candidate, gaps) = (self.candidate(*way), self.gaps(*way));
            let effort = self.least_effort(gaps);
            // The ways of one rig stand together.
            match all.last_mut().filter(|offer| offer.candidate == candidate) {
                Some(offer) => {
                    let shape = self.task.candidates.get(candidate).map_or(&[][..], |c| c.shape.as_slice());
                    shape.clone_into(&mut offer.gaps);
                    offer.effort = offer.effort.min(effort);
                }
                None => all.push(Offer {
                    candidate,
                    gaps: gaps.to_vec(),
                    effort,
                }),
            }
        }
        all
    }

    fn first_free(&self, candidate: usize, free: &[usize]) -> Option<usize> {
        self.ways(candidate).iter().copied().find(|way| free.contains(way))
    }

    /// Offers what is chosen with these rigs as well, as far as they can be made full.
    fn offer_all(&mut self, node: &Node, rigs: &[usize]) -> usize {
        let (mut chosen, mut pairs) = (node.chosen.clone(), node.pairs.clone());
        let ways = rigs.iter().filter_map(|rig| self.first_free(*rig, &node.free));
        let hoped: Vec<usize> = node.chosen.iter().copied().chain(ways).collect();
        // A way that takes more moves than the first is no better.
        if i128::from(self.worth(&hoped)) * self.weight <= self.score {
            return rigs.len();
        }
        for rig in rigs {
            self.add(&mut chosen, &mut pairs, *rig, &|way| node.free.contains(&way));
        }
        self.offer(&chosen) + rigs.len() * 60
    }

    /// Subgradient steps; gives the least bound and the way to branch on, and leaves the best multipliers in the node.
    pub(super) fn price(&mut self, node: &mut Node, rounds: u32, work: &mut Work<'_>) -> (i128, usize) {
        let own = self.worth(&node.chosen);
        let fixed = i128::from(own) * self.weight - self.least_effort(&self.all_gaps(&node.chosen));
        let offers = self.offers(&node.free);
        let mut hangs = vec![false; self.task.weights.len()];
        node.free.iter().for_each(|way| self.reach(&mut hangs, *way));
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
            for (at, offer) in offers.iter().enumerate() {
                let zones = self.task.candidates.get(offer.candidate).map_or(&[][..], |c| c.zones.as_slice());
                let worth: i128 = zones.iter().map(|zone| pick(&full, *zone) - pick(&l, *zone)).sum();
                let rest = worth - offer.effort;
                looks += zones.len();
                if rest <= 0 {
                    continue;
                }
                brings.push((at, rest));
                // Each gap of a rig bears the same share; the first bears the rest of the division as well.
                let n = wide(offer.gaps.len().max(1));
                let each = rest / n;
                for (nth, gap) in offer.gaps.iter().enumerate() {
                    shares.push((Reverse(each + if nth == 0 { rest % n } else { 0 }), at, *gap));
                }
            }
            shares.sort_unstable();
            let mut pairs = node.pairs.clone();
            let mut filled: Vec<usize> = vec![0; offers.len()];
            let mut bound = fixed + l.iter().sum::<i128>();
            for (Reverse(share), at, gap) in &shares {
                if pairs.fill(self.task, *gap, &mut looks) {
                    bound += share;
                    if let Some(count) = filled.get_mut(*at) {
                        *count += 1;
                    }
                }
            }
            let part = |at: usize| {
                offers
                    .get(at)
                    .map_or(0.0, |offer| crate::amount::count(pick(&filled, at)) / crate::amount::count(offer.gaps.len()))
            };
            let whole = brings
                .iter()
                .filter_map(|b| offers.get(b.0).filter(|offer| pick(&filled, b.0) == offer.gaps.len()));
            let whole: Vec<usize> = whole.map(|offer| offer.candidate).collect();
            looks += self.offer_all(node, &whole);
            if bound < best.0 {
                let most = brings.iter().filter(|b| pick(&filled, b.0) > 0).max_by_key(|b| (b.1, Reverse(b.0)));
                let way = most
                    .or(brings.first())
                    .and_then(|b| offers.get(b.0))
                    .and_then(|offer| self.first_free(offer.candidate, &node.free));
                best = (bound, way.unwrap_or(best.1));
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
            for (at, _) in &brings {
                let zones = offers
                    .get(*at)
                    .and_then(|offer| self.task.candidates.get(offer.candidate))
                    .map_or(&[][..], |c| c.zones.as_slice());
                for zone in zones {
                    if let Some(slope) = slope.get_mut(*zone) {
                        *slope -= part(*at);
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
