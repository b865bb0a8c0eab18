//! From one day to another, both included, in the agency's time zone.

use chrono::{DateTime, Days, NaiveDate, Utc};
use chrono_tz::Tz;
use serde::Deserialize;
use utoipa::IntoParams;

use crate::{
    platform::error::{self, Fault},
    slices::agencies::day_begins,
};

/// Between which days.
#[derive(Debug, Clone, Copy, Default, Deserialize, IntoParams)]
#[into_params(parameter_in = Query)]
#[serde(deny_unknown_fields)]
pub struct PeriodQuery {
    /// From this day on; from the first record unless said.
    pub from: Option<NaiveDate>,
    /// Up to the end of this day; up to now unless said.
    pub until: Option<NaiveDate>,
}

/// A time that is looked at.
#[derive(Debug, Clone, Copy)]
pub struct Period {
    /// From this instant on.
    pub from: DateTime<Utc>,
    /// Up to this one.
    pub until: DateTime<Utc>,
    /// Last day of the time, in the agency's zone; today at the latest.
    pub last_day: NaiveDate,
    first_day: Option<NaiveDate>,
    zone: Tz,
}

/// No agency has a record from before.
const FIRST: Option<NaiveDate> = NaiveDate::from_ymd_opt(1900, 1, 1);

impl Period {
    /// The period that was asked for.
    pub fn of(asked: PeriodQuery, zone: Tz, now: DateTime<Utc>) -> Result<Self, Fault> {
        let refused = |field: &str, words: &str| Err(Fault::new(error::QUERY_INVALID, words).at(field));
        let today = now.with_timezone(&zone).date_naive();
        let last_day = asked.until.unwrap_or(today);
        if last_day > today {
            return refused("until", "This day has not come yet; leave `until` out for now");
        }
        if FIRST.is_some_and(|first| last_day < first) {
            return refused("until", "Name a day of this century or the last one");
        }
        if asked.from.is_some_and(|from| from > last_day) {
            return refused("from", "The first day comes after the last one; exchange `from` and `until`");
        }
        if asked.from.zip(FIRST).is_some_and(|(from, first)| from < first) {
            return refused("from", "Name a day of this century or the last one");
        }
        let until = last_day.checked_add_days(Days::new(1)).map_or(now, |next| day_begins(next, zone).min(now));
        Ok(Self {
            from: asked.from.map_or(DateTime::<Utc>::MIN_UTC, |from| day_begins(from, zone)),
            until,
            last_day,
            first_day: asked.from,
            zone,
        })
    }

    /// The first day: the one that was asked for, else that of the first record.
    pub fn first_day(&self, first: Option<DateTime<Utc>>) -> NaiveDate {
        let recorded = first.map(|first| first.with_timezone(&self.zone).date_naive());
        self.first_day.or(recorded).unwrap_or(self.last_day)
    }

    /// The first instant of a day.
    pub fn begins(&self, day: NaiveDate) -> DateTime<Utc> {
        day_begins(day, self.zone)
    }
}
