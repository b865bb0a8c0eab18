//! Who has read a notice: one receipt for each station and shift. Each is a record of its own, so that a notice that everybody reads stays
//! small, and nobody's decision about it meets a conflict.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use super::feed::NoticeId;
use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::stations::StationId,
};

crate::id!(
    /// A receipt of a notice.
    NoticeReadingId
);

/// The space of the ids of receipts.
const SPACE: Uuid = Uuid::from_u128(0x1b7e_90c4_53f2_4d8a_b1e6_0c9d_27fa_8e35);

impl NoticeReadingId {
    /// The one receipt of a station's shift for a notice; capitals make no other shift.
    pub fn of(notice: NoticeId, station: StationId, shift: &str) -> Self {
        Self(Uuid::new_v5(&SPACE, format!("{}/{}/{}", notice.0, station.0, shift.to_lowercase()).as_bytes()))
    }
}

/// That a shift of a station has read a notice.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct NoticeReading {
    /// The id of the reading, which follows from notice, station and shift.
    pub id: NoticeReadingId,
    /// The notice that the shift has read.
    pub notice: NoticeId,
    /// The station that the shift belongs to.
    pub station: StationId,
    /// The shift, as it is called there: "A shift".
    pub shift: String,
    /// When it was read, the last time.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who says that the shift has read it.
    pub by: Person,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for NoticeReading {
    const KIND: &'static str = "notice_reading";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string(),
            parent: Some(self.notice.0),
            ..Index::default()
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_shift_of_a_station_has_one_receipt_of_a_notice() {
        let (notice, station) = (NoticeId(Uuid::from_u128(1)), StationId(Uuid::from_u128(2)));
        let of = |station, shift| NoticeReadingId::of(notice, station, shift);
        assert_eq!(of(station, "A shift"), of(station, "a SHIFT"));
        assert_ne!(of(station, "A shift"), of(station, "B shift"));
        assert_ne!(of(station, "A shift"), of(StationId(Uuid::from_u128(3)), "A shift"));
    }
}
