//! The cheapest set of acts, exactly.
//!
//! Once it is settled which sources make the system and which hoses and batteries feed tools, covering the required
//! slots by pieces of least weight is a matroid question: taking pieces by weight and augmenting is exact. So only
//! systems and feeders are enumerated, each with a bound. When the result runs too few tools at once, acts are forced in
//! one after the other, lowest bound first: forcing can only raise the cost, so the first result that runs enough tools
//! is the cheapest, unless a set found otherwise costs no more than the lowest bound.

use super::offers::{ACT, Offers};
use crate::matching::Matching;
use crate::sets::{self, Set};

/// So many steps of work at most before a set is taken that is not proved to be the smallest.
const WORK: usize = 40_000;

/// Feeders of different use that are forced in beside each other, at most: no tool needs more than one.
const FEEDERS: usize = 12;

pub(super) struct Found {
    pub acts: Set,
    pub is_smallest: bool,
}

/// What is settled while slots are covered.
#[derive(Clone, Copy)]
struct Settled {
    /// The sources that hoses and tools must hook up to.
    system: Set,
    /// Acts that are paid for already.
    paid: Set,
    /// Pieces that cost nothing here.
    gratis: Set,
}

#[derive(Clone, Copy)]
struct Cover {
    cost: u32,
    acts: Set,
}

/// The cheapest acts that make the rig full; `None` when none can.
pub(super) fn smallest(offers: &Offers<'_>) -> Option<Found> {
    let most = offers.board.net.work.get().saturating_add(WORK);
    let search = Search { offers, most };
    let first = search.cover(0, 0)?;
    let board = &offers.board;
    if search.runs(first.acts) >= board.simultaneous_min {
        return Some(Found {
            acts: first.acts,
            is_smallest: !search.is_cut(),
        });
    }
    let driving = offers.pool & !board.usable & (board.net.sources | board.net.hoses | board.net.tools | board.net.batteries);
    let known = search.somehow(first.acts, driving);
    let known_cost = known.map_or(u32::MAX, |acts| search.price(acts, 0));
    let mut open = vec![Node {
        bound: search.bound(&first, 0),
        cover: first,
        forced: 0,
        rest: driving,
    }];
    while let Some(at) = (0..open.len()).min_by_key(|i| open.get(*i).map_or(u32::MAX, |node| node.bound)) {
        let node = open.swap_remove(at);
        if node.bound >= known_cost {
            break;
        }
        if search.runs(node.cover.acts) >= board.simultaneous_min {
            return Some(Found {
                acts: node.cover.acts,
                is_smallest: !search.is_cut(),
            });
        }
        let mut passed: Set = 0;
        for act in sets::each(node.rest) {
            let same = |other: usize| offers.weight(other) == offers.weight(act) && board.alike(other, act);
            if sets::each(passed).any(same) {
                continue;
            }
            passed |= sets::one(act);
            if search.is_cut() {
                return known.map(|acts| Found { acts, is_smallest: false });
            }
            // Later acts only, so that no set comes up twice.
            let rest = node.rest & !(sets::one(act) | (sets::one(act) - 1));
            let forced = node.forced | sets::one(act);
            if let Some(cover) = search.cover(forced, 0) {
                let bound = search.bound(&cover, forced);
                if bound < known_cost {
                    open.push(Node { bound, cover, forced, rest });
                }
            }
        }
    }
    known.map(|acts| Found {
        acts,
        is_smallest: !search.is_cut(),
    })
}

/// Acts that are forced in, what covers the slots with them, and which acts may still be forced.
struct Node {
    bound: u32,
    cover: Cover,
    forced: Set,
    rest: Set,
}

struct Search<'s, 'a> {
    offers: &'s Offers<'a>,
    /// Where the count of work stands when it is time to stop.
    most: usize,
}

impl Search<'_, '_> {
    /// Whether the work ran out: what was found works, but something smaller may have been passed over.
    fn is_cut(&self) -> bool {
        self.offers.board.net.work.get() > self.most
    }

    fn runs(&self, acts: Set) -> usize {
        self.offers.board.net.at_once(self.offers.board.usable | acts)
    }

