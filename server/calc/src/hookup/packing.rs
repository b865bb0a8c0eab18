//! The most wants that can be met from stocks at once, where each way to meet one takes a bundle from several stocks.
//!
//! This file knows neither what is wanted nor what a stock holds.

use crate::flow::Flow;
use crate::sets::pick;
use std::collections::HashMap;

/// The most different stocks that one bundle takes from: five parts, two kinds of circuit.
const MOST_TAKEN: usize = 7;

/// So many choices are tried at most. What is found until then can only be too low.
const STEPS: usize = 40_000;

/// From here on the search keeps in mind where it was.
const EASY: usize = 64;

/// What one want takes: some of several stocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Bundle {
    team: usize,
    /// The stock that every flow through this bundle ends in.
    last: Option<u16>,
    taken: [(u16, u16); MOST_TAKEN],
    len: usize,
}

impl Bundle {
    /// For a want of that team; takes one of `last`.
    pub(crate) fn new(team: usize, last: Option<u16>) -> Self {
        let mut bundle = Self {
            team,
            last,
            taken: [(0, 0); MOST_TAKEN],
            len: 0,
        };
        if let Some(stock) = last {
            bundle.take(stock);
        }
        bundle
    }

    /// Takes one of a stock.
    pub(crate) fn take(&mut self, stock: u16) {
        let len = self.len;
        if let Some((_, n)) = self.taken.iter_mut().take(len).find(|(s, _)| *s == stock) {
            *n += 1;
        } else if let Some(place) = self.taken.get_mut(len) {
            *place = (stock, 1);
            self.len += 1;
        }
    }

    fn takes(&self) -> impl Iterator<Item = (usize, u16)> + '_ {
        self.taken.iter().take(self.len).map(|(s, n)| (usize::from(*s), *n))
    }

    fn amount(&self, stock: usize) -> u16 {
        self.takes().find(|(s, _)| *s == stock).map_or(0, |(_, n)| n)
    }

    /// Whether the other one takes all that this one does.
    fn within(&self, other: &Self) -> bool {
        self.takes().all(|(s, n)| other.amount(s) >= n)
    }
}

/// Wants by team, stocks, and the bundles that meet a want.
#[derive(Debug, Clone, Default)]
pub(crate) struct Packing {
    wants: Vec<u16>,
    stocks: Vec<u16>,
    bundles: Vec<Bundle>,
}

impl Packing {
    pub(crate) const fn new() -> Self {
        Self {
            wants: Vec::new(),
            stocks: Vec::new(),
            bundles: Vec::new(),
        }
    }

    /// One want more of a team.
    pub(crate) fn add_want(&mut self, team: usize) {
        if self.wants.len() <= team {
            self.wants.resize(team + 1, 0);
        }
        if let Some(n) = self.wants.get_mut(team) {
            *n += 1;
        }
    }

    /// A stock of so many; gives its number. There are fewer than 65,536.
    pub(crate) fn add_stock(&mut self, count: usize) -> u16 {
        self.stocks.push(u16::try_from(count).unwrap_or(u16::MAX));
        u16::try_from(self.stocks.len() - 1).unwrap_or(u16::MAX)
    }

    /// Keeps a bundle unless one for the same team takes no more.
    pub(crate) fn offer(&mut self, bundle: Bundle) {
        if self.bundles.iter().any(|b| b.team == bundle.team && b.within(&bundle)) {
            return;
        }
        self.bundles.retain(|b| b.team != bundle.team || !bundle.within(b));
        self.bundles.push(bundle);
    }

    /// How many bundles are kept.
    pub(crate) const fn bundles(&self) -> usize {
        self.bundles.len()
    }

    /// How many wants there are.
    pub(crate) fn wanted(&self) -> usize {
        self.wants.iter().map(|n| usize::from(*n)).sum()
    }

    fn room(&self, bundle: &Bundle) -> u16 {
        bundle.takes().map(|(s, n)| pick(&self.stocks, s) / n).min().unwrap_or(0)
    }

    /// The most wants met at once, whether that is certain, and the steps that it took.
    pub(crate) fn most(mut self) -> (usize, bool, usize) {
        self.bundles.retain(|b| b.takes().all(|(s, n)| pick(&self.stocks, s) >= n));
        let many = |team: usize| self.bundles.iter().filter(|b| b.team == team).count();
        let mut order: Vec<(usize, usize)> = (0..self.wants.len()).map(|t| (many(t), t)).filter(|(n, _)| *n > 0).collect();
        // Who has the fewest ways chooses first: a good packing is then found early.
        order.sort_unstable();
        let easy: usize = order
            .iter()
            .map(|(_, t)| {
                let room: usize = self.bundles.iter().filter(|b| b.team == *t).map(|b| usize::from(self.room(b))).sum();
                room.min(usize::from(pick(&self.wants, *t)))
            })
            .sum();
        let mut search = Search {
            left: self.stocks.clone(),
            order: order.into_iter().map(|(_, t)| t).collect(),
            packing: &self,
            bound: easy,
            best: 0,
            steps: 0,
            limit: 0,
            seen: HashMap::new(),
        };
        search.first();
        if search.best == search.bound {
            return (search.best, true, search.steps);
        }
        let (flow, certain) = self.flow();
        if certain {
            return (flow.min(search.bound), true, search.steps);
        }
        search.bound = search.bound.min(flow);
        search.limit = STEPS;
        search.team(0, 0);
        (search.best, search.steps <= STEPS, search.steps)
    }

