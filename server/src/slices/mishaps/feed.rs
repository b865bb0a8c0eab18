use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{MishapAct, allows};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{pieces::PieceId, rigs::RigId, stations::StationId},
};

crate::id!(
    /// A mishap.
    MishapId
);

/// How bad it was.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MishapSort {
    /// Nobody was hurt, and somebody could have been.
    NearMiss,
    /// Somebody was hurt. Who and how stands elsewhere.
    Injury,
}

impl MishapSort {
    /// The word for it in a sentence.
    pub fn word(self) -> &'static str {
        match self {
            Self::NearMiss => "near miss",
            Self::Injury => "injury",
        }
    }
}

/// What was being done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MishapDuring {
    /// At an incident.
    Rescue,
    /// At a drill.
    Training,
    /// At a check or while cleaning.
    Check,
    /// Carrying, loading, driving.
    Transport,
    /// In the shop.
    Repair,
    /// Something else.
    Other,
}

/// How a mishap stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum MishapState {
    /// Somebody has to look into it.
    Open,
    /// It was looked into.
    Closed,
}

/// A near miss or an injury with a tool. It holds no name but of who told and closed it, and nothing of anybody's health.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Mishap {
    /// The UUID that the mishap was reported under; it never changes.
    pub id: MishapId,
    /// How bad it was.
    pub sort: MishapSort,
    /// What was being done.
    pub during: MishapDuring,
    /// What happened, in a member's words.
    pub what: String,
    /// When it happened (UTC), as whoever reported it says; not after `reported_at`.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub happened_at: DateTime<Utc>,
    /// With the gear of which rig.
    pub rig: Option<RigId>,
    /// The station that it happened at, as it was told; null: not said.
    pub station: Option<StationId>,
    /// Where else: a street, a training ground.
    pub place: Option<String>,
    /// With which pieces; 12 at most.
    #[schema(max_items = 12)]
    pub pieces: Vec<PieceId>,
    /// Whether the pieces were taken out of service with it.
    pub taken_out: bool,
    /// When it was told.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub reported_at: DateTime<Utc>,
    /// The member who told of it; whoever was hurt is not named.
    pub reported_by: Person,
    /// Open, until a member has looked into it and closed it.
    pub state: MishapState,
    /// When it was closed.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub closed_at: Option<DateTime<Utc>>,
    /// The member who closed it; null while it is open.
    pub closed_by: Option<Person>,
    /// What was found and done.
    pub finding: Option<String>,
    /// The commands that the mishap allows as it is: any other is refused.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<MishapAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Mishap {
    const KIND: &'static str = "mishap";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self.state);
    }

    fn states() -> Vec<&'static str> {
        vec!["open", "closed"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.happened_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string(),
            state: match self.state {
                MishapState::Open => "open",
                MishapState::Closed => "closed",
            }
            .into(),
            ..Index::default()
        }
    }
}
