//! What a rating can be at all, and what it usually is.
//!
//! A figure outside of the *possible* range is refused: it is a slip (a wrong unit, a lost decimal sign, a digit too
//! many), and a slip on a pressure or a force can make a rig look able that is not. A figure outside of the *usual* range
//! is read and asked about. The bounds are wide on purpose: they are there for slips, not for judging makers.

use super::{Figure, Kind, Rating, RatingFault, Ratings, Term};
use crate::units::{Quantity, Unit, Units, show_size};

/// What to do about a figure that cannot be.
pub(crate) const LOOK_AGAIN: &str = "look at the plate again: the unit, the decimal sign, the number of digits";

/// The bounds of one kind of figure, in inner units (N, mm, kPa, kg, s, L, L/min, kW); both ends belong to them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Bounds {
    possible: (f64, f64),
    usual: (f64, f64),
    /// Where the bounds come from.
    #[allow(dead_code)] // It is for the reader of the table.
    source: &'static str,
}

const PRACTICE: &str = "common practice, no source";

const fn bounds(possible: (f64, f64), usual: (f64, f64), source: &'static str) -> Bounds {
    Bounds { possible, usual, source }
}

/// Operating or allowable pressure, 50 to 1,500 bar. The lower end is above 720 psi and the upper one below 10,500 bar: a
/// pressure in the other unit's digits cannot pass.
pub(crate) const PRESSURE: Bounds = bounds(
    (5_000.0, 150_000.0),
    (20_000.0, 85_000.0),
    "usual: 350 bar (5,000 psi) to 720 bar (10,500 psi), makers' plates as in the published unit table; possible: common practice, no source",
);

/// Any force that a tool exerts, as the terms below have it.
pub(crate) const FORCE: Bounds = bounds((1e3, 2.5e6), (10e3, 1_000e3), PRACTICE);

/// The bounds of each term, for these kinds; for all kinds where none is named. The first row that fits counts.
const TABLE: &[(Term, &[Kind], Bounds)] = &[
    // EN 13204 (to 2016) has classes from 20 kN to 80 kN and more; NFPA 1936 names no bound.
    (Term::LowestSpreadingForce, &[], bounds((1e3, 2.5e6), (10e3, 200e3), PRACTICE)),
    (Term::HighestSpreadingForce, &[], bounds((1e3, 2.5e6), (20e3, 1_000e3), PRACTICE)),
    (Term::LowestPullingForce, &[], bounds((1e3, 2.5e6), (8e3, 150e3), PRACTICE)),
    (Term::HighestPullingForce, &[], bounds((1e3, 2.5e6), (10e3, 300e3), PRACTICE)),
    (
        Term::RatedSpreadingForce,
        &[],
        bounds(
            (1e3, 2.5e6),
            (20e3, 200e3),
            "usual: EN 13204 classes begin at 20 kN; the rest common practice, no source",
        ),
    ),
    (
        Term::SpreadingDistance,
        &[],
        bounds(
            (50.0, 1_500.0),
            (200.0, 1_000.0),
            "usual: published complements ask for 350 to 800 mm, EN 13204 classes for 500 mm and more; the rest common practice, no source",
        ),
    ),
    (Term::PullingDistance, &[], bounds((50.0, 1_500.0), (150.0, 900.0), PRACTICE)),
    (
        Term::CutterOpening,
        &[],
        bounds(
            (10.0, 600.0),
            (40.0, 350.0),
            "usual: EN 13204 classes part at 150 and 200 mm, a published complement asks 280 mm of a combination tool; the rest common practice, no source",
        ),
    ),
    (Term::MouthDepth, &[], bounds((10.0, 600.0), (30.0, 300.0), PRACTICE)),
    (
        Term::PushForce,
        &[],
        bounds(
            (1e3, 2.5e6),
            (30e3, 400e3),
            "usual: published complements ask for 60 to 100 kN; the rest common practice, no source",
        ),
    ),
    (Term::PushForce2, &[], bounds((1e3, 2.5e6), (20e3, 250e3), PRACTICE)),
    (Term::PushForce3, &[], bounds((1e3, 2.5e6), (10e3, 200e3), PRACTICE)),
    (Term::PullForce, &[], bounds((1e3, 2.5e6), (5e3, 200e3), PRACTICE)),
    (
        Term::RetractedLength,
        &[],
        bounds(
            (100.0, 3_000.0),
            (250.0, 1_000.0),
            "usual: published complements ask for 540 to 1,500 mm; the rest common practice, no source",
        ),
    ),
    (
        Term::ExtendedLength,
        &[],
        bounds(
            (100.0, 3_000.0),
            (350.0, 2_000.0),
            "usual: published complements ask for 540 to 1,500 mm; the rest common practice, no source",
        ),
    ),
    (Term::Stroke, &[], bounds((20.0, 2_900.0), (100.0, 1_300.0), PRACTICE)),
    (Term::RamStages, &[], bounds((1.0, 3.0), (1.0, 3.0), "the terms name three stages")),
    (Term::Mass, &[Kind::PowerUnit], bounds((1.0, 300.0), (8.0, 100.0), PRACTICE)),
    (Term::Mass, &[Kind::Accessory], bounds((0.05, 300.0), (0.1, 60.0), PRACTICE)),
    (Term::Mass, &[Kind::Battery, Kind::Charger], bounds((0.2, 100.0), (0.4, 20.0), PRACTICE)),
    (Term::Mass, &[Kind::Hose], bounds((0.2, 100.0), (0.5, 60.0), PRACTICE)),
    (
        Term::Mass,
        &[],
        bounds(
            (0.2, 100.0),
            (2.0, 40.0),
            "usual: EN 13204 designations of 17 to 26 kg; the rest common practice, no source",
        ),
    ),
    (
        Term::HoseLength,
        &[],
        bounds(
            (300.0, 100_000.0),
            (1_500.0, 40_000.0),
            "usual: a published complement asks for 10 m; the rest common practice, no source",
        ),
    ),
    (Term::RunTime, &[], bounds((30.0, 172_800.0), (300.0, 28_800.0), PRACTICE)),
    (Term::TankVolume, &[], bounds((0.05, 200.0), (0.3, 30.0), PRACTICE)),
    (Term::Flow, &[], bounds((0.02, 100.0), (0.2, 20.0), PRACTICE)),
    (Term::Power, &[], bounds((0.02, 100.0), (0.3, 20.0), PRACTICE)),
];

