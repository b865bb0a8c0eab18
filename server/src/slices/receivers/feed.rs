use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::record::{Index, Record},
    slices::{districts::DistrictId, stations::StationId},
};

crate::id!(
    /// A receiver.
    ReceiverId
);

/// By what way a receiver is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Way {
    /// A signed POST to its address: a CloudEvent, signed by Standard Webhooks.
    Webhook,
    /// An e-mail to its address, with a page on which somebody says that it was read.
    Email,
}

/// What a receiver may be told of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ChangeKind {
    /// A rig can do less than before, or was taken out of service.
    RigFalls,
    /// A rig can do more than before, or is back in service.
    RigRises,
    /// A district has fewer full rigs than it needs, and had enough before.
    DistrictShort,
    /// A district has enough full rigs again.
    DistrictEnough,
}

impl ChangeKind {
    /// All of them.
    pub const ALL: [Self; 4] = [Self::RigFalls, Self::RigRises, Self::DistrictShort, Self::DistrictEnough];

    /// As the type of a message names it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::RigFalls => "rig.falls",
            Self::RigRises => "rig.rises",
            Self::DistrictShort => "district.short",
            Self::DistrictEnough => "district.enough",
        }
    }
}

/// Since when a receiver is not told any more, and why.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct SwitchedOff {
    /// Since when nothing is sent to it (UTC).
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub since: DateTime<Utc>,
    /// Why, in a sentence.
    pub why: String,
}

/// Somebody outside the service who is told.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Receiver {
    /// The UUID that the client made for the receiver; it never changes.
    pub id: ReceiverId,
    /// Its name; no other receiver that is not withdrawn has it.
    pub name: String,
    /// By what way it is told.
    pub way: Way,
    /// Where messages go: an https address, or one for e-mail. It holds no secret: every member with the whole agency's feed reads it.
    pub address: String,
    /// When set, it is told of this district alone.
    pub district: Option<DistrictId>,
    /// When set, it is told of the rigs of this station alone.
    pub station: Option<StationId>,
    /// What it is told of: 1 to 4.
    #[schema(min_items = 1, max_items = 4)]
    pub changes: Vec<ChangeKind>,
    /// Why it is not told any more; null: it is told.
    pub switched_off: Option<SwitchedOff>,
    /// When it was withdrawn for good; null: it was not.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub withdrawn_at: Option<DateTime<Utc>>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Receiver {
    /// Whether a change of something there is for it, also while it is switched off. A change of a district is nothing for a receiver of
    /// one station.
    pub fn hears(&self, change: ChangeKind, district: Option<Uuid>, station: Option<Uuid>) -> bool {
        self.changes.contains(&change) && self.district.is_none_or(|own| district == Some(own.0)) && self.station.is_none_or(|own| station == Some(own.0))
    }
}

impl Record for Receiver {
    const KIND: &'static str = "receiver";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["on", "off", "withdrawn"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: self.withdrawn_at.is_none().then(|| self.name.to_lowercase()),
            state: match (self.withdrawn_at, &self.switched_off) {
                (Some(_), _) => "withdrawn",
                (None, Some(_)) => "off",
                (None, None) => "on",
            }
            .into(),
            ..Index::default()
        }
    }
}
