use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{RigAct, allows};
use crate::{
    platform::record::{Index, Record},
    slices::{rig_classes::RigClassId, stations::StationId},
};

crate::id!(
    /// A rig.
    RigId
);

/// What a rig is there for while it is in service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Duty {
    /// It runs first.
    #[default]
    FrontLine,
    /// It stands in, with its tools aboard.
    ReadyReserve,
    /// It stands in, without its tools.
    StrippedReserve,
}

/// Where a rig is that is out of service.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum OutAt {
    /// At the mechanic.
    Mechanic,
    /// Lent to somebody outside the agency.
    Lent,
    /// Somewhere else, or in its bay.
    Other,
}

/// A vehicle that carries tools.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Rig {
    /// The UUID that the rig was added under; it never changes.
    pub id: RigId,
    /// Its name; no other rig has it.
    pub name: String,
    /// Id of its station.
    pub station: StationId,
    /// Its class; without one no complement says what it must carry.
    pub rig_class: Option<RigClassId>,
    /// What it is there for; only front-line rigs stand in the count.
    #[serde(default)]
    #[schema(required)]
    pub duty: Duty,
    /// Whether it may be used.
    pub in_service: bool,
    /// Where it is while it is out of service.
    #[serde(default)]
    #[schema(required)]
    pub out_at: Option<OutAt>,
    /// Why it is out of service.
    pub out_reason: Option<String>,
    /// Since when it is out of service.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub out_since: Option<DateTime<Utc>>,
    /// Whether it is out of service for planned service alone.
    #[serde(default)]
    #[schema(required)]
    pub planned: bool,
    /// The commands that the rig allows as it is, of those about its service.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<RigAct>,
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
        self.allows = allows(self);
    }

    fn states() -> Vec<&'static str> {
        vec!["in_service", "out_of_service"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            mark: None,
            state: if self.in_service { "in_service" } else { "out_of_service" }.into(),
            parent: Some(self.station.0),
        }
    }
}
