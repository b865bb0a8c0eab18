use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::rigs::RigId,
};

/// Who is on a rig, as was said last.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Crew {
    /// The rig, whose id is the crew's as well.
    pub id: RigId,
    /// The members aboard, by name; at most 12. None: the rig is not crewed.
    #[schema(max_items = 12)]
    pub members: Vec<Person>,
    /// Since when they are aboard.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub from: DateTime<Utc>,
    /// Until when; after that nobody knows who is aboard.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub until: DateTime<Utc>,
    /// Who said who is aboard; not always one of them.
    pub said_by: Person,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Crew {
    const KIND: &'static str = "crew";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            parent: Some(self.id.0),
            ..Index::default()
        }
    }
}
