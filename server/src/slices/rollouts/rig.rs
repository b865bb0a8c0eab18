//! A rig of a rollout: a record of its own, so that a rollout of many rigs stays small and two stations do not meet in one revision.

use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    feed::RolloutId,
    rules::{RolloutRigAct, allows_rig},
};
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{
        pieces::{PieceId, Place},
        rigs::RigId,
    },
};

crate::id!(
    /// A rig's place in a rollout.
    RolloutRigId
);

/// What a named person has said of a rig's new set.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RolloutWord {
    /// When it was said (UTC), by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who says so, and answers for it.
    pub by: Person,
    /// What was said: 1 to 500 characters; null: nothing more.
    #[schema(max_length = 500)]
    pub words: Option<String>,
}

/// A piece of the old set, as it left the rig.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct WentTo {
    /// The piece of the old set that left.
    pub piece: PieceId,
    /// Its tag then.
    pub tag: String,
    /// Where it was sent at the changeover; where it is now its own record says.
    pub to: Place,
}

/// A rig in a rollout: what it gets, when, and what was said of it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RolloutRig {
    /// The UUID that the rig was planned under; it never changes.
    pub id: RolloutRigId,
    /// The rollout that the rig is planned in; it never changes.
    pub rollout: RolloutId,
    /// The rig; it stands once in a rollout.
    pub rig: RigId,
    /// The rig's name when it was planned, for sorting.
    pub rig_name: String,
    /// The Monday of the week in which it changes over, in the agency's time zone; null: not planned yet.
    pub week: Option<NaiveDate>,
    /// The pieces of its new set; 60 at most. Until its changeover they go aboard no rig.
    #[schema(max_items = 60)]
    pub pieces: Vec<PieceId>,
    /// That tags are on the pieces and hose ends are paired; null: nobody has said so of these pieces.
    pub marked: Option<RolloutWord>,
    /// In which compartment the new set lies; null: nobody has said so of these pieces.
    pub stowed: Option<RolloutWord>,
    /// When and by whom the rig was changed over; null: it was not.
    pub changed_over: Option<RolloutWord>,
    /// What left the rig at its changeover; 200 at most.
    #[schema(max_items = 200)]
    pub went: Vec<WentTo>,
    /// The commands that the rig's place in the rollout allows as it is: any other is refused. What still holds the changeover up is not in
    /// it: `GET /v1/rollouts/{id}/progress` says that.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<RolloutRigAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for RolloutRig {
    const KIND: &'static str = "rollout_rig";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows_rig(self);
    }

    fn states() -> Vec<&'static str> {
        vec!["planned", "changed_over"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.rig_name.clone(),
            uniq: Some(format!("{}/{}", self.rollout.0, self.rig.0)),
            state: if self.changed_over.is_none() { "planned" } else { "changed_over" }.into(),
            parent: Some(self.rollout.0),
            ..Index::default()
        }
    }
}
