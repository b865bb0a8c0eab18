//! The most wants that can be met from stocks at once, where each way to meet one takes a bundle from several stocks.
//!
//! This file knows neither what is wanted nor what a stock holds.

use super::packing_search::{Prices, Search, whole};
use crate::flow::Flow;
use crate::sets::pick;

/// The most different stocks that one bundle takes from: five parts, two kinds of circuit.
const MOST_TAKEN: usize = 7;

/// So many bundles are looked at in a search at most. What is found until then can only be too low.
pub(super) const LOOKS: usize = 60_000;

/// A flow is worked out where bundles times wants are no more than this.
const MOST_FLOW: usize = 20_000;

/// What one want takes: some of several stocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Bundle {
    pub(super) team: usize,
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

    pub(super) fn takes(&self) -> impl Iterator<Item = (usize, u16)> + '_ {
        self.taken.iter().take(self.len).map(|(s, n)| (usize::from(*s), *n))
    }

    fn amount(&self, stock: usize) -> u16 {
        self.takes().find(|(s, _)| *s == stock).map_or(0, |(_, n)| n)
    }

    /// How often it can be taken from what is left.
    pub(super) fn room(&self, left: &[u16]) -> u16 {
        self.takes().map(|(s, n)| pick(left, s) / n).min().unwrap_or(0)
    }

    /// Changes each of its stocks by the amount that it takes.
    pub(super) fn change(&self, left: &mut [u16], by: impl Fn(u16, u16) -> u16) {
        for (s, n) in self.takes() {
            if let Some(left) = left.get_mut(s) {
                *left = by(*left, n);
            }
        }
    }

    /// Whether the other one takes all that this one does.
    fn within(&self, other: &Self) -> bool {
        self.takes().all(|(s, n)| other.amount(s) >= n)
    }
}

/// Wants by team, stocks, and the bundles that meet a want.
#[derive(Debug, Clone, Default)]
pub(crate) struct Packing {
    pub(super) wants: Vec<u16>,
    pub(super) stocks: Vec<u16>,
    pub(super) bundles: Vec<Bundle>,
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

    /// The most wants met at once, whether that is certain, and the steps that it took. What lies beyond `enough` is not looked for.
    pub(crate) fn most(mut self, enough: usize) -> (usize, bool, usize) {
        let stocks = &self.stocks;
        self.bundles.retain(|b| b.takes().all(|(s, n)| pick(stocks, s) >= n));
        let mut many = vec![0_usize; self.wants.len()];
        for bundle in &self.bundles {
            if let Some(n) = many.get_mut(bundle.team) {
                *n += 1;
            }
        }
        // Who has the fewest ways chooses first: a good packing is then found early.
        self.bundles.sort_by_key(|b| (pick(&many, b.team), b.team));
        let (best, easy) = self.each_in_turn();
        if best == easy || best >= enough || (enough < usize::MAX && easy < enough) {
            return (best, best == easy, self.bundles.len());
        }
        let size = self.bundles.len() * self.wanted();
        let (flow, certain) = if size <= MOST_FLOW { self.flow() } else { (easy, false) };
        let bound = flow.min(easy);
        let looks = self.bundles.len() + size.min(MOST_FLOW);
        if certain || best == bound {
            return (bound, true, looks);
        }
        let prices = Prices::of(&self);
        let bound = bound.min(whole(prices.bound)).min(enough);
        // Cheapest bundles first.
        let price = |b: &Bundle| b.takes().map(|(s, n)| pick(&prices.stocks, s) * f64::from(n)).sum::<f64>();
        let key = |b: &Bundle| (pick(&many, b.team), b.team);
        self.bundles.sort_by(|a, b| key(a).cmp(&key(b)).then(price(a).total_cmp(&price(b))));
        let mut search = Search::new(&self, &prices, bound, best);
        search.team(0, 0);
        (search.best, search.best >= bound || search.looks <= LOOKS, search.looks + looks + prices.looks)
    }

    /// What is met when each team takes what it can, and what would be if they did not compete.
    fn each_in_turn(&self) -> (usize, usize) {
        let mut left = self.stocks.clone();
        let (mut met, mut hope) = (0, 0);
        for of in self.bundles.chunk_by(|a, b| a.team == b.team) {
            let wants = of.first().map_or(0, |b| pick(&self.wants, b.team));
            let (mut open, mut room) = (wants, 0_u16);
            for bundle in of {
                room = room.saturating_add(bundle.room(&self.stocks));
                let times = bundle.room(&left).min(open);
                bundle.change(&mut left, |left, n| left - n * times);
                open -= times;
            }
            met += usize::from(wants - open);
            hope += usize::from(room.min(wants));
        }
        (met, hope)
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
