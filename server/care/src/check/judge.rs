//! The steps and the whole.

use super::{
    answer::{self, Answer, StepSaid, number_of},
    facts::{Facts, Sort},
    hold::{LimitCheck, hold},
    order::may_load,
    trend::{Trend, trend},
};
use crate::plan::{Ask, Limit, PlanSnapshot, Step};
use fullset_calc::{release::DefectClass, units::Quantity};
use serde::{Deserialize, Serialize};

/// What one step shows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "result", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum StepResult {
    /// It is in order.
    Passed,
    /// It is not.
    Failed {
        /// What is not in order, in words.
        why: String,
        /// The class of the defect.
        class: DefectClass,
    },
    /// It was answered, and whether that is in order nobody can say.
    Unknown {
        /// What is missing, and what to enter.
        why: String,
    },
    /// Nobody has answered it so that it counts.
    NotAnswered {
        /// What to do.
        why: String,
    },
    /// Such a piece is not asked that.
    NotAsked,
}

/// One step with what it shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct StepVerdict {
    /// The id of the step.
    pub step: String,
    /// Whether the step is in order, and why not.
    #[serde(flatten)]
    pub result: StepResult,
    /// How its reading moves, where there were earlier ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub trend: Option<Trend>,
}

/// What the check shows as a whole. Of several the worst: failed, not complete, unknown, passed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckOutcome))]
pub enum Outcome {
    /// Every step that it takes is in order.
    Passed,
    /// A step is not in order.
    Failed,
    /// Every step was answered, and of one nobody can say whether it is in order. It is no pass.
    Unknown,
    /// A step that it takes is not answered. It is no pass.
    NotComplete,
}

/// What a check shows.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckVerdict))]
pub struct Verdict {
    /// What the check shows as a whole; the worst of its steps decides.
    pub outcome: Outcome,
    /// Step by step, in the order of the plan.
    pub steps: Vec<StepVerdict>,
    /// The classes of the defects that it found, each once.
    pub classes: Vec<DefectClass>,
    /// For the person who checks: "Not passed: Blades: no, and must be yes".
    pub words: String,
}

/// What these answers show of a piece. `facts.earlier` is for the trend only and never decides.
#[must_use]
pub fn judge(asked: &PlanSnapshot, answers: &[Answer], facts: &Facts<'_>) -> Verdict {
    let steps: Vec<StepVerdict> = asked.steps.iter().map(|step| one(asked, step, answers, facts)).collect();
    let mut classes = Vec::new();
    let (mut failed, mut open, mut unknown) = (Vec::new(), Vec::new(), Vec::new());
    for (step, verdict) in asked.steps.iter().zip(&steps) {
        match &verdict.result {
            StepResult::Failed { why, class } => {
                failed.push(format!("{}: {why}", step.title));
                if !classes.contains(class) {
                    classes.push(*class);
                }
            }
            StepResult::Unknown { why } => unknown.push(format!("{}: {why}", step.title)),
            StepResult::NotAnswered { why } if !step.optional => open.push(format!("{}: {why}", step.title)),
            StepResult::NotAnswered { .. } | StepResult::Passed | StepResult::NotAsked => {}
        }
    }
    let taken = asked
        .steps
        .iter()
        .zip(&steps)
        .any(|(step, verdict)| !step.optional && verdict.result == StepResult::Passed);
    let (outcome, words) = if !failed.is_empty() {
        (Outcome::Failed, format!("Not passed: {}", failed.join("; ")))
    } else if !open.is_empty() {
        (Outcome::NotComplete, format!("Not complete: {}", open.join("; ")))
    } else if !unknown.is_empty() {
        (Outcome::Unknown, format!("Cannot be said: {}", unknown.join("; ")))
    } else if taken {
        (Outcome::Passed, "Passed".to_owned())
    } else {
        (Outcome::NotComplete, "Not complete: nothing in this check is asked of such a piece".to_owned())
    };
    Verdict {
        outcome,
        steps,
        classes,
        words,
    }
}

fn one(asked: &PlanSnapshot, step: &Step, answers: &[Answer], facts: &Facts<'_>) -> StepVerdict {
    let mut verdict = StepVerdict {
        step: step.id.clone(),
        result: StepResult::NotAsked,
        trend: None,
    };
    if !step.applies.has(facts.drive, facts.gear) {
        return verdict;
    }
    let found = alone(asked, step, answers, facts);
    // A good result that should not have been sought yet does not count; a bad one is not forgotten for that.
    verdict.result = match (found, may_load(asked, step, answers, facts)) {
        (failed @ StepResult::Failed { .. }, _) | (failed, Ok(())) => failed,
        (_, Err(why)) => StepResult::NotAnswered { why },
    };
    let last = answers.iter().rev().filter(|answer| answer.step == step.id);
    verdict.trend = last.filter_map(|answer| number_of(step, answer)).next().and_then(|(sort, value)| {
        let limits: &[Limit] = match &step.ask {
            Ask::Number { limits, .. } => limits,
            _ => &[],
        };
        trend(facts.earlier, &sort, value, limits, facts)
    });
    verdict
}

/// What a step shows by itself, whatever the order. Of two answers the worse.
pub(super) fn alone(asked: &PlanSnapshot, step: &Step, answers: &[Answer], facts: &Facts<'_>) -> StepResult {
    if !asked.steps.iter().any(|known| known.id == step.id) {
        return StepResult::NotAsked;
    }
    let results = answers
        .iter()
        .filter(|answer| answer.step == step.id)
        .map(|answer| answered(step, answer, facts));
    let rank = |result: &StepResult| match result {
        StepResult::Failed { .. } => 0,
        StepResult::Unknown { .. } => 1,
        StepResult::Passed => 2,
        StepResult::NotAnswered { .. } => 3,
        StepResult::NotAsked => 4,
    };
    results.min_by_key(rank).unwrap_or_else(|| StepResult::NotAnswered {
        why: "not done yet".to_owned(),
    })
}

fn answered(step: &Step, answer: &Answer, facts: &Facts<'_>) -> StepResult {
    if let Some((_, why)) = answer::fault(step, answer) {
        return StepResult::NotAnswered { why };
    }
    let failed = |why: String| StepResult::Failed { why, class: step.fails_as };
    match (&step.ask, &answer.said) {
        (Ask::YesNo { sound, .. }, StepSaid::YesNo { yes }) if sound == yes => StepResult::Passed,
        (Ask::YesNo { sound: true, .. }, _) => failed("no, and must be yes".to_owned()),
        (Ask::YesNo { sound: false, .. }, _) => failed("yes, and must be no".to_owned()),
        (Ask::Choice { passing, .. }, StepSaid::Choice { option }) if passing.contains(option) => StepResult::Passed,
        (Ask::Choice { passing, .. }, StepSaid::Choice { option }) => failed(format!("{option}, and must be {}", passing.join(" or "))),
        (Ask::Number { measure, limits, .. }, StepSaid::Number { value }) => keeps(&Sort::of(*measure, &step.id), step, *value, limits, facts),
        _ => StepResult::Passed,
    }
}

fn keeps(sort: &Sort, step: &Step, value: Quantity, limits: &[Limit], facts: &Facts<'_>) -> StepResult {
    let mut unknown = None;
    for limit in limits {
        match hold(limit, sort, &step.title, value, facts) {
            LimitCheck::Within => {}
            LimitCheck::Beyond(why) => {
                return StepResult::Failed { why, class: step.fails_as };
            }
            LimitCheck::Unknown(why) => unknown = unknown.or(Some(why)),
        }
    }
    unknown.map_or(StepResult::Passed, |why| StepResult::Unknown { why })
}
