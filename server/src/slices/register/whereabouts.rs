//! Where a piece is, by the names of places, and the places that the agency has.

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

/// Where a piece is, by names; the names are those under "places", or known to the agency.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(tag = "at", rename_all = "snake_case")]
pub enum ReadPlace {
    /// On a rig.
    Rig {
        /// Its name.
        rig: String,
    },
    /// On a station's reserve shelf.
    Shelf {
        /// The station's name.
        station: String,
    },
    /// In a shop.
    Shop {
        /// Its name.
        shop: String,
    },
    /// With somebody outside who mends or tests it.
    Vendor {
        /// Who.
        name: String,
        /// When it is due back.
        due_on: Option<NaiveDate>,
    },
    /// Lent to somebody outside the agency.
    Loan {
        /// To whom.
        name: String,
        /// When it is due back.
        due_on: Option<NaiveDate>,
    },
    /// On its way.
    Transit {
        /// Where to.
        #[schema(no_recursion)]
        to: Box<ReadPlace>,
    },
    /// Out of the register.
    Retired,
}

/// Which new rigs and stations a file may bring in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum CreatePlaces {
    /// Those that the file bears out.
    #[default]
    ByEvidence,
    /// Every one that is named.
    All,
}

/// A station that the agency has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownStation {
    /// Its name.
    pub name: String,
    /// Its number, as the agency writes it.
    pub number: Option<String>,
    /// Its district's name.
    pub district: String,
}

/// A rig that the agency has.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownRig {
    /// Its name.
    pub name: String,
    /// Its station's name.
    pub station: String,
}

/// The places that the agency has.
#[derive(Debug, Clone, Default)]
pub struct KnownPlaces {
    /// Names of districts.
    pub districts: Vec<String>,
    /// Stations.
    pub stations: Vec<KnownStation>,
    /// Rigs.
    pub rigs: Vec<KnownRig>,
    /// Names of shops.
    pub shops: Vec<String>,
}

/// What one row says about its place.
#[derive(Debug, Clone, Default)]
pub struct PlaceCells {
    /// Rig, shelf or shop.
    pub place: String,
    /// Station.
    pub station: String,
    /// District.
    pub district: String,
}

/// Where a row's piece is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Placed {
    /// The place.
    pub place: ReadPlace,
    /// The name of the station that it belongs to, where that is known.
    pub station: Option<String>,
    /// The name of that station's district.
    pub district: Option<String>,
    /// What was read otherwise than it stands there.
    pub note: Option<String>,
}
