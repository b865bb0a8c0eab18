//! A rig prepared for questions: pieces as bits in tag order, lines worked out, ratings already compared.

use super::confirm;
use super::grade::{Grade, Part as Asked};
use super::input::{Batteries, Piece, Rig, Rules, Slot};
use super::suits::{ByKind, Lower, Span, counted, grade_fit, meets, span};
use super::wire::Level;
use crate::hookup::{LineRules, Lines, Part, Reach, is_name, same_name};
use crate::ratings::{Kind, Rating, Term};
use crate::sets::{self, CAPACITY, Set};
use crate::units::{Dimension, Quantity};
use chrono::{DateTime, Utc};
use std::cell::{Cell, OnceCell};
use std::ops::Range;

/// One part of a grade, with the pieces that suit it, in whatever state.
pub(super) struct PartFit<'a> {
    pub part: &'a Asked,
    /// Its need, and its alternative there.
    pub need: usize,
    pub alternative: usize,
    /// Pieces of its kinds that meet its minimums at their rated pressure.
    pub suits: Set,
    /// These and those that meet them at some lower pressure.
    pub any: Set,
    /// Of each kind of outlet: tools that meet them with the ratings stated for that outlet's lower pressure. Empty when no piece
    /// has such ratings.
    pub below: Vec<Set>,
    /// Kinds of outlet that may drive it.
    pub outlets: u32,
    /// Whether a battery may.
    pub battery: bool,
}

/// A grade, prepared.
pub(super) struct GradeFit<'a> {
    pub level: Level,
    pub grade: &'a Grade,
    /// In the order of needs, alternatives and parts.
    pub parts: Vec<PartFit<'a>>,
    /// Of each need and alternative: which of the parts are its own.
    pub ways: Vec<Vec<Range<usize>>>,
    /// The least length of a line in mm; 0: any.
    pub least_mm: f64,
    /// Whether it cannot be met without a tool that runs.
    pub needs_a_tool: bool,
    /// The pieces that suit some part.
    pub any: Set,
}

pub(super) struct Board<'a> {
    pub rules: &'a Rules,
    pub slots: &'a [Slot],
    /// In tag order, then by id; a piece's bit is its place here.
    pub pieces: Vec<&'a Piece>,
    pub kinds: Vec<Kind>,
    pub lines: Lines,
    pub usable: Set,
    /// Usable, and checked as it must be.
    pub confirmed: Set,
    /// Battery tools that carry a pack of their own, which is not on record.
    pub own_pack: Set,
    /// Packs and chargers of the family of some battery tool aboard, in whatever state that is.
    pub fits_a_battery: Set,
    /// Of each ram: retracted and extended length in mm that count, where both are known.
    pub lengths: Vec<Option<Span>>,
    /// Of each slot: the pieces of its kinds that meet its minimums, in whatever state.
    pub suits: Vec<Set>,
    /// The grades from the lowest up.
    pub grades: Vec<GradeFit<'a>>,
    /// Whether the rig itself is out of service.
    pub is_out: bool,
    /// Pieces beyond the number that is looked at.
    pub left_out: Vec<&'a Piece>,
    /// Steps of the search for fillings; `cut` once one was given up.
    pub steps: Cell<usize>,
    pub cut: Cell<bool>,
    /// Steps spent on why tools do not run.
    pub told: Cell<usize>,
    reach: OnceCell<Reach>,
    /// Of each piece: the first one that it is alike to.
    alike: OnceCell<Vec<usize>>,
}

impl<'a> Board<'a> {
    pub(super) fn new(rig: &Rig<'a>, rules: &'a Rules, at: DateTime<Utc>) -> Self {
        Self::of(rig, rig.pieces.iter(), rules, at)
    }