    /// What a flow allows where each bundle is taken for its scarcest stock and its last one alone: never too low. Second: it
    /// is exactly what can be packed.
    fn flow(&self) -> (usize, bool) {
        let (teams, stocks) = (self.wants.len(), self.stocks.len());
        // Teams, stocks on the way in and on the way out, both ends.
        let (source, sink) = (teams + 2 * stocks, teams + 2 * stocks + 1);
        let mut ways: Vec<(usize, usize, Option<usize>)> = Vec::with_capacity(self.bundles.len());
        let mut least = vec![u16::MAX; stocks];
        let mut whole = true;
        for bundle in &self.bundles {
            let last = bundle.last.map(usize::from);
            let scarce = bundle.takes().filter(|(s, _)| Some(*s) != last).min_by_key(|(s, n)| pick(&self.stocks, *s) / n);
            let Some((scarce, n)) = scarce else { continue };
            whole &= bundle.len == 1 + usize::from(last.is_some()) && n == 1;
            if let Some(least) = least.get_mut(scarce) {
                *least = (*least).min(n);
            }
            ways.push((bundle.team, scarce, last));
        }
        ways.sort_unstable_by_key(|(team, stock, last)| (*stock, *team, *last));
        let mut flow = Flow::new(teams + 2 * stocks + 2);
        for (team, n) in self.wants.iter().enumerate() {
            flow.edge(source, team, i64::from(*n), 0);
        }
        for (stock, n) in self.stocks.iter().enumerate() {
            let room = i64::from(n / pick(&least, stock).max(1));
            let is_last = ways.iter().any(|(_, _, last)| *last == Some(stock));
            let room = if is_last { i64::from(*n) } else { room };
            flow.edge(teams + stock, teams + stocks + stock, room, 0);
            if is_last || ways.iter().any(|(_, s, last)| *s == stock && last.is_none()) {
                flow.edge(teams + stocks + stock, sink, i64::from(*n), 0);
            }
        }
        for of in ways.chunk_by(|a, b| a.1 == b.1) {
            let Some((_, stock, _)) = of.first().copied() else { continue };
            let mut from: Vec<usize> = of.iter().map(|w| w.0).collect();
            let mut to: Vec<Option<usize>> = of.iter().map(|w| w.2).collect();
            from.sort_unstable();
            from.dedup();
            to.sort_unstable();
            to.dedup();
            // Every team of the stock goes on to every one of its ends: then a flow can be taken apart into bundles.
            whole &= from.len() * to.len() == of.len();
            for team in from {
                flow.edge(team, teams + stock, i64::from(pick(&self.wants, team)), 0);
            }
            for last in to.into_iter().flatten() {
                flow.edge(teams + stocks + stock, teams + last, i64::from(pick(&self.stocks, stock)), 0);
            }
        }
        (usize::try_from(flow.send(source, sink).0).unwrap_or(usize::MAX), whole)
    }
}

struct Search<'a> {
    packing: &'a Packing,
    order: Vec<usize>,
    left: Vec<u16>,
    /// No packing can do better than this.
    bound: usize,
    best: usize,
    steps: usize,
    limit: usize,
    /// The most that was met when this team was next with these stocks left.
    seen: HashMap<(usize, Vec<u16>), usize>,
}

impl Search<'_> {
    fn room(&self, bundle: &Bundle) -> u16 {
        bundle.takes().map(|(s, n)| pick(&self.left, s) / n).min().unwrap_or(0)
    }

    fn take(&mut self, bundle: &Bundle, times: u16) {
        for (s, n) in bundle.takes() {
            if let Some(left) = self.left.get_mut(s) {
                *left -= n * times;
            }
        }
    }

    fn give_back(&mut self, bundle: &Bundle, times: u16) {
        for (s, n) in bundle.takes() {
            if let Some(left) = self.left.get_mut(s) {
                *left += n * times;
            }
        }
    }

    /// Each team takes what it can.
    fn first(&mut self) {
        let packing = self.packing;
        for at in 0..self.order.len() {
            let team = pick(&self.order, at);
            let mut wants = pick(&packing.wants, team);
            for bundle in packing.bundles.iter().filter(|b| b.team == team) {
                let times = self.room(bundle).min(wants);
                self.take(bundle, times);
                wants -= times;
                self.best += usize::from(times);
            }
            self.steps += 1;
        }
        self.left.clone_from(&packing.stocks);
    }

    /// What the teams from `at` on could get each for itself.
    fn hope(&self, at: usize) -> usize {
        let teams = self.order.get(at..).unwrap_or_default();
        let each = |team: &usize| {
            let room: usize = self.packing.bundles.iter().filter(|b| b.team == *team).map(|b| usize::from(self.room(b))).sum();
            room.min(usize::from(pick(&self.packing.wants, *team)))
        };
        teams.iter().map(each).sum()
    }

    fn team(&mut self, at: usize, met: usize) {
        self.best = self.best.max(met);
        self.steps += 1;
        if at >= self.order.len() || self.best >= self.bound || self.steps > self.limit || met + self.hope(at) <= self.best {
            return;
        }
        if self.steps > EASY {
            let known = self.seen.entry((at, self.left.clone())).or_insert(usize::MAX);
            if *known != usize::MAX && *known >= met {
                return;
            }
            *known = met;
        }
        self.bundle(at, 0, pick(&self.packing.wants, pick(&self.order, at)), met);
    }

    fn bundle(&mut self, at: usize, from: usize, wants: u16, met: usize) {
        let (packing, team) = (self.packing, pick(&self.order, at));
        let next = packing.bundles.iter().enumerate().skip(from).find(|(_, b)| b.team == team);
        let Some((number, bundle)) = next.filter(|_| wants > 0) else {
            self.team(at + 1, met);
            return;
        };
        for times in (0..=self.room(bundle).min(wants)).rev() {
            if self.best >= self.bound || self.steps > self.limit {
                return;
            }
            self.take(bundle, times);
            self.bundle(at, number + 1, wants - times, met + usize::from(times));
            self.give_back(bundle, times);
        }
    }
}
