use chrono::{DateTime, Utc};
use fullset_care::plan::{self, PlanSnapshot};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    person::Person,
    record::{Index, Record},
};

crate::id!(
    /// A check plan.
    CheckPlanId
);

/// Whether checks fall due by a plan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CheckPlanState {
    /// They do.
    InForce,
    /// They do not any more.
    Withdrawn,
}

impl CheckPlanState {
    const fn word(self) -> &'static str {
        match self {
            Self::InForce => "in_force",
            Self::Withdrawn => "withdrawn",
        }
    }
}

/// An earlier version of a plan: what a phone without a signal may still have asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct DatedVersion {
    /// Until when it was in force. A check by it that was done later is kept, and proves nothing.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub until: DateTime<Utc>,
    /// What that version asked: its steps, who signs, what a pass proved.
    pub asked: PlanSnapshot,
}

/// A check plan of the agency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct CheckPlan {
    /// UUID that the plan was made with; it never changes.
    pub id: CheckPlanId,
    /// What it asks, of which pieces, how often, of whom.
    pub plan: plan::CheckPlan,
    /// Whether checks fall due by it.
    pub state: CheckPlanState,
    /// From when on it holds: no check was due by it before.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// From when on it asks so often, of these pieces: what was missed before, by another rhythm, is not told.
    #[serde(default)]
    #[schema(required)]
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub asks_since: Option<DateTime<Utc>>,
    /// When it last changed.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub changed_at: DateTime<Utc>,
    /// Who put it in force, changed or withdrew it last, and so answers for it.
    pub changed_by: Person,
    /// Why it was loosened or withdrawn, where it was.
    pub reason: Option<String>,
    /// The two versions before.
    #[serde(default)]
    #[schema(required, max_items = 2)]
    pub earlier: Vec<DatedVersion>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for CheckPlan {
    const KIND: &'static str = "check_plan";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        [CheckPlanState::InForce, CheckPlanState::Withdrawn].map(CheckPlanState::word).to_vec()
    }

    fn index(&self) -> Index {
        Index {
            label: self.plan.name.clone(),
            uniq: (self.state == CheckPlanState::InForce).then(|| self.plan.name.to_lowercase()),
            state: self.state.word().into(),
            ..Index::default()
        }
    }
}

/// A plan as far as it says which pieces fall due when.
#[derive(Debug, Clone)]
pub struct PlanRule {
    /// The check plan whose rule this is.
    pub id: CheckPlanId,
    /// The plan, without its steps.
    pub plan: plan::CheckPlan,
    /// From when on it holds.
    pub since: DateTime<Utc>,
    /// From when on it asks so often, of these pieces.
    pub asks_since: DateTime<Utc>,
}

impl PlanRule {
    /// Of a plan in force; none of one that was withdrawn.
    pub fn of(record: CheckPlan) -> Option<Self> {
        (record.state == CheckPlanState::InForce).then(|| Self {
            id: record.id,
            plan: plan::CheckPlan {
                steps: Vec::new(),
                ..record.plan
            },
            since: record.since,
            asks_since: record.asks_since.unwrap_or(record.since),
        })
    }
}
