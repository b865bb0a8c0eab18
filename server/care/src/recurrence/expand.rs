//! The local times of a rule, period by period (RFC 5545, section 3.3.10).
//!
//! A period is a day, a week, a month or a year. Its days are taken one by one and kept where every part of the rule holds for them;
//! then the times of the day, then `BYSETPOS`. What the rule does not name, its start does. A day that a month does not have is
//! passed over, as section 3.3.10 asks.

use super::{ByDay, End, Frequency, Recurrence};
use chrono::{Datelike, Days, Months, NaiveDate, NaiveDateTime, NaiveTime, Timelike};
use std::collections::VecDeque;

/// The most periods that are gone through for one question, 219 years of days; a rule without an occurrence in them has none.
pub const MOST_PERIODS: u32 = 80_000;
/// No occurrence is looked for after this year.
pub const LAST_YEAR: i32 = 2199;

/// A rule with what its start adds to it.
#[derive(Debug, Clone)]
struct Filled<'a> {
    rule: &'a Recurrence,
    months: Vec<u32>,
    month_days: Vec<i32>,
    days: Vec<ByDay>,
    times: Vec<NaiveTime>,
}

impl<'a> Filled<'a> {
    fn new(rule: &'a Recurrence, start: NaiveDateTime) -> Self {
        let mut filled = Self {
            rule,
            months: rule.by_month.clone(),
            month_days: rule.by_month_day.clone(),
            days: rule.by_day.clone(),
            times: times(rule, start),
        };
        if rule.by_day.is_empty() && rule.by_month_day.is_empty() {
            match rule.frequency {
                Frequency::Daily => {}
                Frequency::Weekly => filled.days.push(ByDay {
                    nth: None,
                    weekday: start.weekday(),
                }),
                Frequency::Monthly | Frequency::Yearly => {
                    filled.month_days.extend(i32::try_from(start.day()));
                    if rule.frequency == Frequency::Yearly && rule.by_month.is_empty() {
                        filled.months.push(start.month());
                    }
                }
            }
        }
        filled
    }

    fn has_day(&self, day: NaiveDate) -> bool {
        (self.months.is_empty() || self.months.contains(&day.month()))
            && (self.month_days.is_empty() || self.month_days.iter().any(|nth| is_month_day(day, *nth)))
            && (self.days.is_empty() || self.days.iter().any(|wanted| self.is_by_day(day, *wanted)))
    }

    fn is_by_day(&self, day: NaiveDate, wanted: ByDay) -> bool {
        let Some(nth) = wanted.nth else { return day.weekday() == wanted.weekday };
        // Numbered within the months that are named, else within the year.
        let by_month = self.rule.frequency == Frequency::Monthly || !self.rule.by_month.is_empty();
        let (place, length) = if by_month {
            (day.day(), u32::from(day.num_days_in_month()))
        } else {
            (day.ordinal(), if day.leap_year() { 366 } else { 365 })
        };
        let counted = if nth > 0 { place.saturating_sub(1) } else { length.saturating_sub(place) } / 7 + 1;
        day.weekday() == wanted.weekday && counted == nth.unsigned_abs()
    }

    /// The local times of the period that begins on that day, in order.
    fn period(&self, days: impl Iterator<Item = NaiveDate>) -> Vec<NaiveDateTime> {
        let all: Vec<NaiveDateTime> = days
            .filter(|day| self.has_day(*day))
            .flat_map(|day| self.times.iter().map(move |time| day.and_time(*time)))
            .collect();
        if self.rule.by_set_pos.is_empty() {
            return all;
        }
        let place = |n: usize| i32::try_from(n).unwrap_or(i32::MAX);
        let wanted = |n: usize| {
            self.rule.by_set_pos.contains(&(place(n).saturating_add(1))) || self.rule.by_set_pos.contains(&(place(n).saturating_sub(place(all.len()))))
        };
        all.iter().enumerate().filter(|(n, _)| wanted(*n)).map(|(_, local)| *local).collect()
    }
}

fn times(rule: &Recurrence, start: NaiveDateTime) -> Vec<NaiveTime> {
    let or = |list: &[u32], own: u32| if list.is_empty() { vec![own] } else { list.to_vec() };
    let minutes = or(&rule.by_minute, start.minute());
    let hours = or(&rule.by_hour, start.hour());
    let each = hours.iter().flat_map(|hour| minutes.iter().map(move |minute| (*hour, *minute)));
    each.filter_map(|(hour, minute)| NaiveTime::from_hms_opt(hour, minute, start.second()))
        .collect()
}

