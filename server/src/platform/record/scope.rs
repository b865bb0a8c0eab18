//! Where a record belongs: which feeds hold it, whose reach it is in, and what it leaves when it comes to another place.

use diesel::prelude::*;
use uuid::Uuid;

use super::{Of, Row};
use crate::platform::db::{
    schema::{departure, record},
    types::Uid,
};

/// Where a record belongs. The feed of each place in [`Scope::places`] holds the record; a member's reach, and lists, look at
/// where it is alone.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Scope {
    /// The district that it is in.
    pub district: Option<Uuid>,
    /// The station that it is at.
    pub station: Option<Uuid>,
    /// The rig that it is on.
    pub rig: Option<Uuid>,
    /// The shop that it is in.
    pub shop: Option<Uuid>,
    /// Where it has its home; none where it has none, or is there.
    pub home: Option<Home>,
}

/// Where a record has its home, while it is elsewhere.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Home {
    /// The home's district.
    pub district: Option<Uuid>,
    /// The home's station.
    pub station: Option<Uuid>,
    /// The home rig.
    pub rig: Option<Uuid>,
}

/// What kind of place a feed names.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord)]
pub enum Level {
    /// A district.
    District,
    /// A station.
    Station,
    /// A rig.
    Rig,
    /// A shop.
    Shop,
}

impl Level {
    /// Its word, which is that of the place's record kind.
    pub const fn word(self) -> &'static str {
        match self {
            Self::District => "district",
            Self::Station => "station",
            Self::Rig => "rig",
            Self::Shop => "shop",
        }
    }
}

impl Home {
    fn of(scope: Scope) -> Self {
        Self {
            district: scope.district,
            station: scope.station,
            rig: scope.rig,
        }
    }
}

impl Scope {
    /// The same place, of a record that has its home in another one.
    #[must_use]
    pub fn with_home(self, home: Self) -> Self {
        let (at, home) = (Home::of(self), Home::of(home));
        Self {
            home: (home != at && home != Home::default()).then_some(home),
            ..self
        }
    }

    /// The home as a place; where the record is, unless it is elsewhere than at home.
    fn home_place(self) -> Self {
        self.home.map_or(Self { home: None, ..self }, |home| Self {
            district: home.district,
            station: home.station,
            rig: home.rig,
            shop: None,
            home: None,
        })
    }

    /// The same after a rig has come to another station, or a station to another district: `to` is where that rig or station is now.
    #[must_use]
    pub fn carried(self, of: Of, to: Self) -> Self {
        let carry = |place: Self| match of {
            Of::Rig(rig) if place.rig == Some(rig) => Self {
                district: to.district,
                station: to.station,
                ..place
            },
            Of::Station(station) if place.station == Some(station) => Self {
                district: to.district,
                ..place
            },
            _ => place,
        };
        let at = carry(Self { home: None, ..self });
        match self.home {
            Some(_) => at.with_home(carry(self.home_place())),
            None => at,
        }
    }

    /// Every place whose feed holds the record: those where it is, and those where it has its home. This is the whole rule.
    pub fn places(self) -> impl Iterator<Item = (Level, Uuid)> {
        let home = self.home.unwrap_or_default();
        let all = [
            (Level::District, self.district),
            (Level::Station, self.station),
            (Level::Rig, self.rig),
            (Level::Shop, self.shop),
            (Level::District, home.district.filter(|_| home.district != self.district)),
            (Level::Station, home.station.filter(|_| home.station != self.station)),
            (Level::Rig, home.rig.filter(|_| home.rig != self.rig)),
        ];
        all.into_iter().filter_map(|(level, id)| Some((level, id?)))
    }

    /// The places whose feeds hold the record no more after it has come to another scope.
    pub fn left_for(self, new: Self) -> impl Iterator<Item = (Level, Uuid)> {
        self.places().filter(move |place| !new.places().any(|held| held == *place))
    }
}

/// The columns of a row that say where the record belongs.
#[derive(Debug, Clone, Copy, Queryable, Selectable)]
#[diesel(table_name = record)]
pub struct ScopeRow {
    district: Option<Uid>,
    station: Option<Uid>,
    rig: Option<Uid>,
    shop: Option<Uid>,
    home_district: Option<Uid>,
    home_station: Option<Uid>,
    home_rig: Option<Uid>,
}

impl From<ScopeRow> for Scope {
    fn from(row: ScopeRow) -> Self {
        let id = |id: Option<Uid>| id.map(|id| id.0);
        let home = Home {
            district: id(row.home_district),
            station: id(row.home_station),
            rig: id(row.home_rig),
        };
        Self {
            district: id(row.district),
            station: id(row.station),
            rig: id(row.rig),
            shop: id(row.shop),
            home: (home != Home::default()).then_some(home),
        }
    }
}

/// A row of `departure`: a record ceased to belong to a place.
#[derive(Debug, Clone, PartialEq, Eq, Insertable)]
#[diesel(table_name = departure)]
pub struct Departure {
    pub agency: Uid,
    pub place: Uid,
    pub rev: i64,
    pub kind: String,
    pub id: Uid,
    pub level: &'static str,
}

impl Row {
    /// Where the record belongs.
    pub fn scope(&self) -> Scope {
        Scope::from(ScopeRow {
            district: self.district,
            station: self.station,
            rig: self.rig,
            shop: self.shop,
            home_district: self.home_district,
            home_station: self.home_station,
            home_rig: self.home_rig,
        })
    }

    /// Says where the record belongs.
    pub fn put_in(&mut self, scope: Scope) {
        let home = scope.home.unwrap_or_default();
        self.district = scope.district.map(Uid);
        self.station = scope.station.map(Uid);
        self.rig = scope.rig.map(Uid);
        self.shop = scope.shop.map(Uid);
        self.home_district = home.district.map(Uid);
        self.home_station = home.station.map(Uid);
        self.home_rig = home.rig.map(Uid);
    }

    /// The marks of what the record leaves for another scope at a revision.
    pub fn departures(&self, new: Scope, rev: i64) -> impl Iterator<Item = Departure> + '_ {
        self.scope().left_for(new).map(move |(level, place)| Departure {
            agency: self.agency,
            place: Uid(place),
            rev,
            kind: self.kind.clone(),
            id: self.id,
            level: level.word(),
        })
    }
}
