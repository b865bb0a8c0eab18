//! Which sets are due, what districts can spare, what shops have; and the same as calc takes it.

use std::collections::BTreeMap;

use chrono::NaiveDate;
use fullset_calc::service_plan as calc;
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{feed::PlanAsk, rules::PlanPeriod};
use crate::slices::{districts::DistrictId, pieces::ToolSetId, shops::ShopId};

/// A set that is due in the plan.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DueSet {
    /// The tool set that is due.
    pub set: ToolSetId,
    /// The tool set's name.
    pub name: String,
    /// The district of its home, or of its pieces where it has none.
    pub district: Option<DistrictId>,
    /// Its home in words.
    pub home_words: String,
    /// How many pieces it has that are not retired.
    pub pieces: u32,
    /// When the first of its pieces' annual services is due.
    pub due_on: NaiveDate,
    /// The period by which it is due, from 0; the last one when that lies after the plan.
    pub due_period: u32,
    /// The first period in which it may be served.
    pub earliest: u32,
    /// The last period in which it may be served, from 0.
    pub latest: u32,
    /// Hours of work on it at the shop, as asked.
    pub hours: f64,
    /// Whether it is overdue when the plan begins.
    pub overdue: bool,
    /// Whether it counts among the sets that its district can spare: a rig's does while the rig is full, a reserve set where it can stand in.
    pub takes_place: bool,
    /// What is to be known about it, in words.
    pub words: String,
}

/// What a district can spare.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DueDistrict {
    /// The district whose rigs and reserve sets are counted.
    pub id: DistrictId,
    /// What people call the district.
    pub name: String,
    /// Its full rigs, now.
    pub full: u32,
    /// Its minimum of full rigs.
    pub minimum: u32,
    /// How many of its reserve sets count: each restores a full rig whose own set is away.
    pub stand_ins: u32,
    /// The most sets away at once, where every stand-in finds a rig that it restores; single periods may have less.
    pub most_away: u32,
    /// The most sets away in each period for which nothing stands in.
    pub by_period: Vec<u32>,
    /// Its reserve sets, and which rigs they restore.
    pub reserves: Vec<DueReserve>,
}

/// A reserve set of a district.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DueReserve {
    /// The reserve set, which is a tool set.
    pub set: ToolSetId,
    /// The tool set's name.
    pub name: String,
    /// The sets that it can stand in for at some time in the plan: with it aboard the rig is full without its own.
    pub for_sets: Vec<ToolSetId>,
    /// The same in words.
    pub words: String,
}

/// What a shop has.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DueShop {
    /// The shop, one of the plan's.
    pub id: ShopId,
    /// What people call the shop.
    pub name: String,
    /// Its hours in each period.
    pub hours: Vec<f64>,
}

/// What is not planned, and why.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PlanLeftOut {
    /// The set; none where several are counted together.
    pub set: Option<ToolSetId>,
    /// Its name, or how many.
    pub name: String,
    /// Why it is not planned, or not by all its pieces, in a sentence for people.
    pub words: String,
}

/// All that a plan is worked out from.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct DueYear {
    /// The plan's periods in order, 1 to 128; lists of numbers go by them.
    pub periods: Vec<PlanPeriod>,
    /// The sets that are due, by day.
    pub sets: Vec<DueSet>,
    /// The districts, by name.
    pub districts: Vec<DueDistrict>,
    /// The plan's shops, in the order asked.
    pub shops: Vec<DueShop>,
    /// What is not planned, and why.
    pub left_out: Vec<PlanLeftOut>,
    /// What stands in, by district.
    #[serde(skip)]
    pub stand_ins: BTreeMap<DistrictId, Vec<calc::StandIn>>,
}

/// A number as a place in a list.
pub fn size(n: u32) -> usize {
    usize::try_from(n).unwrap_or(usize::MAX)
}

/// How many there are.
pub fn count(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

impl DueYear {
    /// The same as calc takes it. Sets that take no place are in a district of their own, behind the others, which can spare them all.
    pub fn year(&self, ask: &PlanAsk) -> calc::Year {
        let shops: BTreeMap<ShopId, usize> = self.shops.iter().enumerate().map(|(at, shop)| (shop.id, at)).collect();
        let districts: BTreeMap<DistrictId, usize> = self.districts.iter().enumerate().map(|(at, district)| (district.id, at)).collect();
        let spared = self.districts.iter().map(|district| calc::District {
            id: district.id.0,
            name: district.name.clone(),
            most_away: district.by_period.iter().map(|most| size(*most)).collect(),
            stand_ins: self.stand_ins.get(&district.id).cloned().unwrap_or_default(),
        });
        let free = calc::District {
            id: Uuid::nil(),
            name: "the reserve".into(),
            most_away: vec![self.sets.len()],
            stand_ins: Vec::new(),
        };
        let sets = self.sets.iter().map(|set| calc::Set {
            id: set.set.0,
            name: set.name.clone(),
            district: set
                .district
                .filter(|_| set.takes_place)
                .and_then(|district| districts.get(&district).copied())
                .unwrap_or(districts.len()),
            hours: set.hours,
            earliest: size(set.earliest),
            latest: size(set.latest),
            due: size(set.due_period),
            shops: Vec::new(),
            pinned: ask.pins.iter().find(|pin| pin.set == set.set).and_then(|pin| {
                Some(calc::Pin {
                    period: size(pin.period),
                    shop: *shops.get(&pin.shop)?,
                })
            }),
        });
        calc::Year {
            periods: self.periods.iter().map(|period| period.name.clone()).collect(),
            sets: sets.collect(),
            shops: self
                .shops
                .iter()
                .map(|shop| calc::Shop {
                    id: shop.id.0,
                    name: shop.name.clone(),
                    hours: shop.hours.clone(),
                })
                .collect(),
            districts: spared.chain([free]).collect(),
        }
    }
}