fn is_month_day(day: NaiveDate, nth: i32) -> bool {
    let length = u32::from(day.num_days_in_month());
    let wanted = if nth > 0 {
        nth.unsigned_abs()
    } else {
        (length + 1).saturating_sub(nth.unsigned_abs())
    };
    day.day() == wanted
}

/// The local times of a rule from a day on, in order, each later than the one before.
#[derive(Debug, Clone)]
pub(super) struct LocalTimes<'a> {
    filled: Filled<'a>,
    start: NaiveDateTime,
    next_period: u32,
    periods_left: u32,
    counted: u32,
    found: VecDeque<NaiveDateTime>,
}

impl<'a> LocalTimes<'a> {
    /// From the period on in which that day lies, or the one before; a rule with a count always from its start.
    pub(super) fn new(rule: &'a Recurrence, start: NaiveDateTime, from: NaiveDate) -> Self {
        let next_period = match rule.end {
            End::Count(_) => 0,
            _ => period_of(rule, start.date(), from),
        };
        Self {
            filled: Filled::new(rule, start),
            start,
            next_period,
            periods_left: MOST_PERIODS,
            counted: 0,
            found: VecDeque::new(),
        }
    }

    /// Puts the next period's times in; `None` where there is no further one.
    fn fill(&mut self) -> Option<()> {
        self.periods_left = self.periods_left.checked_sub(1)?;
        let steps = self.next_period.checked_mul(self.filled.rule.interval)?;
        self.next_period = self.next_period.checked_add(1)?;
        let rule = self.filled.rule;
        let first = first_day(rule, self.start.date(), steps)?;
        if first.year() > LAST_YEAR {
            return None;
        }
        let length = match rule.frequency {
            Frequency::Daily => 1,
            Frequency::Weekly => 7,
            Frequency::Monthly => usize::from(first.num_days_in_month()),
            Frequency::Yearly => 366,
        };
        let days = first
            .iter_days()
            .take(length)
            .filter(|day| rule.frequency != Frequency::Yearly || day.year() == first.year());
        let times = self.filled.period(days);
        self.found.extend(times.into_iter().filter(|local| *local >= self.start));
        Some(())
    }
}

impl Iterator for LocalTimes<'_> {
    type Item = NaiveDateTime;

    fn next(&mut self) -> Option<NaiveDateTime> {
        loop {
            if let Some(local) = self.found.pop_front() {
                self.counted = self.counted.saturating_add(1);
                return match self.filled.rule.end {
                    End::Count(most) if self.counted > most => None,
                    End::UntilLocal(until) if local > until => None,
                    _ => Some(local),
                };
            }
            self.fill()?;
        }
    }
}

/// The first day of the period so many days, weeks, months or years after that of the start.
fn first_day(rule: &Recurrence, start: NaiveDate, steps: u32) -> Option<NaiveDate> {
    match rule.frequency {
        Frequency::Daily => start.checked_add_days(Days::new(u64::from(steps))),
        Frequency::Weekly => start
            .week(rule.week_start)
            .checked_first_day()?
            .checked_add_days(Days::new(u64::from(steps) * 7)),
        Frequency::Monthly => start.with_day(1)?.checked_add_months(Months::new(steps)),
        Frequency::Yearly => NaiveDate::from_ymd_opt(start.year().checked_add(i32::try_from(steps).ok()?)?, 1, 1),
    }
}

/// The number of the period in which a day lies, or of one before it.
fn period_of(rule: &Recurrence, start: NaiveDate, day: NaiveDate) -> u32 {
    let days = day.signed_duration_since(start).num_days();
    let years = i64::from(day.year()) - i64::from(start.year());
    let steps = match rule.frequency {
        Frequency::Daily => days,
        Frequency::Weekly => days.div_euclid(7),
        Frequency::Monthly => years * 12 + i64::from(day.month()) - i64::from(start.month()),
        Frequency::Yearly => years,
    };
    let periods = steps.div_euclid(i64::from(rule.interval)) - 1;
    u32::try_from(periods.max(0)).unwrap_or(u32::MAX)
}