/// A figure written in another unit and back may not fall out of its bounds by that.
const ROUND_TRIP: f64 = 1e-9;

fn within((low, high): (f64, f64), si: f64) -> bool {
    si >= low * (1.0 - ROUND_TRIP) && si <= high * (1.0 + ROUND_TRIP)
}

impl Bounds {
    pub(crate) fn of(term: Term, kind: Kind) -> Option<&'static Self> {
        let row = TABLE.iter().find(|(of, kinds, _)| *of == term && (kinds.is_empty() || kinds.contains(&kind)));
        row.map(|(.., bounds)| bounds)
    }

    /// What is possible, for figures that no plate has.
    pub(crate) const fn between(low: f64, high: f64) -> Self {
        bounds((low, high), (low, high), PRACTICE)
    }

    /// Why this cannot be, whatever it is of, where it cannot.
    pub(crate) fn beyond(&self, q: Quantity) -> Option<String> {
        (!within(self.possible, q.si())).then(|| format!("{} is not possible: it lies between {}", typed(q), span(self.possible, q.unit)))
    }

    /// Whether all that is possible lies below this.
    pub(crate) fn is_below(&self, q: Quantity) -> bool {
        q.si() > self.possible.1 * (1.0 + ROUND_TRIP)
    }

    /// Why this cannot be, where it cannot.
    pub(crate) fn impossible(&self, kind: Kind, what: &str, q: Quantity) -> Option<String> {
        (!within(self.possible, q.si())).then(|| {
            let (typed, span) = (typed(q), span(self.possible, q.unit));
            format!("{what} {typed} is not possible for {}: it lies between {span}", one(kind))
        })
    }

    /// Why somebody should look again, where somebody should.
    pub(crate) fn unusual(&self, kind: Kind, what: &str, q: Quantity) -> Option<String> {
        (within(self.possible, q.si()) && !within(self.usual, q.si())).then(|| {
            let (typed, span) = (typed(q), span(self.usual, q.unit));
            format!("{what} {typed} is unusual for {}: most lie between {span}", one(kind))
        })
    }
}

/// "a cutter", "an accessory".
fn one(kind: Kind) -> String {
    let article = if kind == Kind::Accessory { "an" } else { "a" };
    format!("{article} {}", kind.word())
}

fn typed(q: Quantity) -> String {
    if q.unit == Unit::Stage {
        return q.value.to_string();
    }
    if q.value.abs() >= 1e9 {
        return format!("{:e} {}", q.value, q.unit.symbol());
    }
    format!("{} {}", q.value, q.unit.symbol())
}

/// "10 mm and 600 mm", in the habit of the typed unit.
fn span((low, high): (f64, f64), unit: Unit) -> String {
    if unit == Unit::Stage {
        return format!("{low} and {high}");
    }
    let habit = if unit.is_us() { Units::Us } else { Units::Si };
    let shown = |si| show_size(si, unit.dimension(), habit);
    format!("{} and {}", shown(low), shown(high))
}

/// By how much a stroke may differ from the extended less the retracted length: makers round each figure by itself
/// (common practice, no source).
const STROKE_SHARE: f64 = 0.02;
const STROKE_MM: f64 = 10.0;

fn fault(term: Term, code: &'static str, reason: String, hint: &str) -> RatingFault {
    RatingFault {
        term,
        code,
        reason,
        hint: Some(hint.to_owned()),
    }
}

