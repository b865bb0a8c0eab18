//! The search behind a packing: team by team, bundle by bundle, cut off by prices on the stocks.

use super::packing::{Bundle, LOOKS, Packing};
use crate::sets::pick;
use std::collections::HashMap;
use std::ops::Range;

/// From here on the search keeps in mind where it was.
const EASY: usize = 2_000;

/// Rounds in which prices are raised on what the cheapest bundle takes; fewer where there are many bundles to look at.
const ROUNDS: usize = 300;
const PRICE_LOOKS: usize = 30_000;
/// By how much, at most, in one round.
const RAISE: f64 = 0.1;

/// Prices at which no bundle costs less than 1, its team's price included: what all stocks and wants are worth at them is
/// a bound on every packing (weak duality of linear programmes).
///
/// Found by raising the prices of what the cheapest bundle takes, round by round (Garg and Könemann, "Faster and simpler
/// algorithms for multicommodity flow and other fractional packing problems", 1998).
pub(super) struct Prices {
    pub stocks: Vec<f64>,
    pub teams: Vec<f64>,
    /// What all is worth.
    pub bound: f64,
    /// Bundles looked at.
    pub looks: usize,
}

impl Prices {
    pub(super) fn of(packing: &Packing) -> Self {
        let mut stocks = vec![0.0_f64; packing.stocks.len()];
        let mut teams = vec![0.0_f64; packing.wants.len()];
        let begin = |price: Option<&mut f64>, amount: u16| {
            if let Some(price) = price {
                *price = 1.0 / f64::from(amount.max(1));
            }
        };
        for bundle in &packing.bundles {
            begin(teams.get_mut(bundle.team), pick(&packing.wants, bundle.team));
            for (s, _) in bundle.takes() {
                begin(stocks.get_mut(s), pick(&packing.stocks, s));
            }
        }
        let mut best = Self {
            stocks: Vec::new(),
            teams: Vec::new(),
            bound: f64::INFINITY,
            looks: 0,
        };
        let rounds = (PRICE_LOOKS / packing.bundles.len().max(1)).clamp(1, ROUNDS);
        for _ in 0..rounds {
            let cost = |b: &Bundle| pick(&teams, b.team) + b.takes().map(|(s, n)| pick(&stocks, s) * f64::from(n)).sum::<f64>();
            let Some((cheapest, least)) = packing.bundles.iter().map(|b| (b, cost(b))).min_by(|a, b| a.1.total_cmp(&b.1)) else {
                best.bound = 0.0;
                break;
            };
            let worth = |prices: &[f64], amounts: &[u16]| prices.iter().zip(amounts).map(|(p, n)| p * f64::from(*n)).sum::<f64>();
            let bound = (worth(&stocks, &packing.stocks) + worth(&teams, &packing.wants)) / least;
            if bound < best.bound {
                best = Self {
                    stocks: stocks.iter().map(|p| p / least).collect(),
                    teams: teams.iter().map(|p| p / least).collect(),
                    bound,
                    looks: 0,
                };
            }
            // As often as the scarcest allows.
            let wants = pick(&packing.wants, cheapest.team).max(1);
            let times = f64::from(cheapest.room(&packing.stocks).min(wants));
            if let Some(price) = teams.get_mut(cheapest.team) {
                *price *= 1.0 + RAISE * times / f64::from(wants);
            }
            for (s, n) in cheapest.takes() {
                if let Some(price) = stocks.get_mut(s) {
                    *price *= 1.0 + RAISE * times * f64::from(n) / f64::from(pick(&packing.stocks, s).max(1));
                }
            }
        }
        best.looks = rounds * packing.bundles.len();
        best
    }
}

/// The largest whole number of wants under a bound.
pub(super) fn whole(bound: f64) -> usize {
    let below = |n: &u16| f64::from(*n) <= bound + 1e-6;
    (1..=u16::MAX).take_while(below).last().map_or(0, usize::from)
}

