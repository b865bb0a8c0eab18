//! Days into periods, and what a plan may be worked out from.

use std::collections::{BTreeMap, BTreeSet};

use chrono::{Datelike as _, Days, NaiveDate};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::feed::{PlanAsk, PlanHours, PlanVisit};
use crate::{
    platform::error::Fault,
    slices::{districts::DistrictId, pieces::ToolSetId, shops::ShopId},
};

/// Most periods of a plan.
pub(super) const PERIODS: u32 = 128;
/// Most days that a window reaches before or after the day that a set is due.
const REACH: u32 = 3650;
/// Most hours of a shop in a period.
const HOURS: f64 = 1e6;

/// What an ask may name, with its name.
#[derive(Debug, Default)]
pub struct KnownNames {
    pub sets: BTreeMap<ToolSetId, String>,
    pub shops: BTreeMap<ShopId, String>,
    pub districts: BTreeMap<DistrictId, String>,
}

/// Refuses what is no amount of work.
fn hours(field: &str, given: f64) -> Result<(), Fault> {
    if given.is_finite() && given > 0.0 && given <= HOURS {
        Ok(())
    } else {
        Err(Fault::field(field, format!("Give the hours of work as a number above 0, at most {HOURS}")))
    }
}

fn once<T: Ord>(seen: &mut BTreeSet<T>, new: T, field: &str, what: &str) -> Result<(), Fault> {
    if seen.insert(new) {
        Ok(())
    } else {
        Err(Fault::field(field, format!("This {what} is named twice; name each once")))
    }
}

fn within(field: &str, given: u32, least: u32, most: u32) -> Result<(), Fault> {
    if (least..=most).contains(&given) {
        Ok(())
    } else {
        Err(Fault::field(field, format!("Give a whole number from {least} to {most}")))
    }
}

fn there<K: Ord + Into<Uuid> + Copy>(known: &BTreeMap<K, String>, id: K, field: &str, what: &str) -> Result<(), Fault> {
    if known.contains_key(&id) {
        Ok(())
    } else {
        Err(Fault::field(field, format!("There is no {what} with the id {}", id.into())))
    }
}

fn in_plan(ask: &PlanAsk, period: u32, field: &str) -> Result<(), Fault> {
    if period < ask.periods {
        Ok(())
    } else {
        Err(Fault::field(
            field,
            format!("The plan has {} periods; they are numbered from 0 to {}", ask.periods, ask.periods - 1),
        ))
    }
}

impl PlanAsk {
    /// Refuses what no plan can be worked out from; a fault names its field under `root`.
    pub fn check(&self, root: &str, known: &KnownNames) -> Result<(), Fault> {
        if !(2000..=9000).contains(&self.first_day.year()) {
            return Err(Fault::field(format!("{root}.first_day"), "A plan begins between the years 2000 and 9000"));
        }
        within(&format!("{root}.period_days"), self.period_days, 1, 366)?;
        within(&format!("{root}.periods"), self.periods, 1, PERIODS)?;
        within(&format!("{root}.early_days"), self.early_days, 0, REACH)?;
        within(&format!("{root}.late_days"), self.late_days, 0, REACH)?;
        hours(&format!("{root}.hours_per_set"), self.hours_per_set)?;
        let mut seen = BTreeSet::new();
        for (at, own) in self.hours.iter().enumerate() {
            let field = format!("{root}.hours[{at}]");
            there(&known.sets, own.set, &format!("{field}.set"), "tool set")?;
            once(&mut seen, own.set, &format!("{field}.set"), "set")?;
            if let Some(given) = own.hours {
                hours(&format!("{field}.hours"), given)?;
            }
            for (days, name) in [(own.early_days, "early_days"), (own.late_days, "late_days")] {
                within(&format!("{field}.{name}"), days.unwrap_or_default(), 0, REACH)?;
            }
        }
        let mut seen = BTreeSet::new();
        for (at, shop) in self.shops.iter().enumerate() {
            let field = format!("{root}.shops[{at}]");
            there(&known.shops, shop.shop, &format!("{field}.shop"), "shop")?;
            once(&mut seen, shop.shop, &format!("{field}.shop"), "shop")?;
            hours(&format!("{field}.hours"), shop.hours)?;
            for (n, period) in shop.closed.iter().enumerate() {
                in_plan(self, *period, &format!("{field}.closed[{n}]"))?;
            }
            let mut named = BTreeSet::new();
            for (n, own) in shop.periods.iter().enumerate() {
                let field = format!("{field}.periods[{n}]");
                in_plan(self, own.period, &format!("{field}.period"))?;
                once(&mut named, own.period, &format!("{field}.period"), "period")?;
                // None at all is an answer too.
                if own.hours.abs() > 0.0 {
                    hours(&format!("{field}.hours"), own.hours)?;
                }
            }
        }
        let mut seen = BTreeSet::new();
        for (at, cap) in self.caps.iter().enumerate() {
            let field = format!("{root}.caps[{at}].district");
            there(&known.districts, cap.district, &field, "district")?;
            once(&mut seen, cap.district, &field, "district")?;
            let mut named = BTreeSet::new();
            for (n, own) in cap.periods.iter().enumerate() {
                let field = format!("{root}.caps[{at}].periods[{n}].period");
                in_plan(self, own.period, &field)?;
                once(&mut named, own.period, &field, "period")?;
            }
        }
        self.check_pins(root, known)
    }

