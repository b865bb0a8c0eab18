use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{UseAct, allows};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{pieces::PieceId, rigs::RigId, stations::StationId},
};

crate::id!(
    /// A use.
    UseId
);

/// One look over what was used.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UseCheck {
    /// When they were looked over (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// The member who says that they were looked over.
    pub by: Person,
    /// The pieces that were looked over and found sound.
    pub pieces: Vec<PieceId>,
    /// What else was seen.
    pub note: Option<String>,
}

/// That a use was corrected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct UseCorrection {
    /// When it was last corrected (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who corrected it last.
    pub by: Person,
    /// Why it was corrected, up to 4,000 characters.
    pub reason: String,
}

/// One use of a rig's pieces.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Use {
    /// The UUID that the use was recorded under; it never changes.
    pub id: UseId,
    /// The rig whose pieces were used; some of them may have left it before.
    pub rig: RigId,
    /// The rig's station when the use was recorded.
    pub station: Option<StationId>,
    /// The pieces that were used; none where it was corrected to be no use at all.
    pub pieces: Vec<PieceId>,
    /// Those of them that were out of service or missing when they were used: it happened, and is not hidden.
    #[serde(default)]
    #[schema(required, max_items = 200)]
    pub while_out: Vec<PieceId>,
    /// What for, in the crew's own words.
    pub what: Option<String>,
    /// The agency's own number of the incident.
    pub incident: Option<String>,
    /// How long, in minutes.
    pub minutes: Option<u32>,
    /// When, by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub used_at: DateTime<Utc>,
    /// Who wrote the use down; whoever corrects it stands in `corrected`.
    pub recorded_by: Person,
    /// When what was used was looked over; up to 20 times.
    #[serde(default)]
    #[schema(required, max_items = 20)]
    pub checks: Vec<UseCheck>,
    /// The last correction, where there was one; what it said before is its history.
    #[serde(default)]
    #[schema(required)]
    pub corrected: Option<UseCorrection>,
    /// The commands that the use allows as it is: any other is refused.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<UseAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Use {
    const KIND: &'static str = "use";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self.checks.len());
    }

    fn index(&self) -> Index {
        Index {
            label: self.used_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string(),
            parent: Some(self.rig.0),
            ..Index::default()
        }
    }
}
