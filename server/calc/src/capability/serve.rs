//! Which pieces could serve which part of a grade, and how a tool is driven for it.

use super::board::{Board, GradeFit, PartFit, Span, rated_at, span};
use super::grade::Drive;
use crate::hookup::{Reach, Way, each_outlet};
use crate::ratings::Kind;
use crate::sets::{self, Set};

/// Which pieces could serve a part now.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Candidates {
    /// Those that run on a line, carry their own pack, or need no drive.
    pub free: Set,
    /// Those that take a pack away from others.
    pub packed: Set,
}

/// The kinds of outlet from which a line runs a tool so that it serves a part.
#[derive(Debug, Clone, Copy)]
struct Runs {
    /// At its rated pressure.
    rated: u32,
    /// With the ratings that are stated for the outlet's lower pressure.
    below: u32,
}

impl Board<'_> {
    /// For each part: the pieces that could serve it now.
    pub(super) fn candidates(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> Vec<Candidates> {
        grade.parts.iter().map(|part| self.candidates_of(grade, part, alive, reach)).collect()
    }

    pub(super) fn candidates_of(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, alive: Set, reach: &Reach) -> Candidates {
        let mut found = Candidates::default();
        let any = part.below.iter().fold(part.suits, |set, below| set | below) & alive;
        for i in sets::each(any) {
            let bit = sets::one(i);
            if self.lines.tools & bit == 0 {
                found.free |= part.suits & bit;
                continue;
            }
            let runs = self.runs(grade, part, i, reach);
            if runs.rated | runs.below != 0 || self.runs_on_own_pack(part, i) {
                found.free |= bit;
            }
            // At its full ratings it may do more than at a lower pressure.
            if runs.rated == 0 && !self.runs_on_own_pack(part, i) && self.runs_on_pack(part, i, alive) {
                found.packed |= bit;
            }
        }
        found
    }

    fn runs_on_own_pack(&self, part: &PartFit<'_>, tool: usize) -> bool {
        part.battery && part.suits & self.own_pack & sets::one(tool) != 0
    }

    fn runs_on_pack(&self, part: &PartFit<'_>, tool: usize, alive: Set) -> bool {
        part.battery && part.suits & sets::one(tool) != 0 && self.lines.packs_of(tool) & alive != 0
    }

    /// Whether a tool serves a part on a pack, its own or a tracked one.
    pub(super) fn runs_on_battery(&self, part: &PartFit<'_>, tool: usize, alive: Set) -> bool {
        self.runs_on_own_pack(part, tool) || self.runs_on_pack(part, tool, alive)
    }

    /// The kinds of outlet from which a line runs this tool so that it serves the part.
    pub(super) fn outlets_for(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, tool: usize, reach: &Reach) -> u32 {
        let runs = self.runs(grade, part, tool, reach);
        runs.rated | runs.below
    }

    fn runs(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, tool: usize, reach: &Reach) -> Runs {
        let bit = sets::one(tool);
        let rated = if part.suits & bit == 0 { 0 } else { reach.rated(tool) };
        let stated = part.below.iter().enumerate().filter(|(_, below)| **below & bit != 0);
        let below = reach.below(tool) & stated.fold(0, |mask, (outlet, _)| mask | sets::mask(outlet));
        let mut served = (rated | below) & part.outlets;
        if grade.least_mm > 0.0 {
            let slack = grade.least_mm * (1.0 - 1e-9);
            for outlet in each_outlet(served) {
                if reach.longest_mm(tool, outlet) < slack {
                    served &= !sets::mask(outlet);
                }
            }
        }
        Runs {
            rated: rated & served,
            below: below & served,
        }
    }

    /// The lengths that a ram serving a part may reach, as it is driven: one for each set of ratings that may count.
    pub(super) fn lengths_of(&self, grade: &GradeFit<'_>, part: usize, ram: usize, packed: bool, reach: &Reach) -> Vec<Option<Span>> {
        let own = self.lengths.get(ram).copied().flatten();
        let (Some(piece), Some(part)) = (self.piece(ram), grade.parts.get(part)) else {
            return vec![own];
        };
        if piece.rated_at.is_empty() || packed {
            return vec![own];
        }
        let runs = self.runs(grade, part, ram, reach);
        let outlets = each_outlet(runs.below).filter_map(|outlet| self.lines.outlets().get(outlet));
        let stated = outlets
            .filter_map(|outlet| rated_at(piece, outlet, self.rules))
            .map(|ratings| span(piece, ratings));
        let full = runs.rated != 0 || self.runs_on_own_pack(part, ram);
        full.then_some(own).into_iter().chain(stated).collect()
    }

    /// For each tool that could serve some part: how it may be driven for it.
    pub(super) fn ways(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> Vec<Way> {
        let mut ways = Vec::new();
        for tool in sets::each(self.lines.tools & alive) {
            let (mut outlets, mut pack, mut own_pack) = (0, false, false);
            for part in &grade.parts {
                outlets |= self.outlets_for(grade, part, tool, reach);
                own_pack |= self.runs_on_own_pack(part, tool);
                pack |= self.runs_on_pack(part, tool, alive);
            }
            if outlets != 0 || pack || own_pack {
                ways.push(Way {
                    tool,
                    outlets,
                    least_mm: grade.least_mm,
                    pack,
                    own_pack,
                });
            }
        }
        ways
    }

    /// How many kinds of drive the tools have that could serve some part.
    pub(super) fn kinds_of_drive(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> usize {
        let mut drives: Vec<Drive> = Vec::new();
        for way in self.ways(grade, alive, reach) {
            let from = each_outlet(way.outlets)
                .filter_map(|o| self.lines.outlets().get(o))
                .map(|outlet| if outlet.drive == Kind::HandPump { Drive::HandPump } else { Drive::PowerUnit });
            for drive in from.chain((way.pack || way.own_pack).then_some(Drive::Battery)) {
                if !drives.contains(&drive) {
                    drives.push(drive);
                }
            }
        }
        drives.len()
    }
}

/// Whether rams of these lengths, laid side by side, leave no gap in a range in mm. Lengths that touch leave none.
pub(super) fn leave_no_gap(spans: &[Span], from: f64, to: f64) -> bool {
    let mut spans = spans.to_vec();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let slack = to * 1e-9;
    let mut reached = from;
    for (short, long) in spans {
        if short <= reached + slack {
            reached = reached.max(long);
        }
    }
    // Nothing is reached until a ram fits into the shortest gap.
    reached > from && reached + slack >= to
}
