//! Which pieces could serve which part of a grade, and how a tool is driven for it.

use super::board::{Board, GradeFit, PartFit};
use super::suits::{Span, rated_at, span};
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

/// What a tool is driven from: kinds of outlet whose lines are long enough.
#[derive(Debug, Clone, Copy)]
struct Leads {
    /// At its rated pressure.
    rated: u32,
    /// Below it.
    below: u32,
}

/// Which pieces could serve which part, and how each tool of them is driven.
pub(super) struct Look {
    /// Of each part.
    pub candidates: Vec<Candidates>,
    /// Of each tool that could serve some part.
    pub ways: Vec<Way>,
}

impl Board<'_> {
    /// For each part the pieces that could serve it now, and for each of these tools how it may be driven for it.
    pub(super) fn look(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> Look {
        let any = grade.any & alive;
        let still = any & !self.lines.tools;
        let mut candidates: Vec<Candidates> = grade
            .parts
            .iter()
            .map(|part| Candidates {
                free: part.suits & still,
                packed: 0,
            })
            .collect();
        let tools = any & self.lines.tools;
        self.count(grade.parts.len() * (sets::count(tools) + 4) / 4);
        let mut ways = Vec::with_capacity(sets::count(tools));
        for tool in sets::each(tools) {
            let bit = sets::one(tool);
            let lines = self.lines_to(grade, tool, reach);
            let (mut outlets, mut pack, mut own_pack) = (0, false, false);
            for (part, found) in grade.parts.iter().zip(&mut candidates).filter(|(part, _)| part.any & bit != 0) {
                let runs = runs(part, tool, lines);
                let own = self.runs_on_own_pack(part, tool);
                let packed = self.runs_on_pack(part, tool, alive);
                outlets |= runs.rated | runs.below;
                own_pack |= own;
                pack |= packed;
                if runs.rated | runs.below != 0 || own {
                    found.free |= bit;
                }
                // At its full ratings it may do more than at a lower pressure.
                if runs.rated == 0 && !own && packed {
                    found.packed |= bit;
                }
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
        Look { candidates, ways }
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
        let runs = runs(part, tool, self.lines_to(grade, tool, reach));
        runs.rated | runs.below
    }

    /// The kinds of outlet from which a line that is long enough for a grade leads to a tool.
    fn lines_to(&self, grade: &GradeFit<'_>, tool: usize, reach: &Reach) -> Leads {
        let (rated, below) = (reach.rated(tool), reach.below(tool));
        if grade.least_mm <= 0.0 {
            return Leads { rated, below };
        }
        let slack = grade.least_mm * (1.0 - 1e-9);
        let long = each_outlet(rated | below).filter(|outlet| self.lines.longest_mm(reach, tool, *outlet) >= slack);
        let long = long.fold(0, |mask, outlet| mask | sets::mask(outlet));
        Leads {
            rated: rated & long,
            below: below & long,
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
        let runs = runs(part, ram, self.lines_to(grade, ram, reach));
        let outlets = each_outlet(runs.below).filter_map(|outlet| self.lines.outlets().get(outlet));
        let stated = outlets
            .filter_map(|outlet| rated_at(piece, outlet, self.rules))
            .map(|ratings| span(piece, ratings));
        let full = runs.rated != 0 || self.runs_on_own_pack(part, ram);
        full.then_some(own).into_iter().chain(stated).collect()
    }

    /// How many kinds of drive these tools have.
    pub(super) fn kinds_of_drive(&self, ways: &[Way]) -> usize {
        let outlets = ways.iter().fold(0, |mask, way| mask | way.outlets);
        let drives = || each_outlet(outlets).filter_map(|o| self.lines.outlets().get(o)).map(|outlet| outlet.drive);
        let on_battery = ways.iter().any(|way| way.pack || way.own_pack);
        let by_hand = drives().any(|drive| drive == Kind::HandPump);
        let by_unit = drives().any(|drive| drive != Kind::HandPump);
        [on_battery, by_hand, by_unit].into_iter().filter(|is| *is).count()
    }
}

/// From where a tool serves a part, of the lines that lead to it.
fn runs(part: &PartFit<'_>, tool: usize, lines: Leads) -> Runs {
    let bit = sets::one(tool);
    let stated = part.below.iter().enumerate().filter(|(_, below)| **below & bit != 0);
    Runs {
        rated: if part.suits & bit == 0 { 0 } else { lines.rated & part.outlets },
        below: lines.below & part.outlets & stated.fold(0, |mask, (outlet, _)| mask | sets::mask(outlet)),
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
