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

/// What differs from the usual for one set.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanHours {
    /// The tool set that differs; the list names it once.
    pub set: ToolSetId,
    /// Hours of work; left out: the usual ones.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hours: Option<f64>,
    /// It may be served so many days before it is due; left out: as the others.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 3650)]
    pub early_days: Option<u32>,
    /// And so many days after.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(minimum = 0, maximum = 3650)]
    pub late_days: Option<u32>,
}

/// Other hours of a shop in a single period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanShopPeriod {
    /// The period, from 0.
    pub period: u32,
    /// Its hours there; 0 for none.
    #[schema(minimum = 0)]
    pub hours: f64,
}

/// Another limit of a district in a single period.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanCapPeriod {
    /// The period, from 0.
    pub period: u32,
    /// The most sets of its rigs that may be away there.
    pub most_away: u32,
}

/// What a shop has for the plan.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanShop {
    /// The shop that serves sets; the list names it once.
    pub shop: ShopId,
    /// Its hours in each period.
    pub hours: f64,
    /// The periods in which it is closed, from 0, each once.
    #[serde(default)]
    #[schema(max_items = 128)]
    pub closed: Vec<u32>,
    /// The periods in which it has other hours, each once.
    #[serde(default)]
    #[schema(max_items = 128)]
    pub periods: Vec<PlanShopPeriod>,
}

impl PlanShop {
    /// Its hours in a period.
    pub fn hours_in(&self, period: u32) -> f64 {
        if self.closed.contains(&period) {
            return 0.0;
        }
        self.periods.iter().find(|own| own.period == period).map_or(self.hours, |own| own.hours)
    }
}

/// What a district can spare, where a person says so.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanCap {
    /// The district that the limit holds for; the list names it once.
    pub district: DistrictId,
    /// The most sets of its rigs that may be away at once, stand-ins or not; left out: as reckoned.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub most_away: Option<u32>,
    /// The periods in which it is another number, each once.
    #[serde(default)]
    #[schema(max_items = 128)]
    pub periods: Vec<PlanCapPeriod>,
}

impl PlanCap {
    /// What a person says of a period; none where it is reckoned.
    pub fn said(&self, period: u32) -> Option<u32> {
        let own = self.periods.iter().find(|own| own.period == period);
        own.map(|own| own.most_away).or(self.most_away)
    }
}

/// A set whose place in the plan is settled; it may lie outside of the set's window.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanPin {
    /// The tool set whose place is settled; the list names it once.
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
    /// How many periods follow each other without a gap, 1 to 128.
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
    /// Sets with other hours, or with days of their own, 2,000 at most.
    #[serde(default)]
    #[schema(max_items = 2000)]
    pub hours: Vec<PlanHours>,
    /// The shops that serve them, 200 at most.
    #[serde(default)]
    #[schema(max_items = 200)]
    pub shops: Vec<PlanShop>,
    /// What districts can spare; left out, it is full rigs as they are now less the minimum, and what reserve sets restore meanwhile.
    /// 500 districts at most.
    #[serde(default)]
    #[schema(max_items = 500)]
    pub caps: Vec<PlanCap>,
    /// What is settled already, 2,000 sets at most.
    #[serde(default)]
    #[schema(max_items = 2000)]
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
    /// The tool set that is served; a plan visits it once.
    pub set: ToolSetId,
    /// Its name when the plan was made.
    pub name: String,
    /// Its district, where it has one.
    #[serde(default)]
    pub district: Option<DistrictId>,
    /// The period, from 0.
    pub period: u32,
    /// The shop that serves the set.
    pub shop: ShopId,
    /// Hours of work at the shop, above 0 and at most 1,000,000.
    pub hours: f64,
    /// When the first of its annual services is due.
    pub due_on: NaiveDate,
    /// Periods after the due one.
    #[serde(default)]
    pub late: u32,
    /// Whether a person settled it.
    #[serde(default)]
    pub pinned: bool,
    /// The reserve set that restores its rig meanwhile; none where its district can spare the rig.
    #[serde(default)]
    pub stand_in: Option<ToolSetId>,
}

/// A plan of annual services that is kept.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct ServicePlanRecord {
    /// UUID that the plan was made with; it never changes.
    pub id: ServicePlanId,
    /// What people call the plan, 1 to 200 characters.
    pub name: String,
    /// How far it is.
    pub state: PlanState,
    /// The first day of its first period.
    pub first_day: NaiveDate,
    /// Days of each period.
    pub period_days: u32,
    /// How many periods the plan has, 1 to 128.
    pub periods: u32,
    /// Free words about the plan, up to 4,000 characters; null: none.
    pub note: Option<String>,
    /// What it was worked out from.
    pub asked: PlanAsk,
    /// When and where each set is served, a set once at most.
    #[schema(max_items = 2000)]
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
    /// Who published it; null while it never was.
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
