//! That answers were handed in, and what was read off scale, watch and gauge. Each is a record of its own, so that evaluators without a
//! signal never meet a conflict.

use chrono::{DateTime, Utc};
use fullset_calc::units::Quantity;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::feed::FieldTrialId;
use crate::platform::{
    ids::MemberId,
    person::Person,
    record::{Index, Record},
};

crate::id!(
    /// That answers of a field trial were handed in.
    TrialAnswerId
);
crate::id!(
    /// A reading of a field trial.
    TrialReadingId
);

/// The space of the ids of handed-in answers.
const SPACE: Uuid = Uuid::from_u128(0x64c1_0b7e_9f52_4c1d_8a37_52e0_91bb_d40c);

impl TrialAnswerId {
    /// The one of an evaluator about a candidate of a trial.
    pub fn of(trial: FieldTrialId, candidate: u8, evaluator: MemberId) -> Self {
        Self(Uuid::new_v5(&SPACE, format!("{}/{candidate}/{}", trial.0, evaluator.0).as_bytes()))
    }
}

/// That an evaluator has handed in his answers about a candidate. What he answered is not in it: `GET /v1/field-trials/{id}/result` has it
/// for whoever may see it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct TrialAnswer {
    /// The id, which follows from trial, candidate and evaluator.
    pub id: TrialAnswerId,
    /// The trial that it belongs to.
    pub trial: FieldTrialId,
    /// The number of the candidate in the trial's list, counted from 1.
    #[schema(minimum = 1, maximum = 8)]
    pub candidate: u8,
    /// The evaluator who handed them in.
    pub evaluator: Person,
    /// How many of the questions were answered.
    pub answered: usize,
    /// How many were left without an answer.
    pub missing: usize,
    /// When they were handed in.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub handed_in_at: DateTime<Utc>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for TrialAnswer {
    const KIND: &'static str = "trial_answer";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.handed_in_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string(),
            parent: Some(self.trial.0),
            ..Index::default()
        }
    }
}

/// What was read off a scale, watch or gauge about a candidate.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct TrialReading {
    /// The UUID that the reading was added under; it never changes.
    pub id: TrialReadingId,
    /// The trial that it belongs to.
    pub trial: FieldTrialId,
    /// The number of the candidate in the trial's list, counted from 1.
    #[schema(minimum = 1, maximum = 8)]
    pub candidate: u8,
    /// The number of the measurement in the trial's list, counted from 1.
    #[schema(minimum = 1, maximum = 8)]
    pub measurement: u8,
    /// What was read, in the unit in which it was typed.
    pub value: Quantity,
    /// When it was read.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub taken_at: DateTime<Utc>,
    /// Who read it.
    pub taken_by: Person,
    /// When it was struck out; null: it counts.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub struck_at: Option<DateTime<Utc>>,
    /// Who struck it out; null: it counts.
    pub struck_by: Option<Person>,
    /// Why, up to 4,000 characters; null: it counts.
    pub struck_reason: Option<String>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for TrialReading {
    const KIND: &'static str = "trial_reading";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["counts", "struck"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.taken_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string(),
            state: if self.struck_at.is_none() { "counts" } else { "struck" }.into(),
            parent: Some(self.trial.0),
            ..Index::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_evaluator_has_one_sheet_for_each_candidate() {
        let (trial, one, other) = (FieldTrialId(Uuid::from_u128(1)), MemberId(Uuid::from_u128(2)), MemberId(Uuid::from_u128(3)));
        assert_eq!(TrialAnswerId::of(trial, 1, one), TrialAnswerId::of(trial, 1, one));
        assert_ne!(TrialAnswerId::of(trial, 1, one), TrialAnswerId::of(trial, 2, one));
        assert_ne!(TrialAnswerId::of(trial, 1, one), TrialAnswerId::of(trial, 1, other));
    }
}
