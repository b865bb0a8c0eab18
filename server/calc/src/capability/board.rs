//! A rig prepared for questions: pieces as bits in tag order, lines worked out, ratings already compared.

use super::confirm;
use super::grade::{Drive, Grade, Part as Asked};
use super::input::{Batteries, Piece, Rig, Rules, Slot};
use super::wire::Level;
use crate::hookup::{LineRules, Lines, OutletKind, Part};
use crate::ratings::{Kind, Rating, Ratings, Term};
use crate::sets::{self, CAPACITY, Set};
use chrono::{DateTime, Utc};
use std::borrow::Cow;
use std::cell::Cell;

/// One part of a grade, with the pieces that suit it, in whatever state.
pub(super) struct PartFit<'a> {
    pub part: &'a Asked,
    /// Its need, and its alternative there.
    pub need: usize,
    pub alternative: usize,
    /// Pieces of its kinds that meet its minimums at their rated pressure.
    pub suits: Set,
    /// Of each kind of outlet: tools that meet them with the ratings stated for that outlet's lower pressure.
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
    /// The least length of a line in mm; 0: any.
    pub least_mm: f64,
}

impl GradeFit<'_> {
    /// The parts of an alternative.
    pub(super) fn parts_of(&self, need: usize, alternative: usize) -> impl Iterator<Item = (usize, &PartFit<'_>)> {
        self.parts.iter().enumerate().filter(move |(_, p)| p.need == need && p.alternative == alternative)
    }
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
}

/// The ratings of a piece that count: none that an open defect takes away.
pub(super) fn counted<'p>(piece: &Piece, ratings: &'p Ratings) -> Cow<'p, Ratings> {
    let lost: Vec<Term> = piece.limits.iter().flat_map(|limit| limit.without.iter().copied()).collect();
    if lost.is_empty() {
        return Cow::Borrowed(ratings);
    }
    Cow::Owned(ratings.iter().filter(|(term, _)| !lost.contains(term)).map(|(term, rating)| (term, rating.clone())).collect())
}

fn meets(piece: &Piece, kinds: &[Kind], gear: Option<crate::ratings::Gear>, minimums: &Ratings, ratings: &Ratings) -> bool {
    kinds.contains(&piece.kind)
        && (piece.kind != Kind::Accessory || (gear.is_some() && gear == piece.gear))
        && (minimums.is_empty() || counted(piece, ratings).meet_all(minimums))
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
        let lines = Lines::new(&parts, &line_rules(rules));
        let own_pack = own_packs(rules, &pieces);
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
            .map(|slot| fitting(&pieces, |piece| meets(piece, &slot.kinds, slot.gear, &slot.minimums, &piece.ratings)))
            .collect();
        let grades = rules.grades.as_deref().map_or_else(Vec::new, |grades| {
            grades.each().map(|(level, grade)| grade_fit(level, grade, &pieces, &lines, rules)).collect()
        });
        Self {
            rules,
            slots,
            kinds: pieces.iter().map(|piece| piece.kind).collect(),
            pieces,
            lines,
            usable,
            confirmed,
            own_pack,
            suits,
            grades,
            is_out: rig.out_of_service.is_some(),
            left_out,
            steps: Cell::new(0),
            cut: Cell::new(false),
        }
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

    /// Whether two pieces can stand for each other in everything that a level asks.
    pub(super) fn alike(&self, a: usize, b: usize) -> bool {
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
        if self.kinds.get(a) != Some(&Kind::Ram) {
            return true;
        }
        let lengths = |i: usize| {
            let piece = self.piece(i)?;
            let size = |term| counted(piece, &piece.ratings).get(term).and_then(Rating::quantity).map(crate::units::Quantity::si);
            Some((size(Term::RetractedLength), size(Term::ExtendedLength)))
        };
        lengths(a) == lengths(b)
    }

    /// Pieces that could matter to a level at all.
    pub(super) fn matters(&self) -> Set {
        let lines = &self.lines;
        let asked = self.grades.iter().flat_map(|grade| grade.parts.iter()).fold(0, |set, part| {
            part.below.iter().fold(set | part.suits, |set, below| set | below)
        });
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
    let length = piece.ratings.get(Term::HoseLength).and_then(Rating::quantity);
    Part {
        kind: piece.kind,
        hookup: &piece.hookup,
        length_mm: length.map_or(f64::NAN, crate::units::Quantity::si),
        fixed_to: piece.fixed_to.map(|source| pieces.iter().position(|other| other.id == source)),
    }
}

/// Battery tools whose packs are not pieces here.
fn own_packs(rules: &Rules, pieces: &[&Piece]) -> Set {
    let carries_packs = pieces.iter().any(|piece| piece.kind == Kind::Battery);
    fitting(pieces, |piece| {
        let Some(family) = piece.hookup.battery.as_deref().filter(|_| piece.kind.is_tool()) else {
            return false;
        };
        match rules.policy.batteries {
            Batteries::WithTool => true,
            Batteries::AsPieces => false,
            Batteries::WhereOnRecord => {
                let folded = crate::hookup::fold(family);
                !carries_packs && !rules.packs_on_record.iter().any(|known| crate::hookup::fold(known) == folded)
            }
        }
    })
}

fn grade_fit<'a>(level: Level, grade: &'a Grade, pieces: &[&Piece], lines: &Lines, rules: &Rules) -> GradeFit<'a> {
    let mut parts = Vec::new();
    for (need, asked) in grade.needs.iter().enumerate() {
        for (alternative, way) in asked.alternatives.iter().enumerate() {
            parts.extend(way.parts.iter().map(|part| part_fit(part, (need, alternative), grade, pieces, lines, rules)));
        }
    }
    GradeFit {
        level,
        grade,
        parts,
        least_mm: grade.line_length.map_or(0.0, crate::units::Quantity::si),
    }
}

