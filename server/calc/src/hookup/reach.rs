//! What can be driven with the pieces that are usable.

use super::lines::{Lines, MOST_ADAPTERS, MOST_HOSES, UNKNOWN};
use crate::sets::{self, Set, pick};

/// So many line starts are walked at most for each outlet kind. No rig comes near; what lies beyond counts as not reached.
const STEPS: usize = 20_000;

/// Which tools some line leads to.
#[derive(Debug, Clone, Default)]
pub(crate) struct Reach {
    driven: Vec<(u32, u32)>,
    longest: Vec<f64>,
    outlets: usize,
    /// Sources, hoses and adapters that have a place in some line.
    pub served: Set,
}

impl Reach {
    /// Outlet kinds from which some line leads to the tool at its rated pressure.
    pub(crate) fn rated(&self, tool: usize) -> u32 {
        pick(&self.driven, tool).0
    }

    /// Outlet kinds from which some line leads to the tool below its rated pressure.
    pub(crate) fn below(&self, tool: usize) -> u32 {
        pick(&self.driven, tool).1
    }

    /// The longest line from that outlet kind to the tool in mm; 0 when there is none of known length.
    pub(crate) fn longest_mm(&self, tool: usize, outlet: usize) -> f64 {
        if outlet < self.outlets { pick(&self.longest, tool * self.outlets + outlet) } else { 0.0 }
    }
}

/// The usable members of a sort: how many, and the longest three.
#[derive(Clone, Copy, Default)]
struct Stock {
    count: u8,
    used: u8,
    known: u8,
    longest: [f64; MOST_HOSES as usize],
}

/// Where a walk stands.
#[derive(Clone, Copy)]
struct Start {
    hoses: u8,
    adapters: u8,
    /// Below 0 when not known.
    length: f64,
    /// The sorts on the way, and the first of them.
    path: Set,
    first: Set,
}

struct Walk<'a> {
    lines: &'a Lines,
    stocks: Vec<Stock>,
    /// Sorts of which a member is usable with this outlet.
    open: Set,
    /// Sorts with which some start ends that has a hose.
    ends: Set,
    /// The longest start that ends with each sort.
    longest: Vec<f64>,
    /// Sorts that have a place in a start that has a hose, and those that come first in one.
    places: Set,
    firsts: Set,
    steps: usize,
}

impl Walk<'_> {
    fn step(&mut self, sort: usize, before: Start) -> Option<Start> {
        let hose = self.lines.sorts.get(sort)?.hose;
        let stock = self.stocks.get(sort)?;
        if stock.used >= stock.count {
            return None;
        }
        let path = before.path | sets::one(sort);
        let first = if before.path == 0 { path } else { before.first };
        let before = Start { path, first, ..before };
        if !hose {
            let adapters = before.adapters + 1;
            return (adapters <= MOST_ADAPTERS).then_some(Start { adapters, ..before });
        }
        let length = if stock.used < stock.known && before.length >= 0.0 {
            before.length + pick(&stock.longest, usize::from(stock.used))
        } else {
            UNKNOWN
        };
        let hoses = before.hoses + 1;
        (hoses <= MOST_HOSES).then_some(Start {
            hoses,
            length,
            ..before
        })
    }

    /// Walks all line starts from an outlet kind; false when nothing fits it.
    fn from(&mut self, outlet: usize, alive: Set) -> bool {
        let (first, open) = self.lines.openings(outlet, alive);
        (self.open, self.ends, self.places, self.firsts, self.steps) = (open, 0, 0, 0, 0);
        if first == 0 {
            return false;
        }
        self.longest.fill(UNKNOWN);
        let begin = Start {
            hoses: 0,
            adapters: 0,
            length: 0.0,
            path: 0,
            first: 0,
        };
        self.walk(first, begin);
        self.lines.work.set(self.lines.work.get().saturating_add(self.steps));
        true
    }

    fn walk(&mut self, to: Set, before: Start) {
        // First all that is one part further, so that short lines are found whatever comes of the long ones.
        for sort in sets::each(to) {
            let Some(start) = self.step(sort, before) else { continue };
            self.steps += 1;
            if start.hoses > 0 {
                self.ends |= sets::one(sort);
                self.places |= start.path;
                self.firsts |= start.first;
                if let Some(longest) = self.longest.get_mut(sort) {
                    *longest = longest.max(start.length);
                }
            }
        }
        for sort in sets::each(to) {
            let next = self.lines.sorts.get(sort).map_or(0, |s| s.next) & self.open;
            if next == 0 || self.steps >= STEPS {
                continue;
            }
            let Some(start) = self.step(sort, before) else { continue };
            if start.hoses == MOST_HOSES && start.adapters == MOST_ADAPTERS {
                continue;
            }
            self.used(sort, 1);
            self.walk(next, start);
            self.used(sort, -1);
        }
    }

    fn used(&mut self, sort: usize, change: i8) {
        if let Some(stock) = self.stocks.get_mut(sort) {
            stock.used = stock.used.saturating_add_signed(change);
        }
    }
}

