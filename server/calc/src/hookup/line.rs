//! One line to a tool, to be shown or laid.

use super::lines::{Lines, MOST_ADAPTERS, MOST_HOSES, MOST_LINE_PARTS};
use super::plug::ROUND_TRIP;
use crate::sets::{self, Set};

/// So many parts are looked at for one line at most, and for all lines that are shown of a rig; what lies beyond counts as no line.
const STEPS: usize = 20_000;
const STEPS_OF_ALL: usize = 400_000;

/// A line from a source to a tool.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Line {
    /// The source.
    pub source: usize,
    /// Hoses and adapters from source to tool.
    pub parts: Vec<usize>,
}

struct LineSearch<'a> {
    lines: &'a Lines,
    tool: usize,
    least_mm: f64,
    /// Hoses and adapters that may be taken.
    free: Set,
    /// Sorts that may come after the first part.
    open: Set,
    longest: f64,
    parts: Vec<usize>,
    steps: usize,
    most: usize,
}

/// Whether a line of that length serves where that much is asked; a length below 0 is not known.
pub(crate) fn long_enough(length: f64, least_mm: f64) -> bool {
    least_mm <= 0.0 || length >= least_mm * (1.0 - ROUND_TRIP)
}

impl LineSearch<'_> {
    /// Completes the parts so far with `left` more of these sorts. Lowest numbers first.
    fn complete(&mut self, sorts: Set, left: usize, hoses: u8, adapters: u8, length: f64) -> bool {
        let mut tried: Set = 0;
        for i in sets::each(self.free) {
            self.steps += 1;
            if self.steps > self.most {
                return false;
            }
            let Some((at, sort)) = self.lines.sort_of(i) else { continue };
            let last = left == 1;
            if sorts & sets::one(at) == 0 || (last && sort.mouth & sets::one(self.tool) == 0) {
                continue;
            }
            if sets::each(tried).any(|t| self.lines.alike(t, i)) {
                continue;
            }
            tried |= sets::one(i);
            let (hoses, adapters) = if sort.hose { (hoses + 1, adapters) } else { (hoses, adapters + 1) };
            let own = self.lines.piece(i).length;
            let length = match (sort.hose, own < 0.0 || length < 0.0) {
                (false, _) => length,
                (true, true) => -1.0,
                (true, false) => length + own,
            };
            if hoses > MOST_HOSES || adapters > MOST_ADAPTERS || !self.may_do(hoses, left - 1, length) {
                continue;
            }
            self.parts.push(i);
            self.free &= !sets::one(i);
            let next = sort.next & self.open;
            if last || self.complete(next, left - 1, hoses, adapters, length) {
                return true;
            }
            self.parts.pop();
            self.free |= sets::one(i);
        }
        false
    }

    /// Whether a line can still come of it with `left` parts more.
    fn may_do(&self, hoses: u8, left: usize, length: f64) -> bool {
        let more = u8::try_from(left).unwrap_or(u8::MAX).min(MOST_HOSES - hoses);
        if left == 0 && hoses == 0 {
            return false;
        }
        self.least_mm <= 0.0 || (length >= 0.0 && long_enough(self.longest.mul_add(f64::from(more), length), self.least_mm))
    }
}

impl Lines {
    /// A line from a source of that outlet kind, at least `least_mm` long: fewest parts, then lowest numbers. Avoids `used`
    /// pieces altogether, else used hoses and adapters, where that can be.
    pub(crate) fn line(&self, tool: usize, outlet: usize, alive: Set, least_mm: f64, used: Set) -> Option<Line> {
        if self.piece(tool).stands & 1_u32.checked_shl(u32::try_from(outlet).ok()?)? == 0 {
            return None;
        }
        let ways = [alive & !used, alive & !(used & !self.sources), alive];
        let mut before = None;
        for way in ways {
            if before == Some(way) {
                continue;
            }
            before = Some(way);
            if let Some(line) = self.line_of(tool, outlet, way, least_mm) {
                return Some(line);
            }
        }
        None
    }

    fn line_of(&self, tool: usize, outlet: usize, alive: Set, least_mm: f64) -> Option<Line> {
        let ends = self.fed(outlet, alive).ends;
        if !sets::each(ends)
            .filter_map(|end| self.sorts.get(end))
            .any(|sort| sort.mouth & sets::one(tool) != 0)
        {
            return None;
        }
        let (first, open) = self.openings(outlet, alive);
        let free = alive & (self.hoses | self.adapters);
        let mut seek = LineSearch {
            lines: self,
            tool,
            least_mm,
            free,
            open,
            longest: sets::each(free).map(|i| self.piece(i).length).fold(0.0, f64::max),
            parts: Vec::new(),
            steps: 0,
            most: STEPS_OF_ALL.saturating_sub(self.shown.get()).min(STEPS),
        };
        let found = first != 0 && (1..=MOST_LINE_PARTS).any(|n| seek.complete(first, n, 0, 0, 0.0));
        self.count(seek.steps);
        self.shown.set(self.shown.get().saturating_add(seek.steps));
        if !found {
            return None;
        }
        let fixed = seek.parts.first().and_then(|part| self.sort_of(*part)).and_then(|(_, sort)| sort.fixed);
        let source = fixed.or_else(|| sets::first(self.outlets().get(outlet)?.sources & alive))?;
        Some(Line { source, parts: seek.parts })
    }
}