    /// No full set of acts with these forced ones costs less.
    ///
    /// Were all sources, hoses and packs to be had for nothing, so many tools would still be short, and each must be an
    /// act; likewise for hoses and packs, and for sources. What the slots cost when these are free comes on top.
    fn bound(&self, cover: &Cover, forced: Set) -> u32 {
        let (net, offers) = (&self.offers.board.net, self.offers.pool & !self.offers.board.usable);
        let (tools, feeders) = (net.tools, net.hoses | net.batteries);
        let short = |sort: Set| self.offers.board.simultaneous_min.saturating_sub(self.runs((offers & !sort) | forced));
        let count = |n: usize| u32::try_from(n).unwrap_or(0) * ACT;
        let some = count(short(tools) + short(feeders));
        let all = some + if short(net.sources) > 0 { ACT } else { 0 };
        let with = |gratis: Set, more: u32| match more {
            0 => 0,
            more => self.cover(forced, gratis).map_or(0, |c| c.cost) + self.price(forced & gratis, 0) + more,
        };
        cover.cost.max(with(tools | feeders, some)).max(with(tools | feeders | net.sources, all))
    }

    /// Adds acts until enough tools run, without a proof that fewer would not do.
    fn somehow(&self, mut acts: Set, driving: Set) -> Option<Set> {
        let mut sorts: Vec<Set> = Vec::new();
        for act in sets::each(driving) {
            let same = |sort: &&mut Set| sets::first(**sort).is_some_and(|other| self.offers.board.alike(other, act));
            match sorts.iter_mut().find(same) {
                Some(sort) => *sort |= sets::one(act),
                None => sorts.push(sets::one(act)),
            }
        }
        while self.runs(acts) < self.offers.board.simultaneous_min {
            let (now, rest) = (self.runs(acts), driving & !acts);
            let one = |set: Set| {
                sorts
                    .iter()
                    .filter_map(move |sort| sets::first(sort & rest & !set))
                    .map(move |act| set | sets::one(act))
            };
            let better = one(0).find(|add| self.runs(acts | add) > now);
            let better = better.or_else(|| one(0).flat_map(one).find(|add| self.runs(acts | add) > now));
            acts |= better.or_else(|| one(0).flat_map(one).flat_map(one).find(|add| self.runs(acts | add) > now))?;
        }
        Some(acts)
    }

    /// What a set of acts costs; those in `gratis` nothing.
    fn price(&self, set: Set, gratis: Set) -> u32 {
        sets::each(set & !gratis).map(|i| self.offers.weight(i)).sum()
    }

    /// The cheapest acts, those in `forced` among them and those in `gratis` for nothing, that fill every required slot.
    fn cover(&self, forced: Set, gratis: Set) -> Option<Cover> {
        let board = &self.offers.board;
        let mut best = None;
        let sources = board.powering.map_or(board.net.sources, |p| p) & self.offers.pool;
        let given = if board.powering.is_none() { sources & (board.usable | forced) } else { 0 };
        let mut rest: Vec<usize> = sets::each(sources & !given).collect();
        // Cheap ones first: of sources that are alike, a dearer one is then never needed before a cheaper one.
        let free = board.usable | forced | gratis;
        rest.sort_by_key(|i| (if free & sets::one(*i) != 0 { 0 } else { self.offers.weight(*i) }, *i));
        self.systems(&rest, given, forced, gratis, &mut best);
        best
    }

    /// Tries `system`, and it with each further source in turn.
    fn systems(&self, rest: &[usize], system: Set, forced: Set, gratis: Set, best: &mut Option<Cover>) {
        let board = &self.offers.board;
        let paid = forced | (system & !board.usable);
        if best.as_ref().is_some_and(|b| self.price(paid, gratis) >= b.cost || self.is_cut()) {
            return;
        }
        self.feeders(Settled { system, paid, gratis }, best);
        let mut passed: Set = 0;
        for (at, source) in rest.iter().enumerate() {
            if sets::each(passed).any(|earlier| board.alike(earlier, *source)) {
                continue;
            }
            passed |= sets::one(*source);
            let larger = system | sets::one(*source);
            if board.powering.is_some() {
                let ways: Vec<Set> = board.suits.iter().map(|suits| suits & larger).collect();
                if Matching::largest(&ways).size() < sets::count(larger) {
                    continue;
                }
            }
            self.systems(rest.get(at + 1..).unwrap_or_default(), larger, forced, gratis, best);
        }
    }

