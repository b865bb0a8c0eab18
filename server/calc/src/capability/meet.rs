//! Whether the needs of a grade are met together: which alternative of each, and which piece for each part.
//!
//! Needs are taken by how few pieces could serve them; of pieces that are alike only the first is tried. That is exact; the
//! work is bounded far beyond what a rig needs, and what is given up at the bound is not met and said to be undecided.

use super::board::{Board, GradeFit};
use super::grade::Cover;
use super::serve::{Candidates, Look, leave_no_gap};
use super::suits::Span;
use super::wire::Level;
use crate::hookup::Reach;
use crate::matching::Matching;
use crate::ratings::Kind;
use crate::sets::{self, Set};
use std::ops::Range;

/// So many pieces are put into parts at most in one search.
const STEPS: usize = 4_000;
/// With more pieces out of use than this, none is named as the one that fell out.
const MOST_MISSED: usize = 12;

/// A grade with the pieces in `alive`.
pub(super) struct Meeting {
    /// The piece of each part of the alternatives that were chosen: (part, piece, whether it takes a pack).
    pub chosen: Vec<(usize, usize, bool)>,
    /// Whether all needs are met together.
    pub met: bool,
    /// Whether enough tools run at once.
    pub at_once: usize,
    pub at_once_exact: bool,
    /// How many kinds of drive there are.
    pub kinds_of_drive: usize,
    /// The needs are met, but too few packs are left over.
    pub lacks_spares: bool,
}

impl Meeting {
    /// Whether the grade is met in everything that it asks.
    pub(super) fn is_whole(&self, grade: &GradeFit<'_>) -> bool {
        let enough = |have: usize, asked: u32| have >= usize::try_from(asked).unwrap_or(usize::MAX);
        self.met && enough(self.at_once, grade.grade.tools_at_once) && enough(self.kinds_of_drive, grade.grade.kinds_of_drive)
    }
}

impl Board<'_> {
    /// The level with the pieces in `alive`, the rig itself being in service.
    pub(super) fn level(&self, alive: Set) -> Level {
        if self.grades.is_empty() {
            return Level::NotJudged;
        }
        if self.is_out {
            return Level::None;
        }
        let anew;
        let reach = if alive == self.usable {
            self.reach()
        } else {
            anew = self.lines.reach(alive);
            &anew
        };
        let mut level = Level::None;
        for grade in &self.grades {
            if !self.is_met(grade, alive, reach) {
                break;
            }
            level = grade.level;
        }
        level
    }

    /// Whether the level is at least `floor` with the pieces in `alive`.
    pub(super) fn holds(&self, alive: Set, floor: Level) -> bool {
        if floor <= Level::None {
            return true;
        }
        if self.is_out || self.grades.is_empty() {
            return false;
        }
        let reach = self.lines.reach(alive);
        self.grades
            .iter()
            .filter(|grade| grade.level <= floor)
            .all(|grade| self.is_met(grade, alive, &reach))
    }

    fn is_met(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> bool {
        let asked = grade.grade;
        let Look { candidates, ways } = self.look(grade, alive, reach);
        let drives = usize::try_from(asked.kinds_of_drive).unwrap_or(usize::MAX);
        if drives > usize::from(grade.needs_a_tool) && self.kinds_of_drive(&ways) < drives {
            return false;
        }
        let Some(_) = Search::new(self, grade, alive, &candidates, reach).run() else {
            return false;
        };
        let needed = usize::try_from(asked.tools_at_once).unwrap_or(usize::MAX);
        // A filling with a tool in it runs one.
        needed == 0 || (needed == 1 && grade.needs_a_tool) || self.lines.run_at_once(alive, &ways, needed)
    }

    /// Pieces that must not be used now, each of which alone would make up the tools at once that a grade asks for. A rig of
    /// more such pieces than are looked at names none.
    pub(super) fn missed_at_once(&self, grade: &GradeFit<'_>) -> Set {
        let needed = usize::try_from(grade.grade.tools_at_once).unwrap_or(usize::MAX);
        let out = sets::each((0..self.pieces.len()).fold(0, |all, i| all | sets::one(i)) & !self.usable);
        let out: Vec<usize> = out
            .filter(|i| self.kinds.get(*i).is_some_and(|kind| !matches!(kind, Kind::Accessory | Kind::Charger)))
            .collect();
        if out.len() > MOST_MISSED {
            return 0;
        }
        let would_do = out.into_iter().filter(|i| {
            let alive = self.usable | sets::one(*i);
            let reach = self.lines.reach(alive);
            self.lines.run_at_once(alive, &self.look(grade, alive, &reach).ways, needed)
        });
        would_do.fold(0, |all, i| all | sets::one(i))
    }

    /// Whether a need of a grade could be met if it were the only one.
    pub(super) fn is_met_alone(&self, grade: &GradeFit<'_>, need: usize) -> bool {
        let candidates = self.look(grade, self.usable, self.reach()).candidates;
        Search::new(self, grade, self.usable, &candidates, self.reach()).fill_all(&[need]).is_some()
    }

    /// The same with the pieces in `alive` alone.
    pub(super) fn is_met_alone_with(&self, grade: &GradeFit<'_>, need: usize, alive: Set) -> bool {
        let reach = self.lines.reach(alive);
        let candidates = self.look(grade, alive, &reach).candidates;
        Search::new(self, grade, alive, &candidates, &reach).fill_all(&[need]).is_some()
    }

    /// The whole look at a grade with the usable pieces. Where the needs are not met together, as many as can be are: the earlier
    /// ones first.
    pub(super) fn meeting(&self, grade: &GradeFit<'_>) -> Meeting {
        let (alive, reach) = (self.usable, self.reach());
        let Look { candidates, ways } = self.look(grade, alive, reach);
        let mut search = Search::new(self, grade, alive, &candidates, reach);
        let at_once = self.lines.at_once(alive, &ways);
        let whole = search.run();
        let met = whole.is_some();
        let mut lacks_spares = false;
        let chosen = whole.unwrap_or_else(|| {
            search.ask_spares = false;
            let without = search.run();
            lacks_spares = without.is_some();
            without.unwrap_or_else(|| search.most())
        });
        Meeting {
            chosen,
            met,
            at_once: at_once.count,
            at_once_exact: at_once.exact,
            kinds_of_drive: self.kinds_of_drive(&ways),
            lacks_spares,
        }
    }
}

