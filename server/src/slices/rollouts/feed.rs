use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{RolloutAct, allows};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::models::ModelId,
};

crate::id!(
    /// A rollout.
    RolloutId
);

/// How many members of a shift must be signed off before a rig of its station changes over.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ShiftMinimum {
    /// The shift, as the stations call it: "A shift". Capitals make no other shift.
    #[schema(min_length = 1, max_length = 40)]
    pub shift: String,
    /// How many of its members must be signed off on everything of the new set that takes a sign-off: 1 to 20.
    #[schema(minimum = 1, maximum = 20)]
    pub members: u32,
}

/// The plan by which a new set takes the place of an old one, rig by rig.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Rollout {
    /// The UUID that the rollout was started under; it never changes.
    pub id: RolloutId,
    /// Its name; no other rollout has it.
    pub name: String,
    /// The models of the new set, each of which every rig gets at least once; 1 to 40.
    #[schema(min_items = 1, max_items = 40)]
    pub models: Vec<ModelId>,
    /// The models of the old set that leave the rigs; 1 to 40.
    #[schema(min_items = 1, max_items = 40)]
    pub replaces: Vec<ModelId>,
    /// The minimum of each shift; 1 to 12. A shift of a station that is not here holds that station's changeovers.
    #[schema(min_items = 1, max_items = 12)]
    pub minimums: Vec<ShiftMinimum>,
    /// Models of adapters that are banned from the rigs of the rollout while it runs; 20 at most.
    #[schema(max_items = 20)]
    pub banned_adapters: Vec<ModelId>,
    /// How many rigs are planned for one week at most: 1 to 500; null: no limit was set.
    #[schema(minimum = 1, maximum = 500)]
    pub most_a_week: Option<u32>,
    /// What else is worth knowing, up to 4,000 characters; null: nothing.
    pub note: Option<String>,
    /// Who started it.
    pub started_by: Person,
    /// When it was started (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub started_at: DateTime<Utc>,
    /// When it was closed (UTC); null: it runs.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// Who closed it; null while it runs.
    pub closed_by: Option<Person>,
    /// What was said at its end, up to 4,000 characters; null while it runs.
    pub closing_note: Option<String>,
    /// The commands that the rollout allows as it is: any other is refused.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<RolloutAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Rollout {
    /// Whether it runs.
    pub fn is_open(&self) -> bool {
        self.closed_at.is_none()
    }
}

impl Record for Rollout {
    const KIND: &'static str = "rollout";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self);
    }

    fn states() -> Vec<&'static str> {
        vec!["open", "closed"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            state: if self.is_open() { "open" } else { "closed" }.into(),
            ..Index::default()
        }
    }
}
