use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::{classes::ClassId, stations::StationId},
};

crate::id!(
    /// A rig.
    RigId
);

/// A vehicle that carries tools.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Rig {
    /// Its id.
    pub id: RigId,
    /// Its name; no other rig has it.
    pub name: String,
    /// Its station.
    pub station: StationId,
    /// Its class; without one no complement says what it must carry.
    pub rig_class: Option<ClassId>,
    /// Whether it may be used.
    pub in_service: bool,
    /// Why it is out of service.
    pub out_reason: Option<String>,
    /// Since when it is out of service.
    pub out_since: Option<DateTime<Utc>>,
    /// Whether it is out of service for planned service alone.
    #[serde(default)]
    #[schema(required)]
    pub planned: bool,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Rig {
    const KIND: &'static str = "rig";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            state: if self.in_service { "in_service" } else { "out_of_service" }.into(),
            parent: Some(self.station.0),
        }
    }
}
