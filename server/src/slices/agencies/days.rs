//! Where days begin: in the agency's time zone, on both sides of a clock change.

use chrono::{DateTime, NaiveDate, NaiveTime, TimeZone as _, Utc};
use chrono_tz::Tz;

/// The first instant of a day in a zone; where a clock change skips midnight, the first that there is.
pub fn day_begins(day: NaiveDate, zone: Tz) -> DateTime<Utc> {
    let midnight = day.and_time(NaiveTime::MIN);
    (0..4)
        .find_map(|hours| zone.from_local_datetime(&(midnight + chrono::TimeDelta::hours(hours))).earliest())
        .map_or_else(|| midnight.and_utc(), |at| at.to_utc())
}

/// The day of an instant in a zone.
pub fn day_of(at: DateTime<Utc>, zone: Tz) -> NaiveDate {
    at.with_timezone(&zone).date_naive()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_day_begins_at_local_midnight_on_both_sides_of_a_clock_change() {
        let zone = chrono_tz::America::Denver;
        let begins = |y, m, d| day_begins(NaiveDate::from_ymd_opt(y, m, d).unwrap(), zone).to_rfc3339();
        assert_eq!(begins(2026, 3, 8), "2026-03-08T07:00:00+00:00");
        assert_eq!(begins(2026, 3, 9), "2026-03-09T06:00:00+00:00");
    }

    #[test]
    fn a_day_without_midnight_begins_at_its_first_instant() {
        // Beirut skipped from 00:00 to 01:00 on 28 March 2021 (tz database).
        let begins = day_begins(NaiveDate::from_ymd_opt(2021, 3, 28).unwrap(), chrono_tz::Asia::Beirut);
        assert_eq!(begins.to_rfc3339(), "2021-03-27T22:00:00+00:00");
    }

    #[test]
    fn an_instant_late_in_the_evening_is_of_its_own_day() {
        let at = |text: &str| text.parse::<DateTime<Utc>>().unwrap();
        let zone = chrono_tz::America::Denver;
        assert_eq!(day_of(at("2026-11-26T06:59:00Z"), zone).to_string(), "2026-11-25");
        assert_eq!(day_of(at("2026-11-26T07:00:00Z"), zone).to_string(), "2026-11-26");
    }
}