    /// As [`Board::new`], with other pieces than those aboard.
    pub(super) fn of(rig: &Rig<'a>, pieces: impl Iterator<Item = &'a Piece>, rules: &'a Rules, at: DateTime<Utc>) -> Self {
        let slots: &[Slot] = rig.complement.map_or(&[], |c| c.slots.as_slice());
        let mut pieces: Vec<&Piece> = pieces.collect();
        let by_tag = |a: &&Piece, b: &&Piece| a.tag.cmp(&b.tag).then_with(|| a.id.cmp(&b.id));
        pieces.sort_unstable_by(by_tag);
        let mut left_out = Vec::new();
        if pieces.len() > CAPACITY {
            // What could do something comes first, so that a rig full of small gear loses none of its tools.
            pieces.sort_by_key(|piece| (!piece.is_usable(&rules.policy, at), matches!(piece.kind, Kind::Accessory | Kind::Charger)));
            left_out = pieces.split_off(CAPACITY);
            pieces.sort_unstable_by(by_tag);
        }
        let parts: Vec<Part<'_>> = pieces.iter().map(|piece| part_of(piece, &pieces)).collect();
        let mut lines = Lines::new(&parts, &line_rules(rules));
        let by_kind = ByKind::of(&pieces);
        let own_pack = own_packs(rules, &pieces, carries_packs(&pieces));
        let (mut usable, mut confirmed) = (0, 0);
        for (i, piece) in pieces.iter().enumerate() {
            if piece.is_usable(&rules.policy, at) {
                usable |= sets::one(i);
                if own_pack & sets::one(i) == 0 && confirm::is_confirmed(piece, at) {
                    confirmed |= sets::one(i);
                }
            }
        }
        let suits = slots
            .iter()
            .map(|slot| by_kind.fitting(&slot.kinds, |piece| meets(piece, slot.gear, &slot.minimums, &piece.ratings)))
            .collect();
        let lower = Lower::of(&pieces, &lines, rules);
        let grades = rules.grades.as_deref().map_or_else(Vec::new, |grades| {
            grades.each().map(|(level, grade)| grade_fit(level, grade, &by_kind, &lower, &lines)).collect()
        });
        lines.asked_mm = grades.iter().map(|grade: &GradeFit<'_>| grade.least_mm).fold(0.0, f64::max);
        Self {
            rules,
            slots,
            kinds: pieces.iter().map(|piece| piece.kind).collect(),
            lines,
            usable,
            confirmed,
            own_pack,
            fits_a_battery: fit_a_battery(&pieces),
            lengths: pieces
                .iter()
                .map(|piece| if piece.kind == Kind::Ram { span(piece, &piece.ratings) } else { None })
                .collect(),
            suits,
            grades,
            is_out: rig.out_of_service.is_some(),
            left_out,
            steps: Cell::new(0),
            cut: Cell::new(false),
            told: Cell::new(0),
            reach: OnceCell::new(),
            alike: OnceCell::new(),
            pieces,
        }
    }

    /// What the usable pieces reach.
    pub(super) fn reach(&self) -> &Reach {
        self.reach.get_or_init(|| self.lines.reach(self.usable))
    }

    /// Work done so far, in steps along lines and of fillings.
    pub(super) fn work(&self) -> usize {
        self.lines.work.get().saturating_add(self.steps.get())
    }

    /// Counts steps of work.
    pub(super) fn count(&self, steps: usize) {
        self.steps.set(self.steps.get().saturating_add(steps));
    }

    /// Whether something was given up at a bound: it counts as not met.
    pub(super) fn is_cut(&self) -> bool {
        self.cut.get() || self.lines.cut.get()
    }

    /// The pieces as lines see them.
    pub(super) fn parts(&self) -> Vec<Part<'a>> {
        self.pieces.iter().map(|piece| part_of(piece, &self.pieces)).collect()
    }