    /// Tries a system with the feeders there are, and with each set of further ones that feeds more tools.
    fn feeders(&self, settled: Settled, best: &mut Option<Cover>) {
        let Settled { system, paid, gratis } = settled;
        let board = &self.offers.board;
        // As if every feeder were there: no set of feeders does better.
        let all = self.fed(system, self.offers.pool);
        let Some(bound) = self.covered(settled, all) else { return };
        if best.as_ref().is_some_and(|b| bound.cost >= b.cost) {
            return;
        }
        let now = self.fed(system, board.usable | paid | gratis & self.offers.pool);
        if now == all {
            *best = Some(bound);
            return;
        }
        let feeding = (board.net.hoses | board.net.batteries) & self.offers.pool & !(board.usable | paid);
        let mut choice: Vec<(usize, Set)> = Vec::new();
        for feeder in sets::each(feeding) {
            let gain = self.fed(system, sets::one(feeder)) & !now;
            let same = |(other, _): &(usize, Set)| self.offers.weight(*other) <= self.offers.weight(feeder) && self.serves_as(*other, feeder);
            if gain != 0 && !choice.iter().any(same) {
                choice.retain(|(other, _)| !(self.offers.weight(feeder) <= self.offers.weight(*other) && self.serves_as(feeder, *other)));
                choice.push((feeder, gain));
            }
        }
        self.with_feeders(&choice, settled, now, FEEDERS, best);
    }

    /// Whether feeder `a` does all that `b` does: feeds as much, and fits every required slot that `b` fits.
    fn serves_as(&self, a: usize, b: usize) -> bool {
        let board = &self.offers.board;
        let from = |hose: usize| sets::each(board.net.sources).filter(move |s| sets::pick(&board.net.onward, *s) & sets::one(hose) != 0);
        let feeds = sets::pick(&board.net.onward, b) & !sets::pick(&board.net.onward, a) == 0;
        let fed = board.net.batteries & sets::one(b) != 0 || from(b).all(|s| from(a).any(|t| t == s));
        let slots = board.suits.iter().zip(board.slots).filter(|(_, slot)| slot.need.is_required());
        feeds && fed && slots.into_iter().all(|(suits, _)| suits & sets::one(b) == 0 || suits & sets::one(a) != 0)
    }

    fn with_feeders(&self, rest: &[(usize, Set)], settled: Settled, fed: Set, more: usize, best: &mut Option<Cover>) {
        if best
            .as_ref()
            .is_some_and(|b| self.price(settled.paid, settled.gratis) >= b.cost || self.is_cut())
        {
            return;
        }
        if let Some(cover) = self.covered(settled, fed)
            && best.as_ref().is_none_or(|b| cover.cost < b.cost)
        {
            *best = Some(cover);
        }
        if more == 0 {
            return;
        }
        for (at, (feeder, gain)) in rest.iter().enumerate() {
            if gain & !fed != 0 {
                let settled = Settled {
                    paid: settled.paid | sets::one(*feeder),
                    ..settled
                };
                self.with_feeders(rest.get(at + 1..).unwrap_or_default(), settled, fed | gain, more - 1, best);
            }
        }
    }

    /// The tools that the system feeds through these hoses, or these batteries feed.
    fn fed(&self, system: Set, feeders: Set) -> Set {
        let net = &self.offers.board.net;
        sets::each(system).fold(net.on_battery(feeders), |set, source| set | net.fed_by(source, feeders))
    }

    /// The cheapest pieces that fill every required slot when just these tools are fed.
    fn covered(&self, settled: Settled, fed: Set) -> Option<Cover> {
        let Settled { system, paid, gratis } = settled;
        let board = &self.offers.board;
        board.net.work.set(board.net.work.get() + 1);
        let hoses = sets::each(system).fold(0, |set, source| set | sets::pick(&board.net.onward, source)) & board.net.hoses;
        let fit = self.offers.pool & (board.plain | system | hoses | (fed & board.net.tools));
        let required = |slot: usize| board.slot(slot).is_some_and(|s| s.need.is_required());
        let candidates: Vec<Set> = board
            .suits
            .iter()
            .enumerate()
            .map(|(slot, suits)| if required(slot) { suits & fit } else { 0 })
            .collect();
        let free = board.usable | paid | (gratis & self.offers.pool);
        let at_no_cost: Vec<Set> = candidates.iter().map(|set| set & free).collect();
        let mut matching = Matching::largest(&at_no_cost);
        let wanted = candidates.iter().enumerate().filter(|(slot, _)| required(*slot)).count();
        let dearer = self.offers.pool & !free;
        for group in [
            dearer & self.offers.checks,
            dearer & !self.offers.checks & !self.offers.rights,
            dearer & self.offers.rights,
        ] {
            for piece in sets::each(group) {
                if matching.size() == wanted {
                    break;
                }
                matching.place(&candidates, piece, |_| true);
            }
        }
        let acts = paid | (matching.used() & !board.usable);
        (matching.size() == wanted).then(|| Cover {
            cost: self.price(acts, gratis),
            acts,
        })
    }
}
