//! Whether a grade is met: every alternative of every need with every assignment of distinct pieces.

use super::lines::Way;
use super::{Judge, at_least, is_tool, meets_all, same};
use fullset_calc::capability::{Alternative, Drive, Grade, Part};
use fullset_calc::ratings::{Kind, Ratings, Term};
use fullset_calc::units::Dimension;
use std::collections::{BTreeMap, BTreeSet};

/// A piece that serves a part, as far as it matters to the whole.
#[derive(Clone, PartialEq)]
struct Serving {
    piece: usize,
    /// The battery family of which it takes a tracked pack.
    pack: Option<String>,
    /// Of a ram: retracted and extended length in mm.
    span: Option<(f64, f64)>,
}

impl Judge<'_> {
    fn taken_away(&self, piece: usize) -> Vec<Term> {
        self.pieces[piece].limits.iter().flat_map(|limit| limit.without.clone()).collect()
    }

    /// Whether a tool, driven in that way, serves a part of that grade.
    fn serves(&self, grade: &Grade, part: &Part, tool: usize, way: &Way) -> bool {
        let drive = way.drive(&self.pieces);
        // A part that names its drives names them all; else the grade says whether a hand pump counts.
        let driven = if part.drives.is_empty() {
            drive != Drive::HandPump || grade.hand_pump
        } else {
            part.drives.contains(&drive)
        };
        let long = match (way, grade.line_length) {
            (Way::Line(line), Some(least)) => at_least(line.length_mm, least.si()),
            _ => true,
        };
        let rated = self
            .ratings_by(tool, way)
            .is_some_and(|ratings| meets_all(&ratings, &part.minimums, &self.taken_away(tool)));
        part.kinds.contains(&self.pieces[tool].kind) && driven && long && rated
    }

    fn serves_some_part(&self, grade: &Grade, tool: usize, way: &Way) -> bool {
        let parts = grade
            .needs
            .iter()
            .flat_map(|need| &need.alternatives)
            .flat_map(|alternative| &alternative.parts);
        parts.into_iter().any(|part| self.serves(grade, part, tool, way))
    }

    fn span(&self, ratings: &Ratings, piece: usize) -> Option<(f64, f64)> {
        let taken_away = self.taken_away(piece);
        let length = |term| {
            let q = ratings.get(term).filter(|_| !taken_away.contains(&term))?.quantity()?;
            (q.dimension() == Dimension::Length).then(|| q.si())
        };
        Some((length(Term::RetractedLength)?, length(Term::ExtendedLength)?))
    }

    fn candidates(&self, grade: &Grade, part: &Part, ways: &[(usize, Way)]) -> Vec<Serving> {
        let mut all = Vec::new();
        for (tool, way) in ways.iter().filter(|(tool, way)| self.serves(grade, part, *tool, way)) {
            let serving = Serving {
                piece: *tool,
                pack: if let Way::Pack(family) = way { Some(family.clone()) } else { None },
                span: self.ratings_by(*tool, way).and_then(|ratings| self.span(&ratings, *tool)),
            };
            if !all.contains(&serving) {
                all.push(serving);
            }
        }
        for piece in self.of(|kind| !is_tool(kind) && part.kinds.contains(&kind)) {
            let aboard = self.pieces[piece];
            let right_one = aboard.kind != Kind::Accessory || (part.gear.is_some() && aboard.gear == part.gear);
            if right_one && meets_all(&aboard.ratings, &part.minimums, &self.taken_away(piece)) {
                all.push(Serving { piece, pack: None, span: None });
            }
        }
        all
    }

    /// Whether all of a grade is met.
    pub fn meets(&self, grade: &Grade) -> bool {
        let ways = self.ways();
        self.at_once(grade) >= grade.tools_at_once
            && self.drives(grade).len() >= grade.kinds_of_drive as usize
            && self.meets_needs(grade, &ways, 0, &mut Vec::new())
    }

    fn meets_needs(&self, grade: &Grade, ways: &[(usize, Way)], need: usize, taken: &mut Vec<Serving>) -> bool {
        let Some(here) = grade.needs.get(need) else {
            return self.packs_suffice(grade, taken);
        };
        here.alternatives
            .iter()
            .any(|alternative| self.meets_parts(grade, ways, need, alternative, 0, taken))
    }

    fn meets_parts(&self, grade: &Grade, ways: &[(usize, Way)], need: usize, of: &Alternative, part: usize, taken: &mut Vec<Serving>) -> bool {
        let Some(here) = of.parts.get(part) else {
            let own = &taken[taken.len() - of.parts.len()..];
            return covered(of, own) && self.meets_needs(grade, ways, need + 1, taken);
        };
        for serving in self.candidates(grade, here, ways) {
            if taken.iter().any(|other| other.piece == serving.piece) {
                continue;
            }
            taken.push(serving);
            let met = self.meets_parts(grade, ways, need, of, part + 1, taken);
            taken.pop();
            if met {
                return true;
            }
        }
        false
    }

    /// A pack for each tool on a tracked pack, and the spare ones of those families beyond.
    fn packs_suffice(&self, grade: &Grade, filling: &[Serving]) -> bool {
        let used: Vec<&String> = filling.iter().filter_map(|serving| serving.pack.as_ref()).collect();
        let mut families: Vec<&String> = Vec::new();
        for family in &used {
            if !families.iter().any(|known| same(known, family)) {
                families.push(family);
            }
        }
        let each = families
            .iter()
            .all(|family| used.iter().filter(|other| same(other, family)).count() <= self.packs(family));
        let aboard: usize = families.iter().map(|family| self.packs(family)).sum();
        each && (used.is_empty() || aboard >= used.len() + grade.spare_packs as usize)
    }

    /// The drives by which tools that could serve some part of the grade run.
    pub fn drives(&self, grade: &Grade) -> BTreeSet<Drive> {
        let ways = self.ways();
        let serving = ways.iter().filter(|(tool, way)| self.serves_some_part(grade, *tool, way));
        serving.map(|(_, way)| way.drive(&self.pieces)).collect()
    }

    /// The largest number of tools that could serve some part of the grade and run at the same time: each outlet circuit, hose,
    /// adapter and pack is used once.
    pub fn at_once(&self, grade: &Grade) -> u32 {
        let serving: Vec<(usize, Way)> = self.ways().into_iter().filter(|(tool, way)| self.serves_some_part(grade, *tool, way)).collect();
        // Of two lines from the same outlets to the same tool, one that takes all that the other takes is never needed.
        let leaner = |a: &Way, b: &Way| match (a, b) {
            (Way::Line(a), Way::Line(b)) => {
                let subset = a.conduits.iter().all(|c| b.conduits.contains(c));
                (a.source, a.outlet) == (b.source, b.outlet) && subset
            }
            (a, b) => a == b,
        };
        let mut tools: BTreeMap<usize, Vec<Way>> = BTreeMap::new();
        for (tool, way) in serving {
            let kept = tools.entry(tool).or_default();
            if !kept.iter().any(|other| leaner(other, &way)) {
                kept.retain(|other| !leaner(&way, other));
                kept.push(way);
            }
        }
        let tools: Vec<Vec<Way>> = tools.into_values().collect();
        self.run(&tools, &mut Vec::new())
    }

    fn run(&self, tools: &[Vec<Way>], running: &mut Vec<Way>) -> u32 {
        let Some((ways, rest)) = tools.split_first() else { return 0 };
        let mut best = 0;
        for way in ways {
            if self.can_join(way, running) {
                running.push(way.clone());
                best = best.max(1 + self.run(rest, running));
                running.pop();
            }
            if best as usize == tools.len() {
                return best;
            }
        }
        best.max(self.run(rest, running))
    }

    fn can_join(&self, way: &Way, running: &[Way]) -> bool {
        match way {
            Way::OwnPack => true,
            Way::Pack(family) => running.iter().filter(|other| matches!(other, Way::Pack(taken) if same(taken, family))).count() < self.packs(family),
            Way::Line(line) => {
                let others: Vec<_> = running
                    .iter()
                    .filter_map(|other| if let Way::Line(other) = other { Some(other) } else { None })
                    .collect();
                let on_outlet = others.iter().filter(|other| (other.source, other.outlet) == (line.source, line.outlet)).count();
                let circuits = super::lines::outlets(self.pieces[line.source])[line.outlet].circuits as usize;
                on_outlet < circuits && others.iter().all(|other| !other.conduits.iter().any(|c| line.conduits.contains(c)))
            }
        }
    }
}

/// Whether the rams reach every length of the range; two that meet end to end leave no gap. Unknown lengths reach nothing.
fn covered(alternative: &Alternative, servings: &[Serving]) -> bool {
    let Some(range) = alternative.covers else { return true };
    let mut spans: Vec<(f64, f64)> = servings.iter().filter_map(|serving| serving.span).collect();
    spans.sort_by(|a, b| a.0.total_cmp(&b.0));
    let mut reached = range.from.si();
    let mut begun = false;
    for (retracted, extended) in spans {
        if at_least(reached, retracted) && at_least(extended, reached) {
            (begun, reached) = (true, reached.max(extended));
        }
    }
    begun && at_least(reached, range.to.si())
}