/// The search for a filling.
struct Search<'s, 'a> {
    board: &'s Board<'a>,
    grade: &'s GradeFit<'a>,
    candidates: &'s [Candidates],
    reach: &'s Reach,
    packs: Set,
    /// Needs in the order in which they are looked at.
    order: Vec<usize>,
    /// Where the count of steps stands when it is time to give up.
    most: usize,
    chosen: Vec<(usize, usize, bool)>,
    used: Set,
    ask_spares: bool,
}

impl<'s, 'a> Search<'s, 'a> {
    fn new(board: &'s Board<'a>, grade: &'s GradeFit<'a>, alive: Set, candidates: &'s [Candidates], reach: &'s Reach) -> Self {
        let mut order: Vec<usize> = (0..grade.grade.needs.len()).collect();
        let mut sizes = vec![0_usize; order.len()];
        for (part, found) in grade.parts.iter().zip(candidates) {
            if let Some(size) = sizes.get_mut(part.need) {
                *size += sets::count(found.free | found.packed);
            }
        }
        order.sort_by_key(|need| (sizes.get(*need).copied(), *need));
        Self {
            board,
            grade,
            candidates,
            reach,
            packs: board.lines.packs & alive,
            order,
            most: board.steps.get().saturating_add(STEPS),
            chosen: Vec::with_capacity(8),
            used: 0,
            ask_spares: true,
        }
    }

    /// A filling that meets all needs; none: there is none, or it was given up.
    fn run(&mut self) -> Option<Vec<(usize, usize, bool)>> {
        let order = self.order.clone();
        self.fill_all(&order)
    }

    /// As many needs as can be met together, the earlier ones first.
    fn most(&mut self) -> Vec<(usize, usize, bool)> {
        let mut kept: Vec<usize> = Vec::new();
        let mut best = Vec::new();
        for need in 0..self.grade.grade.needs.len() {
            kept.push(need);
            self.most = self.board.steps.get().saturating_add(STEPS);
            match self.fill_all(&kept) {
                Some(found) => best = found,
                None => drop(kept.pop()),
            }
        }
        best
    }

    fn fill_all(&mut self, needs: &[usize]) -> Option<Vec<(usize, usize, bool)>> {
        self.chosen.clear();
        self.used = 0;
        if !self.each_has_one(needs) {
            return None;
        }
        self.need(needs, 0).then(|| std::mem::take(&mut self.chosen))
    }