    pub(super) fn slot(&self, i: usize) -> Option<&'a Slot> {
        self.slots.get(i)
    }

    pub(super) fn piece(&self, i: usize) -> Option<&'a Piece> {
        self.pieces.get(i).copied()
    }

    pub(super) fn id(&self, i: usize) -> Option<uuid::Uuid> {
        self.piece(i).map(|piece| piece.id)
    }

    pub(super) fn position(&self, id: uuid::Uuid) -> Option<usize> {
        self.pieces.iter().position(|piece| piece.id == id)
    }

    pub(super) fn grade(&self, level: Level) -> Option<&GradeFit<'a>> {
        self.grades.iter().find(|grade| grade.level == level)
    }

    /// The first piece that a piece is alike to: they can stand for each other in everything that a level asks.
    pub(super) fn sort_of(&self, i: usize) -> usize {
        let firsts = self.alike.get_or_init(|| {
            let mut firsts: Vec<usize> = Vec::new();
            let mut all = Vec::with_capacity(self.pieces.len());
            for i in 0..self.pieces.len() {
                let known = firsts.iter().copied().find(|first| self.alike(*first, i));
                if known.is_none() {
                    firsts.push(i);
                }
                all.push(known.unwrap_or(i));
            }
            all
        });
        firsts.get(i).copied().unwrap_or(i)
    }

    /// Whether two pieces can stand for each other in everything that a level asks.
    fn alike(&self, a: usize, b: usize) -> bool {
        let both = sets::one(a) | sets::one(b);
        let same = |set: Set| set & both == 0 || set & both == both;
        self.lines.alike(a, b)
            && self.reach_alike(a, b)
            && same(self.own_pack)
            && self
                .grades
                .iter()
                .all(|grade| grade.parts.iter().all(|part| same(part.suits) && part.below.iter().all(|set| same(*set))))
    }

    /// Rams whose lengths may have to cover a range are alike only when they are rated alike.
    fn reach_alike(&self, a: usize, b: usize) -> bool {
        let lower = |i: usize| self.piece(i).map(|piece| &piece.rated_at);
        self.kinds.get(a) != Some(&Kind::Ram) || (self.lengths.get(a) == self.lengths.get(b) && lower(a) == lower(b))
    }

    /// Pieces that could matter to a level at all.
    pub(super) fn matters(&self) -> Set {
        let lines = &self.lines;
        let asked = self.grades.iter().fold(0, |set, grade| set | grade.any);
        asked | lines.sources | lines.hoses | lines.adapters | lines.packs
    }
}

/// The pieces that pass, as a set.
pub(super) fn fitting(pieces: &[&Piece], test: impl Fn(&Piece) -> bool) -> Set {
    pieces
        .iter()
        .enumerate()
        .filter(|(_, piece)| test(piece))
        .fold(0, |set, (i, _)| set | sets::one(i))
}

/// How lines are joined by these rules.
pub(super) fn line_rules(rules: &Rules) -> LineRules<'_> {
    LineRules {
        tolerance: rules.policy.pressure_tolerance.clamp(0.0, 0.02),
        adapters: rules.policy.adapters,
        mates: &rules.mates,
    }
}

fn part_of<'a>(piece: &'a Piece, pieces: &[&Piece]) -> Part<'a> {
    let length = if piece.kind == Kind::Hose {
        counted(piece, &piece.ratings).get(Term::HoseLength).and_then(Rating::quantity)
    } else {
        None
    };
    Part {
        kind: piece.kind,
        hookup: &piece.hookup,
        length_mm: length.filter(|q| q.dimension() == Dimension::Length).map_or(f64::NAN, Quantity::si),
        fixed_to: piece.fixed_to.map(|source| pieces.iter().position(|other| other.id == source)),
    }
}

/// Whether any pack is aboard, in whatever state.
pub(super) fn carries_packs(pieces: &[&Piece]) -> bool {
    pieces.iter().any(|piece| piece.kind == Kind::Battery)
}

/// Battery tools whose packs are not pieces here.
pub(super) fn own_packs(rules: &Rules, pieces: &[&Piece], carries_packs: bool) -> Set {
    if rules.policy.batteries == Batteries::AsPieces {
        return 0;
    }
    fitting(pieces, |piece| {
        let family = piece.hookup.battery.as_deref().filter(|_| piece.kind.is_tool());
        family.is_some_and(|family| is_name(family) && !are_pieces(rules, family, carries_packs))
    })
}

/// Whether the packs of a battery family are pieces.
pub(super) fn are_pieces(rules: &Rules, family: &str, carries_packs: bool) -> bool {
    match rules.policy.batteries {
        Batteries::WithTool => false,
        Batteries::AsPieces => true,
        Batteries::WhereOnRecord => carries_packs || rules.packs_on_record.iter().any(|known| same_name(known, family)),
    }
}

fn fit_a_battery(pieces: &[&Piece]) -> Set {
    let mut families: Vec<&str> = Vec::new();
    for family in pieces
        .iter()
        .filter(|piece| piece.kind.is_tool())
        .filter_map(|piece| piece.hookup.battery.as_deref())
    {
        if !families.contains(&family) && is_name(family) {
            families.push(family);
        }
    }
    fitting(pieces, |piece| {
        let own = piece.hookup.battery.as_deref().filter(|_| matches!(piece.kind, Kind::Battery | Kind::Charger));
        own.is_some_and(|own| families.iter().any(|family| same_name(family, own)))
    })
}
