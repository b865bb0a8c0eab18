//! The longest line from the outlets of one kind to each tool.
//!
//! Line starts are walked sort by sort, each time with the longest hoses that are left. A start is followed only while it may
//! still lengthen a line that is shorter than anybody asks; the walk is bounded, and a longer line than it found may be there.

use super::lines::{Lines, MOST_ADAPTERS, MOST_HOSES};
use super::sorts::UNKNOWN;
use crate::sets::{self, Set, pick};

/// So many line starts are walked at most from all kinds of outlet, and from one of them. A rig of four coupling families with adapters
/// between all of them stays below; what lies beyond counts as not reached.
const STEPS: usize = 32_000;
const STEPS_EACH: usize = 8_000;

/// The usable members of a sort: how many there are, how many are taken; of hoses those of known length alone.
#[derive(Clone, Copy, Default)]
struct Stock {
    count: u8,
    used: u8,
    longest: [f64; MOST_HOSES as usize],
}

/// Where a walk stands.
#[derive(Clone, Copy)]
struct Start {
    hoses: u8,
    adapters: u8,
    length: f64,
}

struct Walk<'a> {
    lines: &'a Lines,
    stocks: Vec<Stock>,
    /// Sorts that may come after the first part.
    open: Set,
    /// Ends that lead to a tool and are not as long yet as anybody asks.
    short: Set,
    /// The longest start that ends with each sort.
    longest: Vec<f64>,
    /// The least of them among the short ends.
    least: f64,
    /// The longest hose.
    hose: f64,
    /// Nobody asks for more.
    enough: f64,
    left: usize,
    cut: bool,
}

impl Walk<'_> {
    fn step(&self, sort: usize, before: Start) -> Option<Start> {
        let hose = self.lines.hose_sorts & sets::one(sort) != 0;
        let stock = self.stocks.get(sort)?;
        if stock.used >= stock.count {
            return None;
        }
        if !hose {
            let adapters = before.adapters + 1;
            return (adapters <= MOST_ADAPTERS).then_some(Start { adapters, ..before });
        }
        let length = before.length + pick(&stock.longest, usize::from(stock.used));
        let hoses = before.hoses + 1;
        (hoses <= MOST_HOSES).then_some(Start { hoses, length, ..before })
    }

    fn walk(&mut self, to: Set, before: Start) {
        // First all that is one part further, so that short lines are found whatever comes of the long ones.
        for sort in sets::each(to) {
            let Some(start) = self.step(sort, before).filter(|start| start.hoses > 0) else {
                continue;
            };
            let Some(rest) = self.left.checked_sub(1) else {
                self.cut = true;
                return;
            };
            self.left = rest;
            if self.short & sets::one(sort) != 0 {
                self.note(sort, start.length);
            }
        }
        for sort in sets::each(to) {
            if self.short == 0 {
                return;
            }
            let next = self.lines.sorts.get(sort).map_or(0, |s| s.next) & self.open;
            let Some(start) = self.step(sort, before).filter(|_| next != 0) else {
                continue;
            };
            let more = f64::from(MOST_HOSES - start.hoses);
            let full = start.hoses == MOST_HOSES && start.adapters == MOST_ADAPTERS;
            if full || self.hose.mul_add(more, start.length) <= self.least {
                continue;
            }
            self.used(sort, 1);
            self.walk(next, start);
            self.used(sort, -1);
        }
    }

    fn note(&mut self, sort: usize, length: f64) {
        let Some(longest) = self.longest.get_mut(sort).filter(|longest| length > **longest) else {
            return;
        };
        let was_least = *longest <= self.least;
        *longest = length;
        if length >= self.enough {
            self.short &= !sets::one(sort);
        }
        if was_least {
            self.least = sets::each(self.short).map(|sort| pick(&self.longest, sort)).fold(f64::INFINITY, f64::min);
        }
    }

    fn used(&mut self, sort: usize, change: i8) {
        if let Some(stock) = self.stocks.get_mut(sort) {
            stock.used = stock.used.saturating_add_signed(change);
        }
    }
}

impl Lines {
    /// The longest line from an outlet kind to each piece in mm, as far as `asked_mm`; 0 where there is none of known length.
    pub(super) fn longest_to_each(&self, outlet: usize, ends: Set, alive: Set) -> Vec<f64> {
        let mask = 1_u32 << outlet;
        let stands = sets::each(self.tools).filter(|tool| self.piece(*tool).stands & mask != 0);
        let tools = stands.fold(0, |set, tool| set | sets::one(tool));
        let stocks = self.stocks(alive);
        let leads = |sort: &usize| {
            let known = self.hose_sorts & sets::one(*sort) == 0 || stocks.get(*sort).is_some_and(|stock| stock.count > 0);
            known && self.sorts.get(*sort).is_some_and(|s| s.mouth & tools != 0)
        };
        let short = sets::each(ends).filter(leads).fold(0, |set, sort| set | sets::one(sort));
        let mut longest = vec![0.0; self.pieces.len()];
        if short == 0 {
            return longest;
        }
        let (first, open) = self.openings(outlet, alive);
        let given = (STEPS / self.outlets().len().max(1)).min(STEPS_EACH);
        let mut walk = Walk {
            lines: self,
            open,
            short,
            longest: vec![UNKNOWN; self.sorts.len()],
            least: UNKNOWN,
            hose: sets::each((first | open) & self.hose_sorts)
                .map(|sort| pick(&stocks, sort))
                .fold(0.0, |most, stock| pick(&stock.longest, 0).max(most)),
            stocks,
            enough: self.asked_mm,
            left: given,
            cut: false,
        };
        let begin = Start {
            hoses: 0,
            adapters: 0,
            length: 0.0,
        };
        walk.walk(first, begin);
        self.count(given - walk.left);
        if walk.cut {
            self.cut.set(true);
        }
        for sort in sets::each(short) {
            let own = pick(&walk.longest, sort);
            for tool in sets::each(self.sorts.get(sort).map_or(0, |s| s.mouth) & tools) {
                if let Some(known) = longest.get_mut(tool) {
                    *known = known.max(own);
                }
            }
        }
        longest
    }

    /// The usable members of each sort, of hoses those whose length is known.
    fn stocks(&self, alive: Set) -> Vec<Stock> {
        let of_adapters = |(i, sort): (usize, &super::sorts::Sort)| Stock {
            count: if self.hose_sorts & sets::one(i) == 0 {
                u8::try_from(sets::count(sort.members & alive)).unwrap_or(u8::MAX)
            } else {
                0
            },
            ..Stock::default()
        };
        let mut stocks: Vec<Stock> = self.sorts.iter().enumerate().map(of_adapters).collect();
        for hose in self.by_length.iter().map(|h| usize::from(*h)).filter(|h| alive & sets::one(*h) != 0) {
            let length = self.piece(hose).length;
            if length < 0.0 {
                break;
            }
            let Some(stock) = self.sort_of(hose).and_then(|(sort, _)| stocks.get_mut(sort)) else {
                continue;
            };
            if let Some(place) = stock.longest.get_mut(usize::from(stock.count)) {
                *place = length;
                stock.count += 1;
            }
        }
        stocks
    }
}
