//! Which pieces suit the parts of grades and the slots of lists: their kind, and ratings that count.

use super::board::{GradeFit, PartFit};
use super::grade::{Drive, Grade, Part as Asked};
use super::input::{Piece, RatedAt, Rules};
use super::wire::Level;
use crate::hookup::{Lines, OutletKind};
use crate::ratings::{Gear, Kind, Rating, Ratings, Term};
use crate::sets::{self, Set};
use crate::units::{Dimension, Quantity};
use std::borrow::Cow;

/// From the retracted to the extended length of a ram, in mm.
pub(super) type Span = (f64, f64);

/// The retracted and extended length in these ratings of a piece, where both are known and count.
pub(super) fn span(piece: &Piece, ratings: &Ratings) -> Option<Span> {
    let counted = counted(piece, ratings);
    let size = |term| {
        counted
            .get(term)
            .and_then(Rating::quantity)
            .filter(|q| q.dimension() == Dimension::Length)
            .map(Quantity::si)
    };
    Some((size(Term::RetractedLength)?, size(Term::ExtendedLength)?))
}

/// The ratings of a piece that count: none that an open defect takes away.
pub(super) fn counted<'p>(piece: &Piece, ratings: &'p Ratings) -> Cow<'p, Ratings> {
    let lost: Vec<Term> = piece.limits.iter().flat_map(|limit| limit.without.iter().copied()).collect();
    if lost.is_empty() {
        return Cow::Borrowed(ratings);
    }
    Cow::Owned(
        ratings
            .iter()
            .filter(|(term, _)| !lost.contains(term))
            .map(|(term, rating)| (term, rating.clone()))
            .collect(),
    )
}

/// Whether a piece of the right kind is what is asked for.
pub(super) fn meets(piece: &Piece, gear: Option<Gear>, minimums: &Ratings, ratings: &Ratings) -> bool {
    (piece.kind != Kind::Accessory || (gear.is_some() && gear == piece.gear)) && (minimums.is_empty() || counted(piece, ratings).meet_all(minimums))
}

/// The pieces of each kind.
pub(super) struct ByKind<'l, 'a> {
    pieces: &'l [&'a Piece],
    of: Vec<(Kind, Set)>,
}

impl<'l, 'a> ByKind<'l, 'a> {
    pub(super) fn of(pieces: &'l [&'a Piece]) -> Self {
        let mut of: Vec<(Kind, Set)> = Vec::with_capacity(16);
        for (i, piece) in pieces.iter().enumerate() {
            match of.iter_mut().find(|(kind, _)| *kind == piece.kind) {
                Some((_, set)) => *set |= sets::one(i),
                None => of.push((piece.kind, sets::one(i))),
            }
        }
        Self { pieces, of }
    }

    /// The pieces of these kinds that pass, as a set.
    pub(super) fn fitting(&self, kinds: &[Kind], test: impl Fn(&Piece) -> bool) -> Set {
        let all = self.of.iter().filter(|(kind, _)| kinds.contains(kind)).fold(0, |all, (_, set)| all | set);
        let passing = sets::each(all).filter(|i| self.pieces.get(*i).is_some_and(|piece| test(piece)));
        passing.fold(0, |set, i| set | sets::one(i))
    }
}

/// The ratings that are stated for the lower pressure of some outlet: outlet, piece and ratings, by outlet.
pub(super) struct Lower<'a>(Vec<(usize, usize, &'a Piece, &'a Ratings)>);

impl<'a> Lower<'a> {
    pub(super) fn of(pieces: &[&'a Piece], lines: &Lines, rules: &Rules) -> Self {
        let stating = pieces.iter().copied().enumerate().filter(|(_, piece)| !piece.rated_at.is_empty());
        let stated = stating.flat_map(|(i, piece)| {
            let outlets = lines.outlets().iter().enumerate();
            outlets.filter_map(move |(outlet, kind)| Some((outlet, i, piece, rated_at(piece, kind, rules)?)))
        });
        Self(stated.collect())
    }

    /// Of each kind of outlet: the pieces that meet a part with the ratings stated for it. Empty where no piece has any.
    pub(super) fn fitting(&self, part: &Asked, outlets: usize) -> Vec<Set> {
        if self.0.is_empty() {
            return Vec::new();
        }
        let mut all = vec![0; outlets];
        for (outlet, i, piece, ratings) in &self.0 {
            if part.kinds.contains(&piece.kind)
                && meets(piece, part.gear, &part.minimums, ratings)
                && let Some(set) = all.get_mut(*outlet)
            {
                *set |= sets::one(*i);
            }
        }
        all
    }
}

pub(super) fn grade_fit<'a>(level: Level, grade: &'a Grade, by_kind: &ByKind<'_, '_>, lower: &Lower<'_>, lines: &Lines) -> GradeFit<'a> {
    let mut parts = Vec::with_capacity(8);
    let mut ways = Vec::with_capacity(grade.needs.len());
    for (need, asked) in grade.needs.iter().enumerate() {
        let mut of_need = Vec::with_capacity(asked.alternatives.len());
        for (alternative, way) in asked.alternatives.iter().enumerate() {
            let first = parts.len();
            parts.extend(way.parts.iter().map(|part| part_fit(part, (need, alternative), grade, by_kind, lower, lines)));
            of_need.push(first..parts.len());
        }
        ways.push(of_need);
    }
    let with_a_tool = |parts: &[Asked]| parts.iter().any(|part| !part.kinds.contains(&Kind::Accessory));
    GradeFit {
        level,
        grade,
        any: parts.iter().fold(0, |all, part: &PartFit<'_>| all | part.any),
        parts,
        ways,
        least_mm: grade.line_length.map_or(0.0, Quantity::si),
        needs_a_tool: grade.needs.iter().any(|need| need.alternatives.iter().all(|way| with_a_tool(&way.parts))),
    }
}

fn part_fit<'a>(
    part: &'a Asked,
    (need, alternative): (usize, usize),
    grade: &Grade,
    by_kind: &ByKind<'_, '_>,
    lower: &Lower<'_>,
    lines: &Lines,
) -> PartFit<'a> {
    let suits = by_kind.fitting(&part.kinds, |piece| meets(piece, part.gear, &part.minimums, &piece.ratings));
    let below = lower.fitting(part, lines.outlets().len());
    let (outlets, battery) = drives(part, grade, lines);
    PartFit {
        part,
        need,
        alternative,
        suits,
        any: below.iter().fold(suits, |all, set| all | set),
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

/// A round trip through another unit may not tell two pressures apart.
const ROUND_TRIP: f64 = 1e-9;

/// What a tool is rated for at the pressure of an outlet that is not its rated one.
pub(super) fn rated_at<'p>(piece: &'p Piece, outlet: &OutletKind, rules: &Rules) -> Option<&'p Ratings> {
    stated_at(piece, outlet, rules).map(|stated| &stated.ratings)
}

/// What its maker states for that pressure, with the pressure.
pub(super) fn stated_at<'p>(piece: &'p Piece, outlet: &OutletKind, rules: &Rules) -> Option<&'p RatedAt> {
    let tolerance = rules.policy.pressure_tolerance.clamp(0.0, 0.02);
    let (low, high) = (outlet.kpa * (1.0 - tolerance - ROUND_TRIP), outlet.kpa * (1.0 + tolerance + ROUND_TRIP));
    piece
        .rated_at
        .iter()
        .find(|stated| stated.pressure.dimension() == Dimension::Pressure && (low..=high).contains(&stated.pressure.si()))
}
