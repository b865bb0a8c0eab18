//! Local time and instants: what a wall clock's reading means, and where a duty day begins.
//!
//! A local time that the clock jumps over in spring is read with the offset before the change: 02:30 on the night of the jump is 03:30
//! by the new time (RFC 5545, section 3.3.5). The other reading, that of section 3.3.10, drops it; then a check would be asked for by
//! nobody. A local time that comes twice in autumn is the first of the two.

use chrono::{DateTime, Days, NaiveDate, NaiveDateTime, NaiveTime, Offset, TimeDelta, TimeZone, Utc};
use chrono_tz::Tz;

/// The agency's zone, and when its duty day begins.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Calendar {
    /// The agency's time zone.
    pub zone: Tz,
    /// When a duty day begins by the wall clock, 07:00 for example; midnight where the agency has no other.
    pub day_starts: NaiveTime,
}

/// The first instant at which the wall clock shows that time; one that it never shows is read with the offset before the change.
#[must_use]
pub fn instant(local: NaiveDateTime, zone: Tz) -> DateTime<Utc> {
    if let Some(at) = zone.from_local_datetime(&local).earliest() {
        return at.with_timezone(&Utc);
    }
    // No offset is beyond +14 h, so that this instant lies before the change.
    let before = zone.offset_from_utc_datetime(&earlier(local, TimeDelta::hours(15))).fix();
    earlier(local, TimeDelta::seconds(i64::from(before.local_minus_utc()))).and_utc()
}

/// Whether the wall clock ever shows that time.
#[must_use]
pub fn exists(local: NaiveDateTime, zone: Tz) -> bool {
    zone.from_local_datetime(&local).earliest().is_some()
}

fn earlier(local: NaiveDateTime, by: TimeDelta) -> NaiveDateTime {
    local.checked_sub_signed(by).unwrap_or(local)
}

impl Calendar {
    /// When the duty day of that date begins.
    #[must_use]
    pub fn day_begins(&self, day: NaiveDate) -> DateTime<Utc> {
        instant(day.and_time(self.day_starts), self.zone)
    }

    /// The date of the duty day in which an instant lies: 02:00 on Tuesday belongs to Monday where the duty day begins at 07:00.
    #[must_use]
    pub fn duty_day(&self, at: DateTime<Utc>) -> NaiveDate {
        let mut day = at.with_timezone(&self.zone).date_naive();
        // At most two steps: a wall clock is never more than a day from the date that it shows.
        for _ in 0..2 {
            if self.day_begins(day) > at
                && let Some(before) = day.pred_opt()
            {
                day = before;
            }
        }
        for _ in 0..2 {
            if let Some(next) = day.succ_opt()
                && self.day_begins(next) <= at
            {
                day = next;
            }
        }
        day
    }

    /// When the duty day in which an instant lies ends.
    #[must_use]
    pub fn day_ends(&self, at: DateTime<Utc>) -> DateTime<Utc> {
        let day = self.duty_day(at);
        self.day_begins(day.checked_add_days(Days::new(1)).unwrap_or(day))
    }

    /// An instant as the agency's people write it: `2026-03-09 08:00`.
    #[must_use]
    pub fn show(&self, at: DateTime<Utc>) -> String {
        at.with_timezone(&self.zone).format("%Y-%m-%d %H:%M").to_string()
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn local(text: &str) -> NaiveDateTime {
        text.parse().unwrap()
    }

    fn utc(text: &str) -> DateTime<Utc> {
        text.parse().unwrap()
    }

    #[test]
    fn a_time_that_is_jumped_over_is_read_by_the_old_offset_and_one_that_comes_twice_is_the_first() {
        // RFC 5545, section 3.3.5: its own two dates, then CHECKS I.
        for (text, zone, found) in [
            ("2007-03-11T02:30:00", Tz::America__New_York, "2007-03-11T07:30:00Z"),
            ("2007-11-04T01:30:00", Tz::America__New_York, "2007-11-04T05:30:00Z"),
            ("2026-03-08T02:30:00", Tz::America__New_York, "2026-03-08T07:30:00Z"),
            ("2026-11-01T01:30:00", Tz::America__New_York, "2026-11-01T05:30:00Z"),
            // Where midnight itself is jumped over.
            ("2018-11-04T00:00:00", Tz::America__Sao_Paulo, "2018-11-04T03:00:00Z"),
            // Where a whole day is.
            ("2011-12-30T08:00:00", Tz::Pacific__Apia, "2011-12-30T18:00:00Z"),
        ] {
            assert_eq!(instant(local(text), zone), utc(found), "{text}");
        }
        assert!(!exists(local("2026-03-08T02:30:00"), Tz::America__New_York));
        assert!(exists(local("2026-03-08T03:30:00"), Tz::America__New_York));
    }

    #[test]
    fn the_small_hours_belong_to_the_duty_day_before() {
        let calendar = Calendar {
            zone: Tz::America__Denver,
            day_starts: NaiveTime::from_hms_opt(7, 0, 0).unwrap(),
        };
        let day = |text: &str| calendar.duty_day(instant(local(text), Tz::America__Denver)).to_string();
        assert_eq!(day("2026-03-10T02:00:00"), "2026-03-09");
        assert_eq!(day("2026-03-10T06:59:59"), "2026-03-09");
        assert_eq!(day("2026-03-10T07:00:00"), "2026-03-10");
        // The night in which the clock goes on: 23 hours; the one in which it goes back: 25.
        assert_eq!(
            calendar.day_ends(utc("2026-03-07T20:00:00Z")) - calendar.day_begins("2026-03-07".parse().unwrap()),
            TimeDelta::hours(23)
        );
        assert_eq!(
            calendar.day_ends(utc("2026-10-31T20:00:00Z")) - calendar.day_begins("2026-10-31".parse().unwrap()),
            TimeDelta::hours(25)
        );
    }

    proptest! {
        #[test]
        fn an_instant_lies_in_its_duty_day(hours in 0_i64..600_000, minute in 0_u32..1440, zone in 0_usize..4) {
            let zone = [Tz::America__New_York, Tz::Pacific__Apia, Tz::America__Sao_Paulo, Tz::Australia__Lord_Howe][zone];
            let at = utc("1970-01-01T00:00:00Z") + TimeDelta::minutes(hours * 60 + 17);
            let calendar = Calendar { zone, day_starts: NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap() };
            let day = calendar.duty_day(at);
            prop_assert!(calendar.day_begins(day) <= at);
            prop_assert!(at < calendar.day_begins(day.succ_opt().unwrap()));
        }
    }
}
