//! The plan, or what stands in its way, in the shape in which it is sent.

use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// What came of it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Verdict {
    /// A plan.
    Planned,
    /// There is none of all sets, for certain; a plan of the others is there.
    Partly,
    /// There is none, for certain.
    Impossible,
    /// None was found in the work allowed; there may be one.
    NotFound,
}

/// When and where a set is served.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Assigned {
    /// The tool set that is served.
    pub set: Uuid,
    /// The period, from 0.
    pub period: usize,
    /// The shop that serves the set.
    pub shop: Uuid,
    /// Periods after the one by which it was due.
    pub late: usize,
    /// The reserve set that restores its rig meanwhile; none: its district can spare the rig, or it is itself a reserve set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub stand_in: Option<Uuid>,
}

/// Hours of a shop in a period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ShopLoad {
    /// The shop that has these hours to do.
    pub shop: Uuid,
    /// Hours in each period.
    pub hours: Vec<f64>,
}

/// What kind of thing stands in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum ObstacleKind {
    /// A set has no period: its window is empty, or no shop has its hours there.
    NoPlace,
    /// A district must spare more sets in these periods than it can.
    SlotsShort,
    /// The shops have fewer hours in these periods than the sets need.
    HoursShort,
    /// Hours and limits would do for sets cut into pieces, but not for whole ones.
    WholeSets,
}

/// Something that stands in the way.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Obstacle {
    /// What there is too little of: places, slots, hours, or room for whole sets.
    pub kind: ObstacleKind,
    /// The districts of the sets.
    pub districts: Vec<Uuid>,
    /// The periods, from 0.
    pub periods: Vec<usize>,
    /// The sets that can go nowhere else.
    pub sets: Vec<Uuid>,
    /// What they need there: slots or hours.
    pub needs: f64,
    /// What there is of it, in the same measure as `needs`.
    pub has: f64,
    /// The same in a sentence for people.
    pub words: String,
}

/// Something that, with all the others in its list, makes a plan possible.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Relief {
    /// One more stand-in, or a lower minimum, for this district; or
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub district: Option<Uuid>,
    /// more hours at this shop;
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shop: Option<Uuid>,
    /// or a window for this set.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub set: Option<Uuid>,
    /// In which period, from 0.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub period: Option<usize>,
    /// How many slots or hours more.
    pub more: f64,
    /// The same in a sentence for people.
    pub words: String,
}

/// A year's plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ServicePlan {
    /// Whether there is one.
    pub verdict: Verdict,
    /// Each set that is planned, in the order handed in; empty without a plan.
    pub plan: Vec<Assigned>,
    /// The sets that are not planned where others are, the fewest that can be.
    pub unplanned: Vec<Uuid>,
    /// Periods after the due ones, all planned sets together.
    pub lateness: usize,
    /// No plan of these sets has less.
    pub lateness_bound: usize,
    /// The most hours of any shop in any period.
    pub peak_hours: f64,
    /// No plan with that lateness has less.
    pub peak_bound: f64,
    /// True: no plan of these sets has less lateness, none with as little a lower peak; without a plan: there is none.
    pub proved: bool,
    /// What each shop has to do.
    pub loads: Vec<ShopLoad>,
    /// What stands in the way of a plan.
    pub obstacles: Vec<Obstacle>,
    /// What, all together, would make one possible: a draft was made with it.
    pub reliefs: Vec<Relief>,
    /// The same in a sentence for people.
    pub words: String,
}
