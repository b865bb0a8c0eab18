use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::rules::{SwapAct, allows};
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
    /// A swap.
    SwapId
);

/// How a swap stands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SwapState {
    /// The stand-in is on the rig or on its way there.
    Open,
    /// The stand-in has gone back.
    Ended,
    /// The stand-in stays for good.
    Kept,
}

/// A stand-in on a rig.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Swap {
    /// UUID that the swap was made with; it never changes.
    pub id: SwapId,
    /// The rig that the piece stands in on.
    pub rig: RigId,
    /// The piece that stands in.
    pub piece: PieceId,
    /// The piece whose slot it takes.
    pub stands_in_for: Option<PieceId>,
    /// The slot of the rig's list that it is meant for.
    pub slot: Option<String>,
    /// The need of a grade that it is meant for.
    #[serde(default)]
    #[schema(required)]
    pub need: Option<String>,
    /// Why it was put aboard although it does not serve there, where somebody ordered so.
    #[serde(default)]
    #[schema(required)]
    pub despite: Option<String>,
    /// Where the stand-in came from.
    pub from: Place,
    /// Whether the stand-in is there or on its way, has gone back, or stays for good.
    pub state: SwapState,
    /// UTC instant at which it was begun, by the server's reckoning.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub started_at: DateTime<Utc>,
    /// Who put the stand-in aboard.
    pub started_by: Person,
    /// When it was ended or kept.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub ended_at: Option<DateTime<Utc>>,
    /// Who ended or kept it.
    pub ended_by: Option<Person>,
    /// The commands that the swap allows as it is: any other is refused.
    #[serde(default)]
    #[schema(required)]
    pub allows: Vec<SwapAct>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Swap {
    const KIND: &'static str = "swap";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
        self.allows = allows(self.state);
    }

    fn states() -> Vec<&'static str> {
        vec!["open", "ended", "kept"]
    }

    fn index(&self) -> Index {
        let state = match self.state {
            SwapState::Open => "open",
            SwapState::Ended => "ended",
            SwapState::Kept => "kept",
        };
        let label = self.started_at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string();
        Index {
            label,
            uniq: None,
            mark: None,
            state: state.into(),
            parent: Some(self.piece.0),
        }
    }
}