    /// Each need takes one piece at least: where not even that can be, nothing is tried.
    fn each_has_one(&self, needs: &[usize]) -> bool {
        let ways: Vec<Set> = needs
            .iter()
            .map(|need| {
                let of_need = self.grade.parts.iter().zip(self.candidates).filter(|(part, _)| part.need == *need);
                of_need.fold(0, |set, (_, found)| set | found.free | found.packed)
            })
            .collect();
        if ways.contains(&0) {
            return false;
        }
        ways.len() < 3 || Matching::largest(&ways).size() == ways.len()
    }

    fn need(&mut self, needs: &[usize], at: usize) -> bool {
        let Some(need) = needs.get(at).copied() else { return self.has_spares() };
        let Some(asked) = self.grade.grade.needs.get(need) else { return false };
        for (alternative, way) in asked.alternatives.iter().enumerate() {
            let parts = self.grade.ways.get(need).and_then(|ways| ways.get(alternative)).cloned().unwrap_or_default();
            if self.part(&parts, 0, way.covers, (needs, at)) {
                return true;
            }
        }
        false
    }

    fn part(&mut self, parts: &Range<usize>, at: usize, covers: Option<Cover>, (needs, next): (&[usize], usize)) -> bool {
        let part = parts.start + at;
        if part >= parts.end {
            return covers.is_none_or(|cover| self.covered(parts.len(), cover)) && self.need(needs, next + 1);
        }
        let found = self.candidates.get(part).copied().unwrap_or_default();
        for (set, packed) in [(found.free, false), (found.packed, true)] {
            let (mut passed, mut last): (Set, Option<usize>) = (0, None);
            for piece in sets::each(set & !self.used) {
                if !self.may_go_on() {
                    return false;
                }
                // The first one of a sort speaks for all.
                if let Some(last) = last.replace(piece) {
                    passed |= sets::one(self.board.sort_of(last));
                    if passed & sets::one(self.board.sort_of(piece)) != 0 {
                        continue;
                    }
                }
                if packed && !self.has_pack(piece) {
                    continue;
                }
                self.chosen.push((part, piece, packed));
                self.used |= sets::one(piece);
                if self.part(parts, at + 1, covers, (needs, next)) {
                    return true;
                }
                self.chosen.pop();
                self.used &= !sets::one(piece);
            }
        }
        false
    }

    /// Counts a step; false where none is left.
    fn may_go_on(&self) -> bool {
        if self.board.steps.get() >= self.most {
            self.board.cut.set(true);
            return false;
        }
        self.board.count(1);
        true
    }

    /// Whether there is a pack for one more tool. Tools and packs go by family, so counting is exact.
    fn has_pack(&self, tool: usize) -> bool {
        let packs = self.board.lines.packs_of(tool) & self.packs;
        let taken = self
            .chosen
            .iter()
            .filter(|(_, other, packed)| *packed && self.board.lines.packs_of(*other) & self.packs == packs)
            .count();
        sets::count(packs) > taken
    }

    fn has_spares(&self) -> bool {
        if !self.ask_spares || self.grade.grade.spare_packs == 0 {
            return true;
        }
        let asked = usize::try_from(self.grade.grade.spare_packs).unwrap_or(usize::MAX);
        let on_packs = self.chosen.iter().filter(|(_, _, packed)| *packed);
        let (tools, packs) = on_packs.fold((0, 0), |(n, set), (_, tool, _)| (n + 1, set | self.board.lines.packs_of(*tool) & self.packs));
        tools == 0 || sets::count(packs) >= tools + asked
    }

    /// Whether the rams chosen last reach the whole range together.
    fn covered(&self, parts: usize, cover: Cover) -> bool {
        let chosen = self.chosen.get(self.chosen.len().saturating_sub(parts)..).unwrap_or_default();
        self.cover_with(chosen, &mut Vec::with_capacity(parts), cover)
    }

    fn cover_with(&self, rams: &[(usize, usize, bool)], spans: &mut Vec<Span>, cover: Cover) -> bool {
        let Some(((part, ram, packed), rest)) = rams.split_first() else {
            return leave_no_gap(spans, cover.from.si(), cover.to.si());
        };
        let known = spans.len();
        self.board.lengths_of(self.grade, *part, *ram, *packed, self.reach).into_iter().any(|span| {
            if !self.may_go_on() {
                return false;
            }
            spans.truncate(known);
            spans.extend(span);
            self.cover_with(rest, spans, cover)
        })
    }
}
