use chrono::{DateTime, Utc};
use fullset_calc::release::MakersPaper;
use fullset_care::check::{Earlier, Outcome, StepResult, StepSaid, Trend};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{check_plans::CheckPlanId, defects::DefectId, pieces::PieceId, rigs::RigId},
};

crate::id!(
    /// The check of a piece by a plan.
    CheckId
);

/// The space of the ids of checks.
const SPACE: Uuid = Uuid::from_u128(0x5d1c_2a3f_6a0e_4f0b_9c55_7b8e_d0a1_43c6);

impl CheckId {
    /// The one record for a plan and a piece: every client works out the same.
    pub fn of(plan: CheckPlanId, piece: PieceId) -> Self {
        let mut name = [0; 32];
        let (first, second) = name.split_at_mut(16);
        first.copy_from_slice(plan.0.as_bytes());
        second.copy_from_slice(piece.0.as_bytes());
        Self(Uuid::new_v5(&SPACE, &name))
    }
}

/// One step of a check as it was answered.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CheckStep {
    /// The id of the plan's step.
    pub step: String,
    /// What was looked at.
    pub title: String,
    /// What was said; twice where two members did it, and the worse counts.
    #[schema(max_items = 120)]
    pub said: Vec<StepSaid>,
    /// Whether the step is in order, and why not.
    pub shows: StepResult,
    /// How its reading moves, where there were earlier ones.
    #[serde(default)]
    #[schema(required)]
    pub trend: Option<Trend>,
    /// The defect that it was reported as when it failed: now, or at a check before while that defect is open.
    #[serde(default)]
    #[schema(required)]
    pub defect: Option<DefectId>,
}

/// The round that a check was part of, by the clock of the device that it was done on.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckWalk {
    /// When it was begun.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub began_at: DateTime<Utc>,
    /// When its last step was answered.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub ended_at: DateTime<Utc>,
    /// How many steps were answered in it, of all its pieces: 1 to 10,000.
    #[schema(minimum = 1, maximum = 10_000)]
    pub answers: u32,
}

/// The latest check of a piece by a plan; those before are its history.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Check {
    /// The check's id, which follows from plan and piece.
    pub id: CheckId,
    /// The check plan that was answered.
    pub plan: CheckPlanId,
    /// The plan's name then.
    pub name: String,
    /// The version of the plan that was answered.
    pub version: u32,
    /// The piece that was checked.
    pub piece: PieceId,
    /// The piece's tag when it was checked.
    pub tag: String,
    /// The rig that it was on.
    pub rig: Option<RigId>,
    /// When it was done, by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub done_at: DateTime<Utc>,
    /// The member who signed the check.
    pub done_by: Person,
    /// Whether who signed was signed off on such gear then; null: not on record.
    pub signed_off: Option<bool>,
    /// What it shows as a whole.
    pub outcome: Outcome,
    /// The same in words: "Not passed: Blades: no, and must be yes".
    pub words: String,
    /// Whether a pass proves anything: false where the plan had been changed before it was done.
    pub counts: bool,
    /// Step by step, in the order of the plan; up to 60.
    #[schema(max_items = 60)]
    pub steps: Vec<CheckStep>,
    /// What else was seen.
    pub note: Option<String>,
    /// The paper of the maker's service, where it did the check.
    pub paper: Option<MakersPaper>,
    /// The round that it was part of; null: nobody knows how long it took.
    #[serde(default)]
    #[schema(required)]
    pub walk: Option<CheckWalk>,
    /// Readings of this check and those before, newest first, for the trend; up to 40.
    #[schema(max_items = 40)]
    pub readings: Vec<Earlier>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Check {
    const KIND: &'static str = "check";
    const FOLLOWS_WHILE: Option<&'static str> = Some("latest");

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: format!("{} {}", self.tag, self.name),
            state: "latest".into(),
            parent: Some(self.piece.0),
            ..Index::default()
        }
    }
}