fn part_fit<'a>(part: &'a Asked, (need, alternative): (usize, usize), grade: &Grade, pieces: &[&Piece], lines: &Lines, rules: &Rules) -> PartFit<'a> {
    let suits = fitting(pieces, |piece| meets(piece, &part.kinds, part.gear, &part.minimums, &piece.ratings));
    let states_lower = pieces.iter().any(|piece| !piece.rated_at.is_empty());
    let below = lines
        .outlets()
        .iter()
        .map(|outlet| {
            if states_lower {
                fitting(pieces, |piece| {
                    rated_at(piece, outlet, rules).is_some_and(|ratings| meets(piece, &part.kinds, part.gear, &part.minimums, ratings))
                })
            } else {
                0
            }
        })
        .collect();
    let (outlets, battery) = drives(part, grade, lines);
    PartFit {
        part,
        need,
        alternative,
        suits,
        below,
        outlets,
        battery,
    }
}

/// The kinds of outlet that may drive a part, and whether a battery may.
pub(super) fn drives(part: &Asked, grade: &Grade, lines: &Lines) -> (u32, bool) {
    let named = |drive: Drive| part.drives.contains(&drive);
    let may = |drive: Drive| {
        if part.drives.is_empty() {
            drive != Drive::HandPump || grade.hand_pump
        } else {
            named(drive)
        }
    };
    let outlets = lines.outlets().iter().enumerate().fold(0, |mask, (i, outlet)| {
        let drive = if outlet.drive == Kind::HandPump { Drive::HandPump } else { Drive::PowerUnit };
        if may(drive) { mask | sets::mask(i) } else { mask }
    });
    (outlets, may(Drive::Battery))
}

/// What a tool is rated for at the pressure of an outlet that is not its rated one.
pub(super) fn rated_at<'p>(piece: &'p Piece, outlet: &OutletKind, rules: &Rules) -> Option<&'p Ratings> {
    let tolerance = rules.policy.pressure_tolerance.clamp(0.0, 0.02);
    piece
        .rated_at
        .iter()
        .find(|stated| {
            let kpa = stated.pressure.si();
            kpa <= outlet.kpa * (1.0 + tolerance) && kpa >= outlet.kpa * (1.0 - tolerance)
        })
        .map(|stated| &stated.ratings)
}