    fn check_pins(&self, root: &str, known: &KnownNames) -> Result<(), Fault> {
        let mut seen = BTreeSet::new();
        for (at, pin) in self.pins.iter().enumerate() {
            let field = format!("{root}.pins[{at}]");
            there(&known.sets, pin.set, &format!("{field}.set"), "tool set")?;
            once(&mut seen, pin.set, &format!("{field}.set"), "set")?;
            in_plan(self, pin.period, &format!("{field}.period"))?;
            there(&known.shops, pin.shop, &format!("{field}.shop"), "shop")?;
            let Some(shop) = self.shops.iter().find(|shop| shop.shop == pin.shop) else {
                return Err(Fault::field(
                    format!("{field}.shop"),
                    "This shop is not among the plan's; add it there with its hours",
                ));
            };
            if shop.hours_in(pin.period) <= 0.0 {
                return Err(Fault::field(
                    format!("{field}.period"),
                    "The shop is closed in this period; open it there, or settle the set elsewhere",
                ));
            }
        }
        Ok(())
    }

    /// The first day of a period; the day after the plan for the number of its periods.
    pub fn day(&self, period: u32) -> NaiveDate {
        let days = Days::new(u64::from(period) * u64::from(self.period_days));
        self.first_day.checked_add_days(days).unwrap_or(NaiveDate::MAX)
    }

    /// The last day of the plan.
    pub fn end(&self) -> NaiveDate {
        let after = self.day(self.periods);
        after.pred_opt().unwrap_or(after)
    }

    /// The period that a day lies in; negative before the plan, beyond its number of periods after it.
    pub fn period_of(&self, day: NaiveDate) -> i64 {
        (day - self.first_day).num_days().div_euclid(i64::from(self.period_days.max(1)))
    }

    /// The number of the last period.
    pub fn last(&self) -> u32 {
        self.periods.saturating_sub(1)
    }

    /// The first period that is not over today; none when the plan is.
    pub fn begins(&self, today: NaiveDate) -> Option<u32> {
        let now = self.period_of(today).max(0);
        u32::try_from(now).ok().filter(|period| *period < self.periods)
    }

    /// The hours of work on a set.
    pub fn hours_of(&self, set: ToolSetId) -> f64 {
        self.own(set).and_then(|own| own.hours).unwrap_or(self.hours_per_set)
    }

    fn own(&self, set: ToolSetId) -> Option<&PlanHours> {
        self.hours.iter().find(|own| own.set == set)
    }

    /// The days before and after its due day in which a set may be served.
    pub fn days_of(&self, set: ToolSetId) -> (u32, u32) {
        let own = self.own(set);
        (
            own.and_then(|own| own.early_days).unwrap_or(self.early_days),
            own.and_then(|own| own.late_days).unwrap_or(self.late_days),
        )
    }

    /// What a person says that a district can spare in a period; none where it is reckoned.
    pub fn said(&self, district: DistrictId, period: u32) -> Option<u32> {
        self.caps.iter().find(|cap| cap.district == district)?.said(period)
    }

    /// The periods of the plan, with their names.
    pub fn named_periods(&self) -> Vec<PlanPeriod> {
        (0..self.periods)
            .map(|period| {
                let (first_day, next) = (self.day(period), self.day(period + 1));
                PlanPeriod {
                    first_day,
                    last_day: next.pred_opt().unwrap_or(next),
                    name: match self.period_days {
                        1 => first_day.to_string(),
                        7 => format!("the week of {first_day}"),
                        days => format!("the {days} days from {first_day}"),
                    },
                }
            })
            .collect()
    }
}

/// One period of a plan.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct PlanPeriod {
    /// Calendar day on which the period begins.
    pub first_day: NaiveDate,
    /// Calendar day on which the period ends, itself included.
    pub last_day: NaiveDate,
    /// What people call it.
    pub name: String,
}

/// The periods in which a set may be served.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Window {
    pub earliest: u32,
    pub due: u32,
    pub latest: u32,
    pub overdue: bool,
}

/// The window of a set that is due on a day, so many days before and after; none when it begins after the plan's end. A period belongs to the
/// window when one of its days does. What is overdue when the plan begins, or today where that is later, is due at once.
pub fn window(ask: &PlanAsk, due_on: NaiveDate, today: NaiveDate, (early_days, late_days): (u32, u32)) -> Option<Window> {
    let begins = ask.begins(today)?;
    let starts = ask.first_day.max(today);
    let shifted = |day: NaiveDate, days: u32| day.checked_add_days(Days::new(u64::from(days))).unwrap_or(NaiveDate::MAX);
    let early = due_on.checked_sub_days(Days::new(u64::from(early_days))).unwrap_or(NaiveDate::MIN);
    let clipped = |period: i64| u32::try_from(period.clamp(i64::from(begins), i64::from(ask.last()))).unwrap_or(begins);
    if ask.period_of(early) > i64::from(ask.last()) {
        return None;
    }
    let overdue = due_on < starts;
    let last = if overdue { starts } else { due_on };
    Some(Window {
        earliest: clipped(ask.period_of(early)),
        due: clipped(ask.period_of(due_on)),
        latest: clipped(ask.period_of(shifted(last, late_days))),
        overdue,
    })
}

