//! How many tools run at once: circuits, hoses, adapters and packs, each used once.
//!
//! Pieces that are alike are counted, not named. Each way to drive a tool of some sort is a bundle of such counts; only
//! bundles that hold no smaller one for the same tool are kept. A flow through circuits and hoses says what cannot be
//! beaten; a search over the bundles finds it, or the best below it.

use super::line::long_enough;
use super::lines::{Lines, MOST_ADAPTERS, MOST_HOSES, MOST_LINE_PARTS, each_outlet};
use super::names::Family;
use super::packing::{Bundle, Packing};
use super::sorts::UNKNOWN;
use crate::sets::{self, Set, pick};

/// So many steps are spent on line starts and what they drive, and so many bundles kept, at most.
const STEPS: usize = 40_000;
const MOST_BUNDLES: usize = 600;

/// How one tool may be driven.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Way {
    /// The tool.
    pub tool: usize,
    /// Outlet kinds that may drive it.
    pub outlets: u32,
    /// The least length of hose in its line; 0: any, also unknown.
    pub least_mm: f64,
    /// Whether a pack of its family may drive it.
    pub pack: bool,
    /// Whether it has a pack of its own and needs nothing else.
    pub own_pack: bool,
}

/// How many tools run at once.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct AtOnce {
    /// The number found.
    pub count: usize,
    /// Whether no more is possible; else the search was given up, and `count` can only be too low.
    pub exact: bool,
}

/// Tools that can be driven in the same ways.
#[derive(Clone, Copy, PartialEq)]
struct Team {
    coupling: Family,
    outlets: u32,
    least_mm: f64,
    battery: Family,
}

/// Hoses or adapters that are one sort and, as far as anybody asks, equally long.
#[derive(Clone, Copy)]
struct Stock {
    sort: usize,
    length: f64,
    count: u16,
}

/// The line start at which a walk stands.
#[derive(Clone, Copy)]
struct Start {
    parts: [u16; MOST_LINE_PARTS],
    len: usize,
    hoses: u8,
    adapters: u8,
    length: f64,
    last: usize,
}

struct Model<'a> {
    lines: &'a Lines,
    /// Each team with one of its tools.
    teams: Vec<(Team, usize)>,
    stocks: Vec<Stock>,
    /// The number of the first of them in the packing.
    base: u16,
    packing: Packing,
    steps: usize,
    cut: bool,
}

impl Lines {
    /// Whether so many tools run at once, for certain. The first of several ways for one tool counts.
    pub(crate) fn run_at_once(&self, alive: Set, ways: &[Way], needed: usize) -> bool {
        needed == 0 || self.count_in_turn(alive, ways, needed) >= needed || self.count_at_once(alive, ways, needed).count >= needed
    }

    /// The largest number of tools that run at once. The first of several ways for one tool counts.
    pub(crate) fn at_once(&self, alive: Set, ways: &[Way]) -> AtOnce {
        self.count_at_once(alive, ways, usize::MAX)
    }

    /// The tools that run at once when each in turn takes a pack, else a circuit and one hose: at most `enough`.
    fn count_in_turn(&self, alive: Set, ways: &[Way], enough: usize) -> usize {
        let (mut seen, mut used, mut count, mut looks) = (0, 0, 0, 0);
        let mut left: Vec<u32> = self
            .circuits
            .iter()
            .map(|c| if alive & sets::one(c.source) == 0 { 0 } else { c.count })
            .collect();
        for way in ways {
            let bit = sets::one(way.tool);
            if self.tools & alive & !seen & bit == 0 {
                continue;
            }
            seen |= bit;
            looks += 1;
            let pack = if way.pack {
                sets::first(self.packs_of(way.tool) & alive & !used)
            } else {
                None
            };
            let takes = match pack {
                _ if way.own_pack => Some(0),
                Some(pack) => Some(sets::one(pack)),
                None => {
                    let outlets = way.outlets & self.piece(way.tool).stands;
                    let here = self
                        .circuits
                        .iter()
                        .zip(&mut left)
                        .filter(|(c, left)| outlets & sets::mask(c.outlet) != 0 && **left > 0);
                    let mut lines = here.filter_map(|(c, left)| {
                        looks += self.sorts.len();
                        let hose = self.one_hose(c.outlet, c.source, way, alive & !used)?;
                        *left -= 1;
                        Some(sets::one(hose))
                    });
                    lines.next()
                }
            };
            if let Some(pieces) = takes {
                used |= pieces;
                count += 1;
            }
            if count >= enough {
                break;
            }
        }
        self.count(looks);
        count
    }

