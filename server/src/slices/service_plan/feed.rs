use chrono::{DateTime, NaiveDate, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        person::Person,
        record::{Index, Record},
    },
    slices::{districts::DistrictId, pieces::ToolSetId, shops::ShopId},
};

crate::id!(
    /// A service plan.
    ServicePlanId
);

/// How far a plan is.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum PlanState {
    /// It may still be changed.
    Draft,
    /// It holds.
    Published,
    /// It holds no longer, or never did.
    Withdrawn,
}

impl PlanState {
    /// The state in one word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Draft => "draft",
            Self::Published => "published",
            Self::Withdrawn => "withdrawn",
        }
    }
}

/// Hours of work on one set, where they differ from the usual.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanHours {
    /// Id of the tool set.
    pub set: ToolSetId,
    /// Hours of work.
    pub hours: f64,
}

/// What a shop has for the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanShop {
    /// Id of the shop.
    pub shop: ShopId,
    /// Its hours in each period.
    pub hours: f64,
    /// The periods in which it is closed, from 0.
    #[serde(default)]
    pub closed: Vec<u32>,
}

/// What a district can spare, where a person says so.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanCap {
    /// Id of the district.
    pub district: DistrictId,
    /// The most sets of its rigs that may be away at once.
    pub most_away: u32,
}

/// A set whose place in the plan is settled; it may lie outside of the set's window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanPin {
    /// Id of the tool set.
    pub set: ToolSetId,
    /// The period, from 0.
    pub period: u32,
    /// The shop, one of the plan's.
    pub shop: ShopId,
}

/// What a plan is worked out from.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanAsk {
    /// The first day of the first period.
    pub first_day: NaiveDate,
    /// Days of each period.
    #[serde(default = "a_week")]
    #[schema(minimum = 1, maximum = 366, default = 7)]
    pub period_days: u32,
    /// How many periods.
    #[serde(default = "a_year_of_weeks")]
    #[schema(minimum = 1, maximum = 128, default = 52)]
    pub periods: u32,
    /// A set may be served so many days before it is due.
    #[serde(default = "four_weeks")]
    #[schema(minimum = 0, maximum = 3650, default = 28)]
    pub early_days: u32,
    /// And so many days after.
    #[serde(default = "four_weeks")]
    #[schema(minimum = 0, maximum = 3650, default = 28)]
    pub late_days: u32,
    /// Hours of work on a set, unless said.
    #[serde(default = "half_a_day")]
    #[schema(minimum = 0, default = 4)]
    pub hours_per_set: f64,
    /// Sets with other hours.
    #[serde(default)]
    pub hours: Vec<PlanHours>,
    /// The shops that serve them.
    #[serde(default)]
    pub shops: Vec<PlanShop>,
    /// What districts can spare; left out, it is full rigs and stand-ins as they are now, less the minimum.
    #[serde(default)]
    pub caps: Vec<PlanCap>,
    /// What is settled already.
    #[serde(default)]
    pub pins: Vec<PlanPin>,
}

fn a_week() -> u32 {
    7
}

fn a_year_of_weeks() -> u32 {
    52
}

fn four_weeks() -> u32 {
    28
}

fn half_a_day() -> f64 {
    4.0
}

/// When and where a set is served.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanVisit {
    /// Id of the tool set.
    pub set: ToolSetId,
    /// Its name when the plan was made.
    pub name: String,
    /// Its district, where it has one.
    #[serde(default)]
    pub district: Option<DistrictId>,
    /// The period, from 0.
    pub period: u32,
    /// Id of the shop.
    pub shop: ShopId,
    /// Hours of work.
    pub hours: f64,
    /// When the first of its annual services is due.
    pub due_on: NaiveDate,
    /// Periods after the due one.
    #[serde(default)]
    pub late: u32,
    /// Whether a person settled it.
    #[serde(default)]
    pub pinned: bool,
}

/// A plan of annual services that is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ServicePlanRecord {
    /// Id of the service plan: the UUID that it was made with; it never changes.
    pub id: ServicePlanId,
    /// The plan's name.
    pub name: String,
    /// How far it is.
    pub state: PlanState,
    /// The first day of its first period.
    pub first_day: NaiveDate,
    /// Days of each period.
    pub period_days: u32,
    /// How many periods.
    pub periods: u32,
    /// Free note.
    pub note: Option<String>,
    /// What it was worked out from.
    pub asked: PlanAsk,
    /// Each set once.
    pub visits: Vec<PlanVisit>,
    /// Periods after the due ones, all sets together.
    pub lateness: u32,
    /// The most hours of any shop in any period.
    pub peak_hours: f64,
    /// Whether it was proved that no plan is better.
    pub proved: bool,
    /// When it was published.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub published_at: Option<DateTime<Utc>>,
    /// By whom.
    pub published_by: Option<Person>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for ServicePlanRecord {
    const KIND: &'static str = "service_plan";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        [PlanState::Draft, PlanState::Published, PlanState::Withdrawn].map(PlanState::word).into()
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            state: self.state.word().into(),
            ..Index::default()
        }
    }
}
