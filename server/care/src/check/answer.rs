//! What was answered, and whether it can be read at all.

use super::facts::Sort;
use crate::{
    Fault,
    plan::{Ask, PlanSnapshot, Step},
};
use fullset_calc::{
    release::{Evidence, Measure, Reading},
    units::{Quantity, Unit},
};
use serde::{Deserialize, Serialize};

/// The most answers of one check: each step once, and once more by somebody who did not see that it was done.
pub const MOST_ANSWERS: usize = 120;
/// The longest note, in characters.
pub const MOST_NOTE: usize = 1_000;

/// What was said.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case", deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = StepSaid))]
pub enum StepSaid {
    /// To a yes or no.
    YesNo {
        /// Whether the answer is yes.
        yes: bool,
    },
    /// One of the words.
    Choice {
        /// The option that was chosen.
        #[cfg_attr(feature = "openapi", schema(max_length = 40))]
        option: String,
    },
    /// A number with its unit.
    Number {
        /// The reading, with its unit.
        value: Quantity,
    },
    /// A photo.
    Photo {
        /// The name of the photo: its SHA-256.
        #[cfg_attr(feature = "openapi", schema(max_length = 64))]
        photo: String,
    },
    /// A few words.
    Note {
        /// 1 to 1,000 characters.
        #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 1000))]
        text: String,
    },
}

/// The answer to one step.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckAnswer))]
pub struct Answer {
    /// The id of the step.
    #[cfg_attr(feature = "openapi", schema(max_length = 40))]
    pub step: String,
    /// What was said to the step, of the kind that the step asks for.
    pub said: StepSaid,
    /// Whether it was taken over from an earlier check ("same as last time"). A number never is: somebody reads it now.
    #[serde(default)]
    pub copied: bool,
    /// Of a number beyond all measure: why it was so all the same. Up to 200 characters.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(max_length = 200))]
    pub why: Option<String>,
}

/// What of these answers cannot be taken. A step that was answered twice can: two members may have done it, and the worse counts.
#[must_use]
pub fn faults(asked: &PlanSnapshot, answers: &[Answer]) -> Vec<Fault> {
    if answers.len() > MOST_ANSWERS {
        return vec![Fault::new("answers", format!("{} answers; a check has {MOST_ANSWERS} at most", answers.len()))];
    }
    let mut found = Vec::new();
    for (n, answer) in answers.iter().enumerate() {
        let step = asked.steps.iter().find(|step| step.id == answer.step);
        let fault = step.map_or_else(
            || Some(("step", format!("this check has no step \"{}\"", answer.step))),
            |step| fault(step, answer),
        );
        found.extend(fault.map(|(field, words)| Fault::new(format!("answers[{n}].{field}"), words)));
    }
    found
}

/// Why an answer cannot be taken for a step.
pub(super) fn fault(step: &Step, answer: &Answer) -> Option<(&'static str, String)> {
    let title = &step.title;
    if answer.copied && matches!(step.ask, Ask::Number { .. } | Ask::Photo) {
        return Some(("copied", format!("{title}: read it now, the last one does not count for today")));
    }
    if answer.why.as_ref().is_some_and(|why| why.chars().count() > 200) {
        return Some(("why", format!("{title}: this is longer than 200 characters")));
    }
    match (&step.ask, &answer.said) {
        (Ask::YesNo { .. }, StepSaid::YesNo { .. }) | (Ask::Photo, StepSaid::Photo { .. }) => None,
        (Ask::Choice { options, .. }, StepSaid::Choice { option }) => {
            (!options.contains(option)).then(|| ("said.option", format!("{title}: choose one of {}", options.join(", "))))
        }
        (Ask::Note, StepSaid::Note { text }) => match text.chars().count() {
            _ if text.trim().is_empty() => Some(("said.text", format!("{title}: write something"))),
            long if long > MOST_NOTE => Some(("said.text", format!("{title}: {long} characters; write {MOST_NOTE} at most"))),
            _ => None,
        },
        (Ask::Number { measure, .. }, StepSaid::Number { value }) => number(step, *measure, *value, answer.why.as_deref()).map(|words| ("said.value", words)),
        (Ask::YesNo { .. }, _) => Some(("said", format!("{title}: answer yes or no"))),
        (Ask::Choice { .. }, _) => Some(("said", format!("{title}: choose a word"))),
        (Ask::Number { .. }, _) => Some(("said", format!("{title}: write the value with its unit"))),
        (Ask::Photo, _) => Some(("said", format!("{title}: take a photo"))),
        (Ask::Note, _) => Some(("said", format!("{title}: write a note"))),
    }
}

fn number(step: &Step, measure: Measure, value: Quantity, why: Option<&str>) -> Option<String> {
    let of = step.ask.dimension()?;
    if value.dimension() != of {
        // Converting says what is wrong with the unit.
        let wanted = Unit::ALL.iter().find(|unit| unit.dimension() == of)?;
        return value.to(*wanted).err().map(|fault| format!("{}: {}", step.title, fault.reason));
    }
    // Of a measure that has no unit of its own the title says what it is.
    let what = if measure == Measure::Other { Some(step.title.as_str()) } else { why };
    let reading = Reading {
        what: what.map(str::to_owned),
        ..Reading::of(measure, value)
    };
    let evidence = Evidence {
        readings: vec![reading],
        ..Evidence::default()
    };
    evidence.faults().into_iter().next().map(|fault| format!("{}: {}", step.title, fault.words))
}

/// The number that a step was answered with, where it can be read.
pub(super) fn number_of(step: &Step, answer: &Answer) -> Option<(Sort, Quantity)> {
    match (&step.ask, &answer.said) {
        (Ask::Number { measure, .. }, StepSaid::Number { value }) if fault(step, answer).is_none() => Some((Sort::of(*measure, &step.id), *value)),
        _ => None,
    }
}