    /// A hose that joins a source to a tool alone.
    fn one_hose(&self, outlet: usize, source: usize, way: &Way, free: Set) -> Option<usize> {
        let fits = |sort: &&super::sorts::Sort| {
            sort.hose && sort.first & sets::mask(outlet) != 0 && sort.mouth & sets::one(way.tool) != 0 && sort.fixed.is_none_or(|fixed| fixed == source)
        };
        let hoses = self.sorts.iter().filter(fits).flat_map(|sort| sets::each(sort.members & free));
        let mut long = hoses.filter(|hose| long_enough(self.piece(*hose).length, way.least_mm));
        long.next()
    }

    /// As [`Lines::at_once`]; what lies beyond `enough` is not looked for.
    fn count_at_once(&self, alive: Set, ways: &[Way], enough: usize) -> AtOnce {
        let (mut seen, mut own): (Set, usize) = (0, 0);
        let mut teams: Vec<(Team, usize)> = Vec::with_capacity(ways.len());
        let mut packing = Packing::new();
        for way in ways {
            let bit = sets::one(way.tool);
            if self.tools & alive & !seen & bit == 0 {
                continue;
            }
            seen |= bit;
            if way.own_pack {
                own += 1;
                continue;
            }
            let piece = self.piece(way.tool);
            let team = Team {
                coupling: piece.coupling,
                outlets: way.outlets & piece.stands,
                least_mm: if way.least_mm > 0.0 { way.least_mm } else { 0.0 },
                battery: if way.pack { piece.battery } else { 0 },
            };
            if team.outlets == 0 && team.battery == 0 {
                continue;
            }
            let known = teams.iter().position(|(t, _)| *t == team).unwrap_or_else(|| {
                teams.push((team, way.tool));
                teams.len() - 1
            });
            packing.add_want(known);
        }
        let mut model = Model {
            lines: self,
            stocks: Vec::new(),
            base: 0,
            teams,
            packing,
            steps: 0,
            cut: false,
        };
        model.packs(alive);
        model.lines_of_all(alive);
        let (count, exact, steps) = model.packing.most(if enough == usize::MAX { enough } else { enough.saturating_sub(own) });
        self.count(model.steps + steps + 1);
        AtOnce {
            count: own + count,
            exact: exact && !model.cut,
        }
    }
}

