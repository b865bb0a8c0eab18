use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{districts::DistrictId, rigs::RigId, shops::ShopId, stations::StationId},
};

crate::id!(
    /// A calendar feed.
    CalendarFeedId
);

/// Whose checks a calendar shows.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "of", rename_all = "snake_case", deny_unknown_fields)]
pub enum CalendarPlace {
    /// Of the pieces in a district.
    District {
        /// The district whose pieces' checks it shows.
        district: DistrictId,
    },
    /// Of the pieces at a station, aboard its rigs and on its shelf.
    Station {
        /// The station whose pieces' checks it shows.
        station: StationId,
    },
    /// Of the pieces on a rig.
    Rig {
        /// The rig whose pieces' checks it shows.
        rig: RigId,
    },
    /// Of the pieces in a shop.
    Shop {
        /// The shop whose pieces' checks it shows.
        shop: ShopId,
    },
}

impl CalendarPlace {
    /// The place's id.
    pub fn id(self) -> Uuid {
        match self {
            Self::District { district } => district.0,
            Self::Station { station } => station.0,
            Self::Rig { rig } => rig.0,
            Self::Shop { shop } => shop.0,
        }
    }
}

/// Whether a feed's address answers.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CalendarFeedState {
    /// It does.
    Active,
    /// It does not any more, for good.
    Revoked,
}

impl CalendarFeedState {
    const fn word(self) -> &'static str {
        match self {
            Self::Active => "active",
            Self::Revoked => "revoked",
        }
    }
}

/// A calendar of checks that can be subscribed to. Its secret is kept nowhere.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct CalendarFeed {
    /// The UUID that the client made for the feed; it never changes.
    pub id: CalendarFeedId,
    /// What it is called, so that the right one is revoked: "Kitchen tablet".
    pub name: String,
    /// Whose checks it shows.
    pub place: CalendarPlace,
    /// Whether its address answers. It also answers nobody while the member who added it is let go.
    pub state: CalendarFeedState,
    /// When it was added.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub added_at: DateTime<Utc>,
    /// Who added it, and was shown the address then; while that member is let go, the address answers nobody.
    pub added_by: Person,
    /// When it was revoked.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub revoked_at: Option<DateTime<Utc>>,
    /// Who revoked it; null: nobody has.
    pub revoked_by: Option<Person>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for CalendarFeed {
    const KIND: &'static str = "calendar_feed";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        [CalendarFeedState::Active, CalendarFeedState::Revoked].map(CalendarFeedState::word).to_vec()
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            state: self.state.word().into(),
            parent: Some(self.place.id()),
            ..Index::default()
        }
    }
}