impl Lines {
    /// The usable members of each sort.
    fn stocks(&self, alive: Set) -> Vec<Stock> {
        let mut stocks: Vec<Stock> = self
            .sorts
            .iter()
            .map(|sort| Stock {
                count: u8::try_from(sets::count(sort.members & alive)).unwrap_or(u8::MAX),
                ..Stock::default()
            })
            .collect();
        for hose in self.by_length.iter().map(|h| usize::from(*h)).filter(|h| alive & sets::one(*h) != 0) {
            let length = self.piece(hose).length;
            if length < 0.0 {
                break;
            }
            let Some(stock) = self.sort_of(hose).and_then(|(sort, _)| stocks.get_mut(sort)) else {
                continue;
            };
            if let Some(place) = stock.longest.get_mut(usize::from(stock.known)) {
                *place = length;
                stock.known += 1;
            }
        }
        stocks
    }

    /// The sorts that may come first at an outlet kind with the sources that are usable, and those that may come after.
    pub(super) fn openings(&self, outlet: usize, alive: Set) -> (Set, Set) {
        let mask = 1_u32 << outlet;
        let here = self.outlets().get(outlet).map_or(0, |o| o.sources) & alive;
        let (mut first, mut open) = (0, 0);
        for (i, sort) in self.sorts.iter().enumerate() {
            if here == 0 || sort.ok & mask == 0 || sort.members & alive == 0 {
                continue;
            }
            if sort.fixed.is_none() {
                open |= sets::one(i);
            }
            if sort.first & mask != 0 && sort.fixed.is_none_or(|s| here & sets::one(s) != 0) {
                first |= sets::one(i);
            }
        }
        (first, open)
    }

    /// What can be driven with the pieces in `alive`.
    pub(crate) fn reach(&self, alive: Set) -> Reach {
        let outlets = self.outlets().len();
        let mut reach = Reach {
            driven: vec![(0, 0); self.pieces.len()],
            longest: vec![0.0; self.pieces.len() * outlets],
            outlets,
            served: 0,
        };
        let mut walk = self.walk(alive);
        for (outlet, kind) in self.outlets().iter().enumerate() {
            if !walk.from(outlet, alive) {
                continue;
            }
            reach.served |= self.places(&walk, kind.sources & alive, alive);
            for sort in sets::each(walk.ends) {
                let longest = pick(&walk.longest, sort);
                for tool in sets::each(self.sorts.get(sort).map_or(0, |s| s.mouth) & alive) {
                    self.note(&mut reach, tool, outlet, longest);
                }
            }
        }
        reach
    }

    fn note(&self, reach: &mut Reach, tool: usize, outlet: usize, longest: f64) {
        let (piece, mask) = (self.piece(tool), 1_u32 << outlet);
        if piece.stands & mask == 0 {
            return;
        }
        if let Some((rated, below)) = reach.driven.get_mut(tool) {
            *(if piece.rated & mask != 0 { rated } else { below }) |= mask;
        }
        if let Some(known) = reach.longest.get_mut(tool * reach.outlets + outlet) {
            *known = known.max(longest);
        }
    }

    fn walk(&self, alive: Set) -> Walk<'_> {
        Walk {
            lines: self,
            stocks: self.stocks(alive),
            open: 0,
            ends: 0,
            longest: vec![UNKNOWN; self.sorts.len()],
            places: 0,
            firsts: 0,
            steps: 0,
        }
    }

    /// The pieces of the sorts that a walk has placed, and the sources that the first ones stand at.
    fn places(&self, walk: &Walk<'_>, sources: Set, alive: Set) -> Set {
        let mut all = 0;
        for sort in sets::each(walk.places).filter_map(|i| self.sorts.get(i)) {
            all |= sort.members & alive;
        }
        for sort in sets::each(walk.firsts).filter_map(|i| self.sorts.get(i)) {
            all |= match sort.fixed {
                Some(s) => sets::one(s),
                None => sources,
            };
        }
        all
    }

    /// Sources, hoses and adapters that have a place in some line: a source with an outlet that a usable hose fits, directly
    /// or behind adapters; a hose or adapter that fluid can get into.
    pub(crate) fn served(&self, alive: Set) -> Set {
        self.reach(alive).served
    }

    /// The same for one outlet kind alone.
    pub(super) fn served_from(&self, outlet: usize, alive: Set) -> Set {
        let mut walk = self.walk(alive);
        let sources = self.outlets().get(outlet).map_or(0, |o| o.sources) & alive;
        if walk.from(outlet, alive) { self.places(&walk, sources, alive) } else { 0 }
    }
}
