//! Story time. What lies further back than the last day happens at an hour of the wall clock, so that weekly checks
//! fall in the morning; what belongs to the last hours is counted back from the end, so that it is never in the future.

use crate::TIME_ZONE;
use chrono::{DateTime, Months, NaiveDate, NaiveTime, TimeDelta, TimeZone as _, Utc};
use chrono_tz::Tz;

const DAY: i64 = 24 * 60;
/// The last hours: what is told as so many minutes ago is told within them.
const LAST: i64 = 20 * 60;
/// How many days ago the story begins.
pub const FIRST_DAY: i64 = 181;

/// A moment of the story, in minutes from the midnight that begins its last day; the last hours count back from its end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct When(i64);

/// At an hour and minute so many days ago, two at least.
pub const fn day(ago: i64, hour: i64, minute: i64) -> When {
    When(-ago * DAY + hour * 60 + minute)
}

/// So many minutes before the story ends, within its last hours.
pub const fn before(minutes: i64) -> When {
    When(-minutes)
}

impl When {
    /// Later by so many minutes.
    pub const fn plus(self, minutes: i64) -> Self {
        Self(self.0 + minutes)
    }

    /// At an hour and minute so many days after the day of this moment.
    pub const fn days_on(self, days: i64, hour: i64, minute: i64) -> Self {
        Self((self.0.div_euclid(DAY) + days) * DAY + hour * 60 + minute)
    }

    /// Whether it is told by the wall clock or within the last hours; between the two lies nothing.
    pub const fn is_tellable(self) -> bool {
        let by_clock = self.0 >= -FIRST_DAY * DAY && self.0 < -DAY;
        by_clock || (self.0 >= -LAST && self.0 <= 0)
    }

    /// How many days ago.
    pub const fn ago(self) -> i64 {
        -self.0.div_euclid(DAY)
    }

    /// The date on which it is, for a story that ends on that day.
    pub fn date(self, today: NaiveDate) -> NaiveDate {
        days_before(today, self.ago().max(0))
    }

    /// The instant of the wall clock, for ids; the last hours fall before the last midnight.
    pub fn by_clock(self, today: NaiveDate) -> DateTime<Utc> {
        let minutes = u32::try_from(self.0.rem_euclid(DAY)).unwrap_or_default();
        local(self.date(today), minutes)
    }

    /// The instant at which it is told.
    pub fn told_at(self, end: DateTime<Utc>) -> DateTime<Utc> {
        if self.0 >= -LAST {
            end + TimeDelta::minutes(self.0)
        } else {
            self.by_clock(today(end))
        }
    }
}

/// The date that it is in the county.
pub fn today(end: DateTime<Utc>) -> NaiveDate {
    TIME_ZONE
        .parse::<Tz>()
        .map_or_else(|_| end.date_naive(), |zone| end.with_timezone(&zone).date_naive())
}

/// When a story that ends on that day begins.
pub fn begins(today: NaiveDate) -> DateTime<Utc> {
    day(FIRST_DAY, 8, 0).by_clock(today)
}

/// So many days before a date.
pub fn days_before(date: NaiveDate, days: i64) -> NaiveDate {
    date.checked_sub_signed(TimeDelta::days(days)).unwrap_or(date)
}

/// The same day so many years before, for a life counted in years.
pub fn years_before(date: NaiveDate, years: u32) -> NaiveDate {
    date.checked_sub_months(Months::new(years.saturating_mul(12))).unwrap_or(date)
}

fn local(date: NaiveDate, minutes: u32) -> DateTime<Utc> {
    let at = date.and_time(NaiveTime::MIN) + TimeDelta::minutes(i64::from(minutes));
    let zone = TIME_ZONE.parse::<Tz>().unwrap_or(Tz::UTC);
    // Where a clock change skips this hour, the next one that there is.
    let found = zone
        .from_local_datetime(&at)
        .earliest()
        .or_else(|| zone.from_local_datetime(&(at + TimeDelta::hours(1))).earliest());
    found.map_or_else(|| at.and_utc(), |at| at.to_utc())
}