impl Ratings {
    /// Figures that are measured in their term's own dimension, in inner units.
    fn size(&self, term: Term) -> Option<f64> {
        let q = self.get(term).and_then(Rating::quantity)?;
        (Some(q.dimension()) == term.dimension()).then(|| q.si())
    }

    fn measured(&self) -> impl Iterator<Item = (Term, Quantity)> {
        self.iter().filter_map(|(term, rating)| match rating.figure {
            Figure::Quantity(q) if Some(q.dimension()) == term.dimension() && q.value > 0.0 => Some((term, q)),
            _ => None,
        })
    }

    /// Figures that no piece of this kind can have.
    pub(super) fn impossible(&self, kind: Kind) -> Vec<RatingFault> {
        let out = self.measured().filter_map(|(term, q)| {
            if term == Term::RamStages && q.value.fract() != 0.0 {
                return Some(fault(term, "not-possible", format!("{} is not a whole number", typed(q)), "write 1, 2 or 3"));
            }
            let reason = Bounds::of(term, kind)?.impossible(kind, term.label(), q)?;
            Some(fault(term, "not-possible", reason, LOOK_AGAIN))
        });
        out.collect()
    }

    /// Figures that one piece cannot have together.
    pub(super) fn contradictions(&self) -> Vec<RatingFault> {
        let mut faults = Vec::new();
        for (low, high) in [
            (Term::LowestSpreadingForce, Term::HighestSpreadingForce),
            (Term::LowestPullingForce, Term::HighestPullingForce),
        ] {
            if let (Some(a), Some(b)) = (self.size(low), self.size(high))
                && a > b
            {
                let reason = format!("{} is above {}", low.label(), high.label());
                faults.push(fault(low, "lowest-above-highest", reason, "the two may have been swapped"));
            }
        }
        self.lengths(&mut faults);
        self.stages(&mut faults);
        faults
    }

    fn lengths(&self, faults: &mut Vec<RatingFault>) {
        let (retracted, extended) = (self.size(Term::RetractedLength), self.size(Term::ExtendedLength));
        if let (Some(a), Some(b)) = (retracted, extended)
            && a >= b
        {
            let reason = "retracted length is not below extended length".to_owned();
            faults.push(fault(Term::RetractedLength, "lowest-above-highest", reason, "the two may have been swapped"));
            return;
        }
        let (Some(stroke), Some(extended)) = (self.size(Term::Stroke), extended) else {
            return;
        };
        if stroke >= extended {
            let reason = "stroke is not below extended length".to_owned();
            faults.push(fault(
                Term::Stroke,
                "stroke-too-long",
                reason,
                "the stroke is the extended less the retracted length",
            ));
        } else if let Some(retracted) = retracted
            && (stroke - (extended - retracted)).abs() > (STROKE_SHARE * extended).max(STROKE_MM)
        {
            let reason = "stroke is not the extended less the retracted length".to_owned();
            faults.push(fault(
                Term::Stroke,
                "stroke-differs",
                reason,
                "look at all three again, or leave the stroke out",
            ));
        }
    }

    /// A later stage of a telescopic ram is the narrower piston: at one pressure it pushes less (F = p A).
    fn stages(&self, faults: &mut Vec<RatingFault>) {
        let terms = [(1.0, Term::PushForce), (2.0, Term::PushForce2), (3.0, Term::PushForce3)];
        let mut before: Option<(Term, f64)> = None;
        for (_, term) in terms {
            let Some(force) = self.size(term) else { continue };
            if let Some((first, most)) = before
                && force > most * (1.0 + ROUND_TRIP)
            {
                let reason = format!("{} is above {}", term.label(), stage_words(first));
                faults.push(fault(
                    term,
                    "stages-out-of-order",
                    reason,
                    "give the first stage first: it pushes with the greatest force",
                ));
            }
            before = Some((term, force));
        }
        if let Some(count) = self.size(Term::RamStages)
            && let Some((_, term)) = terms.into_iter().find(|(stage, term)| *stage > count && self.get(*term).is_some())
        {
            let reason = format!("{} is given, but the ram is said to have {count} stages or fewer", term.label());
            faults.push(fault(
                Term::RamStages,
                "stages-contradict",
                reason,
                "correct the number of stages, or leave the force out",
            ));
        }
    }

    /// What is possible but so unusual that somebody should look at the plate again. Only of what has no fault.
    #[must_use]
    pub fn warnings(&self, kind: Kind) -> Vec<RatingFault> {
        self.measured()
            .filter_map(|(term, q)| Some(fault(term, "unusual", Bounds::of(term, kind)?.unusual(kind, term.label(), q)?, LOOK_AGAIN)))
            .collect()
    }
}

fn stage_words(term: Term) -> &'static str {
    if term == Term::PushForce {
        "that of the first stage"
    } else {
        "that of the stage before"
    }
}

#[cfg(test)]
#[path = "plausible_tests.rs"]
mod tests;
