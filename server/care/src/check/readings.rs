//! What a check leaves on record.

use super::{
    answer::{Answer, StepSaid, fault, number_of},
    facts::KnownReading,
};
use crate::plan::{Ask, PlanSnapshot};
use fullset_calc::release::{Measure, Reading};

/// The readings of a check, as a release or an annual service takes them. Answers that cannot be read leave none.
#[must_use]
pub fn readings(asked: &PlanSnapshot, answers: &[Answer]) -> Vec<Reading> {
    let mut found = Vec::new();
    for answer in answers {
        let Some(step) = asked.steps.iter().find(|step| step.id == answer.step) else {
            continue;
        };
        match (&step.ask, &answer.said) {
            (Ask::Number { measure, .. }, StepSaid::Number { value }) if fault(step, answer).is_none() => found.push(Reading {
                what: if *measure == Measure::Other {
                    Some(step.title.clone())
                } else {
                    answer.why.clone()
                },
                ..Reading::of(*measure, *value)
            }),
            (Ask::YesNo { measure: Some(measure), .. }, StepSaid::YesNo { yes }) => found.push(Reading::said(*measure, *yes)),
            _ => {}
        }
    }
    found
}

/// The values that become the piece's baseline, where the plan says that a pass proves one. Of two answers the later.
#[must_use]
pub fn baseline(asked: &PlanSnapshot, answers: &[Answer]) -> Vec<KnownReading> {
    let mut found: Vec<KnownReading> = Vec::new();
    for answer in answers {
        let step = asked.steps.iter().find(|step| step.id == answer.step);
        let Some((sort, value)) = step.and_then(|step| number_of(step, answer)) else {
            continue;
        };
        match found.iter_mut().find(|known| known.sort == sort) {
            Some(known) => known.value = value,
            None => found.push(KnownReading { sort, value }),
        }
    }
    found
}
