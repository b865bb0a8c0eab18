use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::stations::StationId,
};

crate::id!(
    /// A shift of a station.
    ShiftId
);

/// What was on record before anybody could say that there is no such shift.
pub(super) const fn yes() -> bool {
    true
}

/// A shift of a station, with who belongs to it; or that the station has no such shift.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Shift {
    /// The UUID that the shift was added under; it never changes.
    pub id: ShiftId,
    /// The station whose shift it is; it never changes.
    pub station: StationId,
    /// What it is called there: "A shift". No other shift of the station is called so, whatever the capitals.
    #[schema(min_length = 1, max_length = 40)]
    pub name: String,
    /// False: the station has no such shift, which somebody has said; nobody belongs to it then, and nothing is asked of it.
    #[serde(default = "yes")]
    #[schema(required)]
    pub exists: bool,
    /// Who belongs to it, by name; at most 60. None: nobody does, which is not the same as not known.
    #[schema(max_items = 60)]
    pub members: Vec<Person>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Shift {
    const KIND: &'static str = "shift";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(format!("{}/{}", self.station.0, self.name.to_lowercase())),
            parent: Some(self.station.0),
            ..Index::default()
        }
    }
}
