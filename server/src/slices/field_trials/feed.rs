use chrono::{DateTime, Utc};
use fullset_calc::{
    field_trial::{BetterIs, TrialMeasure},
    ratings::Kind,
    units::Unit,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{FieldTrialAct, allows};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::models::ModelId,
};

crate::id!(
    /// A field trial.
    FieldTrialId
);

/// How a field trial stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum FieldTrialState {
    /// Evaluators answer, and readings are taken.
    Open,
    /// It is over; its answers and readings stay as they are, and every member may read them.
    Closed,
    /// It was given up; nothing is handed in any more, and its answers stay as they are.
    Withdrawn,
}

impl FieldTrialState {
    /// The word by which lists are narrowed.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Open => "open",
            Self::Closed => "closed",
            Self::Withdrawn => "withdrawn",
        }
    }
}

/// A tool that is tried.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialCandidate {
    /// What it is called on every sheet, as maker and model have it: 1 to 200 characters, another for each candidate.
    #[schema(min_length = 1, max_length = 200)]
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// The model of the catalogue, of the same kind, where the agency has it there; null: it is not in the catalogue.
    #[serde(default)]
    #[schema(required)]
    pub model: Option<ModelId>,
}

/// A question to each evaluator about each candidate. It is answered with 1 to 5 points.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialQuestion {
    /// What is asked: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub text: String,
    /// How much it counts beside the others: 1 to 10.
    #[schema(minimum = 1, maximum = 10)]
    pub weight: u8,
    /// What 1 point means: 1 to 100 characters.
    #[schema(min_length = 1, max_length = 100)]
    pub lowest: String,
    /// What 5 points mean: 1 to 100 characters.
    #[schema(min_length = 1, max_length = 100)]
    pub highest: String,
}

/// What is measured of each candidate.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TrialMeasurement {
    /// What is measured.
    pub what: TrialMeasure,
    /// How it is measured, so that everybody measures the same: 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub how: String,
    /// The unit in which the readings are told together; one of what is measured. A reading may be in another unit of the same.
    pub unit: Unit,
    /// Which way is better.
    pub better: BetterIs,
}

/// A trial of candidate tools before they are bought.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct FieldTrial {
    /// The UUID that the trial was opened under; it never changes.
    pub id: FieldTrialId,
    /// What it is called; no other trial has the name.
    pub name: String,
    /// Whether it is open, closed or withdrawn.
    pub state: FieldTrialState,
    /// The candidates, 2 to 8; a candidate is named by its number in this list, counted from 1.
    #[schema(min_items = 2, max_items = 8)]
    pub candidates: Vec<TrialCandidate>,
    /// The questions, 1 to 30; answers come in their order.
    #[schema(min_items = 1, max_items = 30)]
    pub questions: Vec<TrialQuestion>,
    /// What is measured, at most 8 things; a reading names one by its number in this list, counted from 1.
    #[schema(max_items = 8)]
    pub measurements: Vec<TrialMeasurement>,
    /// The members who answer, 1 to 12, by the names that they had when they were asked.
    #[schema(min_items = 1, max_items = 12)]
    pub evaluators: Vec<Person>,
    /// When it was opened.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub opened_at: DateTime<Utc>,
    /// Who opened it.
    pub opened_by: Person,
    /// When it was closed or withdrawn; null while it is open.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub ended_at: Option<DateTime<Utc>>,
    /// Who closed or withdrew it; null while it is open.
    pub ended_by: Option<Person>,
    /// What the agency takes from it, or why it was withdrawn, up to 4,000 characters; null: nothing was said, or it is open.
    pub conclusion: Option<String>,
    /// The commands that the trial allows as it is: any other is refused.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<FieldTrialAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl FieldTrial {
    /// The candidate of a number that counts from 1.
    pub fn candidate(&self, number: u8) -> Option<&TrialCandidate> {
        self.candidates.get(usize::from(number).checked_sub(1)?)
    }

    /// The measurement of a number that counts from 1.
    pub fn measurement(&self, number: u8) -> Option<&TrialMeasurement> {
        self.measurements.get(usize::from(number).checked_sub(1)?)
    }
}

impl Record for FieldTrial {
    const KIND: &'static str = "field_trial";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self.state);
    }

    fn states() -> Vec<&'static str> {
        [FieldTrialState::Open, FieldTrialState::Closed, FieldTrialState::Withdrawn]
            .map(FieldTrialState::word)
            .to_vec()
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            state: self.state.word().into(),
            ..Index::default()
        }
    }
}