pub(super) struct Search<'a> {
    packing: &'a Packing,
    prices: &'a Prices,
    /// The bundles of each team in turn.
    turns: Vec<Range<usize>>,
    /// Wants of the teams from each turn on, and what they are worth.
    ahead: Vec<(usize, f64)>,
    left: Vec<u16>,
    /// No packing can do better than this.
    bound: usize,
    pub best: usize,
    pub looks: usize,
    /// The most that was met when this team was next with these stocks left.
    seen: HashMap<(usize, Vec<u16>), usize>,
}

impl<'a> Search<'a> {
    pub(super) fn new(packing: &'a Packing, prices: &'a Prices, bound: usize, best: usize) -> Self {
        let mut turns = Vec::new();
        let mut from = 0;
        for of in packing.bundles.chunk_by(|a, b| a.team == b.team) {
            turns.push(from..from + of.len());
            from += of.len();
        }
        let mut ahead = vec![(0, 0.0)];
        for turn in turns.iter().rev() {
            let team = packing.bundles.get(turn.start).map_or(0, |b| b.team);
            let (wants, worth) = ahead.last().copied().unwrap_or_default();
            let own = pick(&packing.wants, team);
            ahead.push((wants + usize::from(own), worth + f64::from(own) * pick(&prices.teams, team)));
        }
        ahead.reverse();
        Self {
            packing,
            prices,
            turns,
            ahead,
            left: packing.stocks.clone(),
            bound,
            best,
            looks: 0,
            seen: HashMap::new(),
        }
    }

    /// Whether the teams from this turn on cannot make it better than the best.
    fn hopeless(&mut self, at: usize, met: usize) -> bool {
        let (wants, worth) = pick(&self.ahead, at);
        let needed = (self.best + 1).saturating_sub(met);
        if wants < needed {
            return true;
        }
        self.looks += 1;
        let stocks = self.left.iter().zip(&self.prices.stocks).map(|(n, price)| f64::from(*n) * price).sum::<f64>();
        if whole(worth + stocks) < needed {
            return true;
        }
        // What each could get for itself.
        let mut hope = 0;
        for turn in self.turns.get(at..).unwrap_or_default() {
            let of = self.packing.bundles.get(turn.clone()).unwrap_or_default();
            let wants = of.first().map_or(0, |b| pick(&self.packing.wants, b.team));
            let mut room = 0_u16;
            for bundle in of {
                self.looks += 1;
                room = room.saturating_add(bundle.room(&self.left));
                if room >= wants {
                    break;
                }
            }
            hope += usize::from(room.min(wants));
        }
        hope < needed
    }

    fn ended(&self) -> bool {
        self.best >= self.bound || self.looks > LOOKS
    }

    /// Lets the team whose turn it is, and those after it, take in every way.
    pub(super) fn team(&mut self, at: usize, met: usize) {
        self.best = self.best.max(met);
        if at >= self.turns.len() || self.ended() || self.hopeless(at, met) {
            return;
        }
        if self.looks > EASY {
            let known = self.seen.entry((at, self.left.clone())).or_insert(usize::MAX);
            if *known != usize::MAX && *known >= met {
                return;
            }
            *known = met;
        }
        let Some(turn) = self.turns.get(at) else { return };
        let team = self.packing.bundles.get(turn.start).map_or(0, |b| b.team);
        self.bundle(at, turn.start, pick(&self.packing.wants, team), met);
    }

    fn bundle(&mut self, at: usize, number: usize, wants: u16, met: usize) {
        let packing = self.packing;
        let own = self.turns.get(at).is_some_and(|turn| number < turn.end);
        let Some(bundle) = packing.bundles.get(number).filter(|_| own && wants > 0) else {
            self.team(at + 1, met);
            return;
        };
        self.looks += 1;
        for times in (0..=bundle.room(&self.left).min(wants)).rev() {
            if self.ended() {
                return;
            }
            bundle.change(&mut self.left, |left, n| left - n * times);
            self.bundle(at, number + 1, wants - times, met + usize::from(times));
            bundle.change(&mut self.left, |left, n| left + n * times);
        }
    }
}
