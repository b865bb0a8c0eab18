//! How a step is written.

use crate::plan::{Applies, Ask, Bound, Drift, Drive, Limit, RatedFigure, Source, Stage, Step};
use fullset_calc::{
    ratings::Gear,
    release::{DefectClass, HOLD_SECONDS, LEAST_STROKE_SECONDS, Measure},
    units::{Dimension, Quantity, Unit},
};

/// A step that is passed with yes; common practice until it names a source.
pub(super) fn yes(id: &str, title: &str, how: &str, fails_as: DefectClass) -> Step {
    Step {
        id: id.to_owned(),
        title: title.to_owned(),
        how: how.to_owned(),
        caution: None,
        ask: Ask::YesNo { sound: true, measure: None },
        stage: Stage::Look,
        optional: false,
        pump_alone: false,
        applies: Applies::default(),
        source: Source::Practice,
        fails_as,
    }
}

/// A step that is passed with one of the first words.
pub(super) fn choice(id: &str, title: &str, how: &str, passing: &[&str], others: &[&str], fails_as: DefectClass) -> Step {
    let words = |list: &[&str]| list.iter().map(|word| (*word).to_owned()).collect::<Vec<_>>();
    let mut options = words(passing);
    options.extend(words(others));
    Step {
        ask: Ask::Choice {
            options,
            passing: words(passing),
        },
        ..yes(id, title, how, fails_as)
    }
}

/// A step that asks for a number.
pub(super) fn number(id: &str, title: &str, how: &str, measure: Measure, limits: Vec<Limit>, fails_as: DefectClass) -> Step {
    let units = match measure.dimension() {
        Some(Dimension::Pressure) => vec![Unit::Psi, Unit::Bar],
        Some(Dimension::Force) => vec![Unit::PoundForce, Unit::Kilonewton],
        Some(Dimension::Time) => vec![Unit::Second],
        _ => Vec::new(),
    };
    Step {
        ask: Ask::Number {
            measure,
            dimension: None,
            units,
            limits,
        },
        ..yes(id, title, how, fails_as)
    }
}

impl Step {
    pub(super) fn from(self, source: &str) -> Self {
        Self {
            source: Source::Published { text: source.to_owned() },
            ..self
        }
    }

    pub(super) fn mind(self, caution: &str) -> Self {
        Self {
            caution: Some(caution.to_owned()),
            ..self
        }
    }

    pub(super) fn running(self) -> Self {
        Self {
            stage: Stage::Function,
            ..self
        }
    }

    pub(super) fn loaded(self) -> Self {
        Self { stage: Stage::Load, ..self }
    }

    pub(super) fn only(self, drives: &[Drive]) -> Self {
        let applies = Applies {
            drives: drives.to_vec(),
            ..self.applies
        };
        Self { applies, ..self }
    }

    pub(super) fn gear(self, gear: &[Gear]) -> Self {
        let applies = Applies {
            gear: gear.to_vec(),
            ..self.applies
        };
        Self { applies, ..self }
    }

    /// The yes or no is a reading that a release or an annual service asks for.
    pub(super) fn reads(self, measure: Measure) -> Self {
        let sound = measure.sound_answer().unwrap_or(true);
        Self {
            ask: Ask::YesNo { sound, measure: Some(measure) },
            ..self
        }
    }
}

/// At least 10 s (DGUV 305-002, 13.2.1).
pub(super) fn held() -> Vec<Limit> {
    vec![Limit::Fixed {
        min: Some(Quantity::new(HOLD_SECONDS, Unit::Second)),
        max: None,
    }]
}

/// Not under 2 s (DGUV 305-002, 13.3.3); the longest is the acceptance test and half as much again (common practice, no source).
pub(super) fn stroke_time() -> Vec<Limit> {
    let least = Limit::Fixed {
        min: Some(Quantity::new(LEAST_STROKE_SECONDS, Unit::Second)),
        max: None,
    };
    let slowest = Limit::Drift { percent: 50, way: Drift::Up };
    vec![least, slowest]
}

/// At least 90 % of what the plate rates.
pub(super) fn most_of(of: RatedFigure) -> Vec<Limit> {
    vec![Limit::ShareOfRating {
        bound: Bound::AtLeast,
        percent: 90,
        of,
    }]
}

/// From 98 % (two prints of one pressure differ by so much; common practice, no source) to 110 % of nominal (DGUV 305-002, 13.3.1).
pub(super) fn nominal() -> Vec<Limit> {
    let of = RatedFigure::NominalPressure;
    let low = Limit::ShareOfRating {
        bound: Bound::AtLeast,
        percent: 98,
        of,
    };
    let high = Limit::ShareOfRating {
        bound: Bound::AtMost,
        percent: 110,
        of,
    };
    vec![low, high]
}