impl Model<'_> {
    fn packs(&mut self, alive: Set) {
        let mut known: Vec<(Family, Option<u16>)> = Vec::new();
        for (at, (team, tool)) in self.teams.iter().enumerate() {
            if team.battery == 0 {
                continue;
            }
            let stock = known.iter().find(|(battery, _)| *battery == team.battery).map(|(_, stock)| *stock);
            let stock = stock.unwrap_or_else(|| {
                let packs = sets::count(self.lines.packs_of(*tool) & alive);
                let stock = (packs > 0).then(|| self.packing.add_stock(packs));
                known.push((team.battery, stock));
                stock
            });
            if let Some(stock) = stock {
                let mut bundle = Bundle::new(at, None);
                bundle.take(stock);
                self.packing.offer(bundle);
            }
        }
    }

    fn lines_of_all(&mut self, alive: Set) {
        let asked = self.teams.iter().fold(0, |mask, (team, _)| mask | team.outlets);
        if asked == 0 {
            return;
        }
        self.stock_up(alive);
        let most = self.packing.wanted();
        for outlet in each_outlet(asked) {
            let (first, open) = self.lines.openings(outlet, alive);
            let here = self.lines.circuits.iter().filter(|c| c.outlet == outlet && alive & sets::one(c.source) != 0);
            let all = here
                .clone()
                .fold(0_usize, |sum, c| sum.saturating_add(usize::try_from(c.count).unwrap_or(usize::MAX)));
            if first == 0 || all == 0 {
                continue;
            }
            let circuits = self.packing.add_stock(all.min(most));
            // A hose that is fixed to a source takes a circuit of that source; any other line one of those that are left.
            let mut own: Vec<(usize, u16)> = Vec::new();
            let several = here.clone().count() > 1;
            for sort in sets::each(first).filter_map(|s| self.lines.sorts.get(s)) {
                let Some(source) = sort.fixed.filter(|s| several && own.iter().all(|(o, _)| o != s)) else {
                    continue;
                };
                let count = here
                    .clone()
                    .find(|c| c.source == source)
                    .map_or(0, |c| usize::try_from(c.count).unwrap_or(usize::MAX));
                own.push((source, self.packing.add_stock(count.min(most))));
            }
            let todo = self
                .teams
                .iter()
                .enumerate()
                .filter(|(_, (team, _))| team.outlets & (1_u32 << outlet) != 0)
                .fold(0, |set, (t, _)| set | sets::one(t));
            let begin = Start {
                parts: [0; MOST_LINE_PARTS],
                len: 0,
                hoses: 0,
                adapters: 0,
                length: 0.0,
                last: 0,
            };
            self.walk(first, open, todo, begin, circuits, &own);
        }
    }

    /// Divides the sorts by what their lengths are worth.
    fn stock_up(&mut self, alive: Set) {
        let least = self.teams.iter().map(|(team, _)| team.least_mm).fold(0.0, f64::max);
        let worth = |length: f64| match length {
            _ if least <= 0.0 => 0.0,
            length if length < 0.0 => UNKNOWN,
            length => length.min(least),
        };
        let hoses = self.lines.by_length.iter().map(|h| usize::from(*h));
        for i in hoses.chain(sets::each(self.lines.adapters)).filter(|i| alive & sets::one(*i) != 0) {
            let Some((sort, of)) = self.lines.sort_of(i) else { continue };
            let length = if of.hose { worth(self.lines.piece(i).length) } else { 0.0 };
            match self.stocks.iter_mut().find(|s| s.sort == sort && s.length.to_bits() == length.to_bits()) {
                Some(same) => same.count += 1,
                None => self.stocks.push(Stock { sort, length, count: 1 }),
            }
        }
        for (i, stock) in self.stocks.iter().enumerate() {
            let number = self.packing.add_stock(usize::from(stock.count));
            if i == 0 {
                self.base = number;
            }
        }
    }

    fn walk(&mut self, to: Set, open: Set, todo: Set, before: Start, circuits: u16, own: &[(usize, u16)]) {
        for at in 0..self.stocks.len() {
            let Some(stock) = self.stocks.get(at).copied() else { continue };
            if to & sets::one(stock.sort) == 0 {
                continue;
            }
            let Some(start) = self.step(at, stock, before) else { continue };
            self.steps += 1;
            if self.steps > STEPS || self.packing.bundles() > MOST_BUNDLES {
                self.cut = true;
                return;
            }
            let mut left = todo;
            if start.hoses > 0 {
                for team in sets::each(todo) {
                    if self.serves(team, &start) {
                        left &= !sets::one(team);
                        self.offer(team, &start, circuits, own);
                    }
                }
            }
            let next = self.lines.sorts.get(stock.sort).map_or(0, |s| s.next) & open;
            if left != 0 && next != 0 && start.len < MOST_LINE_PARTS {
                self.walk(next, open, left, start, circuits, own);
            }
        }
    }

    fn step(&self, at: usize, stock: Stock, before: Start) -> Option<Start> {
        let number = u16::try_from(at).ok()?;
        let used = before.parts.get(..before.len)?.iter().filter(|p| **p == number).count();
        let mut start = before;
        *start.parts.get_mut(before.len)? = number;
        start.len += 1;
        start.last = stock.sort;
        if self.lines.sorts.get(stock.sort)?.hose {
            start.hoses += 1;
            start.length = if stock.length < 0.0 || before.length < 0.0 {
                UNKNOWN
            } else {
                before.length + stock.length
            };
        } else {
            start.adapters += 1;
        }
        (used < usize::from(stock.count) && start.hoses <= MOST_HOSES && start.adapters <= MOST_ADAPTERS).then_some(start)
    }

    fn serves(&self, team: usize, start: &Start) -> bool {
        let Some((team, tool)) = self.teams.get(team) else { return false };
        let mouth = self.lines.sorts.get(start.last).map_or(0, |s| s.mouth);
        mouth & sets::one(*tool) != 0 && long_enough(start.length, team.least_mm)
    }

    fn offer(&mut self, team: usize, start: &Start, circuits: u16, own: &[(usize, u16)]) {
        let first = self.stocks.get(usize::from(pick(&start.parts, 0))).map(|s| s.sort);
        let fixed = first.and_then(|s| self.lines.sorts.get(s)).and_then(|s| s.fixed);
        let mut bundle = Bundle::new(team, Some(circuits));
        for part in start.parts.iter().take(start.len) {
            bundle.take(self.base + *part);
        }
        if let Some((_, stock)) = own.iter().find(|(source, _)| Some(*source) == fixed) {
            bundle.take(*stock);
        }
        self.steps += 1 + self.packing.bundles() / 8;
        self.packing.offer(bundle);
    }
}
