//! The next version of a plan, and what a change loosens: a plan that asks less lets pieces count that did not.

use super::{Ask, Bound, CheckPlan, Limit, Rhythm, Step};
use crate::Fault;
use serde::{Deserialize, Serialize};

/// What a change of a plan asks less of: where, and in words.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Loosened {
    /// The field of the plan that asks less, such as `steps` or `grace_days`.
    pub path: String,
    /// "step \"Blades\" is not asked any more".
    pub words: String,
}

impl CheckPlan {
    /// The plan after an edit: the same version where nothing changed, else one more. What the edit says of its version does not count.
    ///
    /// # Errors
    /// What is wrong with the plan as edited.
    pub fn edit(&self, edited: Self) -> Result<Self, Vec<Fault>> {
        let mut next = Self {
            version: self.version,
            ..edited
        };
        if next != *self {
            next.version = self.version.saturating_add(1);
        }
        let faults = next.validate();
        if faults.is_empty() { Ok(next) } else { Err(faults) }
    }

    /// What the plan after a change asks less of than this one. What cannot be compared, such as another rhythm, is named too: so that
    /// a reason is asked for rather once too often.
    #[must_use]
    pub fn loosened_by(&self, after: &Self) -> Vec<Loosened> {
        let mut found = Vec::new();
        let mut say = |path: &str, words: String| found.push(Loosened { path: path.to_owned(), words });
        let lost_kinds = self.covers.kinds.iter().filter(|kind| !after.covers.kinds.contains(kind)).count();
        let lost_models = self.covers.models.iter().filter(|model| !after.covers.models.contains(model)).count();
        if lost_kinds + lost_models > 0 || (self.covers.models.is_empty() && !after.covers.models.is_empty()) {
            say("covers", "fewer pieces are covered".to_owned());
        }
        if !is_as_often(&self.rhythm, &after.rhythm) {
            say("rhythm", format!("{} becomes {}", self.rhythm.words(), after.rhythm.words()));
        }
        if after.signer < self.signer {
            say("signer", format!("{} may sign, where it took {}", after.signer.words(), self.signer.words()));
        }
        if after.grace_days > self.grace_days {
            say("grace_days", format!("{} days of grace become {}", self.grace_days, after.grace_days));
        }
        if after.proves.iter().any(|proof| !self.proves.contains(proof)) {
            say("proves", "a pass proves more".to_owned());
        }
        for step in &self.steps {
            match after.steps.iter().find(|other| other.id == step.id) {
                None => say("steps", format!("step \"{}\" is not asked any more", step.title)),
                Some(other) if is_looser(step, other) => say("steps", format!("step \"{}\" asks less, or something else", step.title)),
                Some(_) => {}
            }
        }
        found
    }
}

fn is_as_often(before: &Rhythm, after: &Rhythm) -> bool {
    match (before, after) {
        (Rhythm::Months { months: before }, Rhythm::Months { months: after })
        | (Rhythm::Uses { uses: before }, Rhythm::Uses { uses: after })
        | (Rhythm::Hours { hours: before }, Rhythm::Hours { hours: after }) => after <= before,
        (Rhythm::Event { events: before }, Rhythm::Event { events: after }) => before.iter().all(|event| after.contains(event)),
        // Of two rules of the calendar only equal ones are known to be as often; another start moves what is due.
        (before, after) => before == after,
    }
}

fn is_looser(before: &Step, after: &Step) -> bool {
    let same_when = before.stage <= after.stage && before.applies == after.applies && (before.pump_alone || !after.pump_alone);
    let less = (after.optional && !before.optional) || !same_when || before.fails_as != after.fails_as;
    less || !asks_as_much(&before.ask, &after.ask)
}

fn asks_as_much(before: &Ask, after: &Ask) -> bool {
    match (before, after) {
        (Ask::Choice { passing: before, .. }, Ask::Choice { passing: after, .. }) => after.iter().all(|word| before.contains(word)),
        (
            Ask::Number {
                measure: before, limits: was, ..
            },
            Ask::Number {
                measure: after, limits: is, ..
            },
        ) => before == after && was.iter().all(|limit| is.contains(limit) || is.iter().any(|other| is_tighter(limit, other))),
        (before, after) => before == after,
    }
}

/// Whether the second limit passes nothing that the first does not.
fn is_tighter(before: &Limit, after: &Limit) -> bool {
    match (before, after) {
        (Limit::Fixed { min: low, max: high }, Limit::Fixed { min: now_low, max: now_high }) => {
            let rises = low.is_none_or(|low| now_low.is_some_and(|now| now.dimension() == low.dimension() && now.si() >= low.si()));
            let falls = high.is_none_or(|high| now_high.is_some_and(|now| now.dimension() == high.dimension() && now.si() <= high.si()));
            rises && falls
        }
        (
            Limit::ShareOfRating { bound, percent, of },
            Limit::ShareOfRating {
                bound: other,
                percent: now,
                of: figure,
            },
        ) => {
            let tighter = match bound {
                Bound::AtLeast => now >= percent,
                Bound::AtMost => now <= percent,
            };
            bound == other && of == figure && tighter
        }
        (Limit::Drift { percent, way }, Limit::Drift { percent: now, way: other }) => way == other && now <= percent,
        _ => false,
    }
}
