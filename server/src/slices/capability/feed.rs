use chrono::{DateTime, Utc};
use fullset_calc::capability::Assessment;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::rigs::RigId,
};

/// What a rig can do, and why not more. A planning aid: no dispatch order, and no substitute for the officer's own check.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Capability {
    /// The rig.
    pub id: RigId,
    /// The rig's name, for sorting.
    pub rig_name: String,
    /// Since when it is at this level.
    pub since: DateTime<Utc>,
    /// Whether it is below full for planned service alone: with what is out for that back, it would be full.
    #[serde(default)]
    #[schema(required)]
    pub planned: bool,
    /// The answer.
    #[serde(flatten)]
    pub answer: Assessment,
    /// Revision of the last change.
    pub rev: i64,
}

impl Capability {
    /// Why the rig is not full, the gravest first; empty for a full one.
    pub fn why(&self) -> Vec<String> {
        let required = self.answer.gaps.iter().filter(|gap| gap.need.is_required()).flat_map(|gap| gap.words.iter());
        self.answer.also.iter().chain(required).cloned().collect()
    }
}

impl Record for Capability {
    const KIND: &'static str = "capability";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.rig_name.clone(),
            uniq: None,
            state: self.answer.level.name().into(),
            parent: Some(self.id.0),
        }
    }
}
