//! Whether the needs of a grade are met together: which alternative of each, and which piece for each part.
//!
//! Needs are taken by how few pieces could serve them; of pieces that are alike only the first is tried. That is exact; the
//! work is bounded far beyond what a rig needs, and what is given up at the bound is not met and said to be undecided.

use super::board::{Board, GradeFit, PartFit};
use super::grade::{Cover, Drive};
use super::wire::Level;
use crate::hookup::{Reach, Way};
use crate::matching::Matching;
use crate::ratings::{Kind, Rating, Term};
use crate::sets::{self, Set};

/// So many pieces are put into parts at most in one search.
const STEPS: usize = 4_000;

/// Which pieces could serve a part now.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Candidates {
    /// Those that run on a line, carry their own pack, or need no drive.
    pub free: Set,
    /// Those that take a pack away from others.
    pub packed: Set,
}

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
        self.met && enough(self.at_once, grade.grade.tools_at_once) && (grade.grade.kinds_of_drive <= 1 || enough(self.kinds_of_drive, grade.grade.kinds_of_drive))
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
        let reach = self.lines.reach(alive);
        let mut level = Level::None;
        for grade in &self.grades {
            if !self.is_met(grade, alive, &reach) {
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
        self.grades.iter().filter(|grade| grade.level <= floor).all(|grade| self.is_met(grade, alive, &reach))
    }

    fn is_met(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> bool {
        let asked = grade.grade;
        let candidates = self.candidates(grade, alive, reach);
        let drives = usize::try_from(asked.kinds_of_drive).unwrap_or(usize::MAX);
        if drives > 1 && self.kinds_of_drive(grade, alive, reach) < drives {
            return false;
        }
        let Some(_) = Search::new(self, grade, alive, &candidates).run() else { return false };
        let needed = usize::try_from(asked.tools_at_once).unwrap_or(usize::MAX);
        // A filling with a tool in it runs one.
        needed == 0 || (needed == 1 && self.has_tool(grade)) || self.lines.at_once(alive, &self.ways(grade, alive, reach)).count >= needed
    }

    fn has_tool(&self, grade: &GradeFit<'_>) -> bool {
        grade
            .grade
            .needs
            .iter()
            .any(|need| need.alternatives.iter().all(|way| way.parts.iter().any(|part| !part.kinds.contains(&Kind::Accessory))))
    }

    /// The whole look at a grade. Where the needs are not met together, as many as can be are: the earlier ones first.
    pub(super) fn meeting(&self, grade: &GradeFit<'_>, alive: Set) -> Meeting {
        let reach = self.lines.reach(alive);
        let candidates = self.candidates(grade, alive, &reach);
        let mut search = Search::new(self, grade, alive, &candidates);
        let at_once = self.lines.at_once(alive, &self.ways(grade, alive, &reach));
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
            kinds_of_drive: self.kinds_of_drive(grade, alive, &reach),
            lacks_spares,
        }
    }

    /// For each part: the pieces that could serve it now.
    pub(super) fn candidates(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> Vec<Candidates> {
        grade.parts.iter().map(|part| self.candidates_of(grade, part, alive, reach)).collect()
    }

    fn candidates_of(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, alive: Set, reach: &Reach) -> Candidates {
        let mut found = Candidates::default();
        let any = part.below.iter().fold(part.suits, |set, below| set | below) & alive;
        for i in sets::each(any) {
            let bit = sets::one(i);
            if self.lines.tools & bit == 0 {
                found.free |= part.suits & bit;
            } else if self.outlets_for(grade, part, i, reach) != 0 || (part.battery && part.suits & self.own_pack & bit != 0) {
                found.free |= bit;
            } else if part.battery && part.suits & bit != 0 && self.lines.packs_of(i) & alive != 0 {
                found.packed |= bit;
            }
        }
        found
    }

    /// The kinds of outlet from which a line runs this tool so that it serves the part.
    pub(super) fn outlets_for(&self, grade: &GradeFit<'_>, part: &PartFit<'_>, tool: usize, reach: &Reach) -> u32 {
        let bit = sets::one(tool);
        let mut mask = if part.suits & bit == 0 { 0 } else { reach.rated(tool) };
        for (outlet, below) in part.below.iter().enumerate() {
            if below & bit != 0 {
                mask |= reach.below(tool) & sets::mask(outlet);
            }
        }
        mask &= part.outlets;
        if grade.least_mm > 0.0 {
            let slack = grade.least_mm * (1.0 - 1e-9);
            for outlet in sets::each(Set::from(mask)) {
                if reach.longest_mm(tool, outlet) < slack {
                    mask &= !sets::mask(outlet);
                }
            }
        }
        mask
    }

    /// For each tool that could serve some part: how it may be driven for it.
    pub(super) fn ways(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> Vec<Way> {
        let mut ways = Vec::new();
        for tool in sets::each(self.lines.tools & alive) {
            let bit = sets::one(tool);
            let (mut outlets, mut pack, mut own) = (0, false, false);
            for part in &grade.parts {
                outlets |= self.outlets_for(grade, part, tool, reach);
                let battery = part.battery && part.suits & bit != 0;
                own |= battery && self.own_pack & bit != 0;
                pack |= battery && self.lines.packs_of(tool) & alive != 0;
            }
            if outlets != 0 || pack || own {
                ways.push(Way {
                    tool,
                    outlets,
                    least_mm: grade.least_mm,
                    pack,
                    own_pack: own,
                });
            }
        }
        ways
    }

    fn kinds_of_drive(&self, grade: &GradeFit<'_>, alive: Set, reach: &Reach) -> usize {
        let mut drives: Vec<Drive> = Vec::new();
        for way in self.ways(grade, alive, reach) {
            let from = sets::each(Set::from(way.outlets)).filter_map(|o| self.lines.outlets().get(o)).map(|outlet| {
                if outlet.drive == Kind::HandPump { Drive::HandPump } else { Drive::PowerUnit }
            });
            for drive in from.chain((way.pack || way.own_pack).then_some(Drive::Battery)) {
                if !drives.contains(&drive) {
                    drives.push(drive);
                }
            }
        }
        drives.len()
    }
}

/// The search for a filling.
struct Search<'s, 'a> {
    board: &'s Board<'a>,
    grade: &'s GradeFit<'a>,
    candidates: &'s [Candidates],
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
    fn new(board: &'s Board<'a>, grade: &'s GradeFit<'a>, alive: Set, candidates: &'s [Candidates]) -> Self {
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
            let parts: Vec<usize> = self.grade.parts_of(need, alternative).map(|(p, _)| p).collect();
            if self.part(&parts, 0, way.covers, (needs, at)) {
                return true;
            }
        }
        false
    }

    fn part(&mut self, parts: &[usize], at: usize, covers: Option<Cover>, (needs, next): (&[usize], usize)) -> bool {
        let Some(part) = parts.get(at).copied() else {
            let pieces = self.chosen.iter().rev().take(parts.len()).map(|(_, piece, _)| *piece);
            return covers.is_none_or(|cover| self.covered(pieces, cover)) && self.need(needs, next + 1);
        };
        let found = self.candidates.get(part).copied().unwrap_or_default();
        let mut passed: Set = 0;
        for (set, packed) in [(found.free, false), (found.packed, true)] {
            for piece in sets::each(set & !self.used) {
                if self.board.steps.get() >= self.most {
                    self.board.cut.set(true);
                    return false;
                }
                self.board.steps.set(self.board.steps.get() + 1);
                if sets::each(passed).any(|earlier| self.board.alike(earlier, piece)) {
                    continue;
                }
                passed |= sets::one(piece);
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

    /// Whether there is a pack for one more tool. Tools and packs go by family, so counting is exact.
    fn has_pack(&self, tool: usize) -> bool {
        let packs = self.board.lines.packs_of(tool) & self.packs;
        let taken = self.chosen.iter().filter(|(_, other, packed)| *packed && self.board.lines.packs_of(*other) & self.packs == packs).count();
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

    /// Whether the reach of these rams, laid side by side, leaves no gap in the range. Lengths that touch leave none.
    fn covered(&self, pieces: impl Iterator<Item = usize>, cover: Cover) -> bool {
        let length = |piece: usize, term: Term| {
            let piece = self.board.piece(piece)?;
            super::board::counted(piece, &piece.ratings).get(term).and_then(Rating::quantity).map(crate::units::Quantity::si)
        };
        let mut spans: Vec<(f64, f64)> = pieces
            .filter_map(|piece| length(piece, Term::RetractedLength).zip(length(piece, Term::ExtendedLength)))
            .collect();
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let slack = cover.to.si() * 1e-9;
        let mut reached = cover.from.si();
        for (from, to) in spans {
            if from <= reached + slack {
                reached = reached.max(to);
            }
        }
        // Nothing is reached until a ram fits into the shortest gap.
        reached > cover.from.si() && reached + slack >= cover.to.si()
    }
}