/// Refuses visits that no plan can hold; what they do not say truly about themselves is put right: the set's name.
pub fn check_visits(ask: &PlanAsk, visits: &mut [PlanVisit], known: &KnownNames) -> Result<(), Fault> {
    let mut seen = BTreeSet::new();
    for (at, visit) in visits.iter_mut().enumerate() {
        let field = format!("body.visits[{at}]");
        there(&known.sets, visit.set, &format!("{field}.set"), "tool set")?;
        once(&mut seen, visit.set, &format!("{field}.set"), "set")?;
        in_plan(ask, visit.period, &format!("{field}.period"))?;
        there(&known.shops, visit.shop, &format!("{field}.shop"), "shop")?;
        if let Some(stand_in) = visit.stand_in {
            there(&known.sets, stand_in, &format!("{field}.stand_in"), "tool set")?;
        }
        if let Some(district) = visit.district {
            there(&known.districts, district, &format!("{field}.district"), "district")?;
        }
        hours(&format!("{field}.hours"), visit.hours)?;
        if visit.late > visit.period {
            return Err(Fault::field(format!("{field}.late"), "A set is late by the number of its period at most"));
        }
        if let Some(name) = known.sets.get(&visit.set) {
            visit.name.clone_from(name);
        }
    }
    Ok(())
}

/// Periods late of all visits, and the most hours of a shop in a period.
pub fn sums(visits: &[PlanVisit]) -> (u32, f64) {
    let mut loads: BTreeMap<(ShopId, u32), f64> = BTreeMap::new();
    for visit in visits {
        *loads.entry((visit.shop, visit.period)).or_default() += visit.hours;
    }
    (
        visits.iter().fold(0, |all: u32, visit| all.saturating_add(visit.late)),
        loads.into_values().fold(0.0, f64::max),
    )
}

/// The sets that two plans both visit where they share days: a visit of either on a day of the other.
pub fn clashes<'a>(ask: &PlanAsk, visits: &'a [PlanVisit], other: &PlanAsk, others: &[PlanVisit]) -> Vec<&'a PlanVisit> {
    let inside = |of: &PlanAsk, period: u32, plan: &PlanAsk| of.day(period) < plan.day(plan.periods) && plan.first_day < of.day(period + 1);
    visits
        .iter()
        .filter(|visit| {
            others
                .iter()
                .any(|held| held.set == visit.set && (inside(other, held.period, ask) || inside(ask, visit.period, other)))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn ask(first_day: &str) -> PlanAsk {
        serde_json::from_value(serde_json::json!({ "first_day": first_day, "periods": 10 })).unwrap()
    }

    fn told(due_on: &str, today: &str) -> Option<(u32, u32, u32, bool)> {
        window(&ask("2026-12-07"), day(due_on), day(today), (28, 28)).map(|w| (w.earliest, w.due, w.latest, w.overdue))
    }

    #[test]
    fn a_window_is_of_whole_periods_around_the_due_day() {
        // Due on the Sunday that ends the sixth week; 28 days before is the second week's Sunday, 28 days after the tenth's.
        assert_eq!(told("2027-01-17", "2026-11-25"), Some((1, 5, 9, false)));
        assert_eq!(told("2027-01-18", "2026-11-25"), Some((2, 6, 9, false)), "cut off at the plan's end");
    }

    #[test]
    fn what_is_overdue_is_due_at_once_and_has_its_days_from_then() {
        assert_eq!(told("2026-12-06", "2026-11-25"), Some((0, 0, 4, true)));
        assert_eq!(told("2020-01-01", "2026-11-25"), Some((0, 0, 4, true)));
        assert_eq!(told("2026-12-07", "2026-11-25"), Some((0, 0, 4, false)));
    }

    #[test]
    fn nothing_is_served_in_a_period_that_is_over() {
        assert_eq!(told("2026-12-09", "2026-12-22"), Some((2, 2, 6, true)));
        assert_eq!(told("2026-12-30", "2026-12-22"), Some((2, 3, 7, false)));
        assert_eq!(told("2026-12-30", "2027-02-15"), None, "the plan is over");
    }

    #[test]
    fn a_window_behind_the_end_is_none() {
        // The plan's last day is 14 February 2027.
        assert_eq!(told("2027-03-14", "2026-11-25"), Some((9, 9, 9, false)));
        assert_eq!(told("2027-03-15", "2026-11-25"), None);
    }

    #[test]
    fn days_at_the_end_of_time_are_no_trouble() {
        assert_eq!(told("9000-12-31", "2026-11-25"), None);
        let far: PlanAsk = serde_json::from_value(serde_json::json!({ "first_day": "9000-12-31", "period_days": 366, "periods": 128 })).unwrap();
        assert_eq!(far.named_periods().len(), 128);
    }
}
