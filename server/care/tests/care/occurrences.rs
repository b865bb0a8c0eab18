//! Recurrences: `rrule_dst.json` (python-dateutil 4.0.0, tzdata 2026.6), examples of RFC 5545, and the `rrule` crate as a second opinion.

use super::kit::{local, utc};
use chrono::{DateTime, Datelike, NaiveDateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use fullset_care::recurrence::{LAST_YEAR, MOST_RULE_TEXT, Recurrence, Series};
use proptest::prelude::*;
use serde::Deserialize;

#[derive(Deserialize)]
struct File {
    cases: Vec<Case>,
}

#[derive(Deserialize)]
struct Case {
    id: String,
    dtstart: NaiveDateTime,
    tzid: Tz,
    rrule: String,
    count: usize,
    occurrences: Vec<Expected>,
}

#[derive(Deserialize)]
struct Expected {
    local: NaiveDateTime,
    utc: DateTime<Utc>,
}

fn rule(text: &str) -> Recurrence {
    text.parse().unwrap_or_else(|error| panic!("{text}: {error}"))
}

fn instants(text: &str, start: &str, zone: Tz, most: usize) -> Vec<DateTime<Utc>> {
    let rule = rule(text);
    let series = Series {
        rule: &rule,
        start: local(start),
        zone,
    };
    series.all().take(most).map(|one| one.at).collect()
}

fn locals(text: &str, start: &str, most: usize) -> Vec<String> {
    let rule = rule(text);
    let series = Series {
        rule: &rule,
        start: local(start),
        zone: Tz::America__New_York,
    };
    series.all().take(most).map(|one| one.local.to_string()).collect()
}

#[test]
fn every_case_of_the_reference_comes_out_as_it_stands_there() {
    let file: File = serde_json::from_str(include_str!("../data/rrule_dst.json")).unwrap();
    assert_eq!(file.cases.len(), 16);
    let mut told = 0;
    for case in file.cases {
        let rule = rule(&case.rrule);
        let series = Series {
            rule: &rule,
            start: case.dtstart,
            zone: case.tzid,
        };
        let found: Vec<_> = series.all().collect();
        assert_eq!(found.len(), case.count, "{}", case.id);
        assert_eq!(found.len(), case.occurrences.len(), "{}", case.id);
        for (found, wanted) in found.iter().zip(&case.occurrences) {
            assert_eq!((found.local, found.at), (wanted.local, wanted.utc), "{}", case.id);
            told += 1;
        }
        // From each occurrence on, the rest; and one second later, one less.
        for (n, wanted) in case.occurrences.iter().enumerate() {
            assert_eq!(series.from(wanted.utc).count(), case.count - n, "{}", case.id);
            assert_eq!(series.from(wanted.utc + TimeDelta::seconds(1)).count(), case.count - n - 1, "{}", case.id);
        }
    }
    assert!(told > 180, "{told}");
}

#[test]
fn a_weekly_check_in_the_gap_of_spring_is_held_an_hour_later_by_the_clock_and_not_dropped() {
    // CHECKS I: RFC 5545, section 3.3.5.
    let found = instants("FREQ=WEEKLY;BYDAY=SU;COUNT=3", "2026-03-01T02:30:00", Tz::America__New_York, 9);
    assert_eq!(found, [utc("2026-03-01T07:30:00Z"), utc("2026-03-08T07:30:00Z"), utc("2026-03-15T06:30:00Z")]);
    let rule = rule("FREQ=DAILY");
    let series = Series {
        rule: &rule,
        start: local("2026-03-07T02:30:00"),
        zone: Tz::America__New_York,
    };
    assert_eq!(series.from(utc("2026-03-08T07:30:00Z")).next().unwrap().at, utc("2026-03-08T07:30:00Z"));
}

#[test]
fn in_the_gap_instants_stay_in_order_and_two_that_fall_together_are_one() {
    let found = instants("FREQ=DAILY;BYHOUR=1,2,3;BYMINUTE=0,30,45", "2026-03-08T01:45:00", Tz::America__New_York, 5);
    // 02:00, 02:30 and 02:45 are 03:00, 03:30 and 03:45 by the new time.
    let wanted = [
        "2026-03-08T06:45:00Z",
        "2026-03-08T07:00:00Z",
        "2026-03-08T07:30:00Z",
        "2026-03-08T07:45:00Z",
        "2026-03-09T05:00:00Z",
    ];
    assert_eq!(found, wanted.map(utc));
    // Where only one of them is: 03:15 comes before 02:30, which is 03:30.
    let found = instants("FREQ=DAILY;BYHOUR=2,3;BYMINUTE=15,30", "2026-03-08T02:30:00", Tz::America__New_York, 2);
    assert_eq!(found, ["2026-03-08T07:15:00Z", "2026-03-08T07:30:00Z"].map(utc));
}

#[test]
fn the_examples_of_rfc_5545_come_out_as_printed() {
    // Section 3.8.5.3, beside those that are in the file.
    let days = |text: &str, start: &str, most: usize| -> Vec<String> { locals(text, start, most).iter().map(|one| one[..10].to_owned()).collect() };
    // Every other week on Tuesday and Thursday, for 8 occurrences.
    assert_eq!(
        days("FREQ=WEEKLY;INTERVAL=2;COUNT=8;WKST=SU;BYDAY=TU,TH", "1997-09-02T09:00:00", 9),
        [
            "1997-09-02",
            "1997-09-04",
            "1997-09-16",
            "1997-09-18",
            "1997-09-30",
            "1997-10-02",
            "1997-10-14",
            "1997-10-16"
        ]
    );
    // Every 4 years, the first Tuesday after a Monday in November.
    assert_eq!(
        days("FREQ=YEARLY;INTERVAL=4;BYMONTH=11;BYDAY=TU;BYMONTHDAY=2,3,4,5,6,7,8", "1996-11-05T09:00:00", 3),
        ["1996-11-05", "2000-11-07", "2004-11-02"]
    );
    // Every Friday the 13th.
    assert_eq!(
        days("FREQ=MONTHLY;BYDAY=FR;BYMONTHDAY=13", "1997-09-02T09:00:00", 5),
        ["1998-02-13", "1998-03-13", "1998-11-13", "1999-08-13", "2000-10-13"]
    );
    // The second-to-last weekday of the month.
    assert_eq!(
        days("FREQ=MONTHLY;BYDAY=MO,TU,WE,TH,FR;BYSETPOS=-2", "1997-09-29T09:00:00", 4),
        ["1997-09-29", "1997-10-30", "1997-11-27", "1997-12-30"]
    );
    // The third-to-the-last day of the month.
    assert_eq!(
        days("FREQ=MONTHLY;BYMONTHDAY=-3", "1997-09-28T09:00:00", 4),
        ["1997-09-28", "1997-10-29", "1997-11-28", "1997-12-29"]
    );
    // The first and last Sunday of every other month, for 10 occurrences.
    assert_eq!(
        days("FREQ=MONTHLY;INTERVAL=2;COUNT=10;BYDAY=1SU,-1SU", "1997-09-07T09:00:00", 5),
        ["1997-09-07", "1997-09-28", "1997-11-02", "1997-11-30", "1998-01-04"]
    );
    // Every 20th Monday of the year.
    assert_eq!(
        days("FREQ=YEARLY;BYDAY=20MO", "1997-05-19T09:00:00", 3),
        ["1997-05-19", "1998-05-18", "1999-05-17"]
    );
}

#[test]
fn a_place_in_the_week_is_counted_in_the_whole_week_of_the_start() {
    // The first of Monday and Sunday in the week of Wednesday 2020-01-01 was Monday, before the start.
    let found = locals("FREQ=WEEKLY;BYDAY=MO,SU;BYSETPOS=1", "2020-01-01T08:00:00", 2);
    assert_eq!(found, ["2020-01-06 08:00:00", "2020-01-13 08:00:00"]);
}

#[test]
fn what_is_no_rule_for_checks_is_refused_by_name() {
    for (text, says) in [
        ("", "is no part of a rule"),
        ("BYDAY=MO", "how often"),
        ("FREQ=HOURLY", "FREQ=HOURLY"),
        ("FREQ=DAILY;FREQ=DAILY", "twice"),
        ("FREQ=DAILY;COUNT=3;UNTIL=20260101T000000", "not both"),
        ("FREQ=DAILY;COUNT=0", "COUNT"),
        ("FREQ=DAILY;COUNT=10001", "10000"),
        ("FREQ=DAILY;INTERVAL=1001", "1000"),
        ("FREQ=DAILY;INTERVAL=+1", "INTERVAL"),
        ("FREQ=WEEKLY;BYDAY=1MO", "FREQ=MONTHLY"),
        ("FREQ=WEEKLY;BYMONTHDAY=3", "BYMONTHDAY"),
        ("FREQ=YEARLY;BYWEEKNO=20", "BYWEEKNO is not read"),
        ("FREQ=MONTHLY;BYSETPOS=1", "BYSETPOS"),
        ("FREQ=MONTHLY;BYMONTHDAY=0", "BYMONTHDAY"),
        ("FREQ=MONTHLY;BYMONTHDAY=32", "BYMONTHDAY"),
        ("FREQ=DAILY;UNTIL=20260101", "UNTIL"),
        ("FREQ=DAILY;UNTIL=20261301T000000", "UNTIL"),
        ("FREQ=WEEKLY;BYDAY=\u{fc}", "is no day"),
        ("FREQ=DAILY\nRRULE:FREQ=DAILY", "one rule"),
        ("FREQ=DAILY;RDATE=20260101", "RDATE is not read"),
    ] {
        let error = text.parse::<Recurrence>().unwrap_err();
        assert!(error.contains(says), "{text}: {error}");
    }
    let long = format!("FREQ=DAILY;BYHOUR={}", "1,".repeat(MOST_RULE_TEXT));
    assert!(long.parse::<Recurrence>().unwrap_err().contains("200 at most"));
}

#[test]
fn a_rule_that_never_occurs_ends_after_a_bounded_search() {
    assert!(instants("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "2026-01-01T08:00:00", Tz::UTC, 1).is_empty());
    assert!(instants("FREQ=DAILY;BYMONTH=2;BYMONTHDAY=31", "2026-01-01T08:00:00", Tz::UTC, 1).is_empty());
    // A rule that occurs ends with the last year that is looked at.
    let last = instants("FREQ=YEARLY", "2026-01-01T08:00:00", Tz::UTC, 10_000);
    assert_eq!(last.len(), 174);
}

fn any_rule() -> impl Strategy<Value = String> {
    let days = ["MO", "TU", "WE", "TH", "FR", "SA", "SU"];
    let list = |most: usize, from: i32, to: i32| proptest::collection::btree_set(from..=to, 0..=most);
    let weekdays = proptest::collection::btree_set(0..7_usize, 0..=3);
    let parts = (
        0..4_usize,
        1..5_u32,
        list(2, 1, 12),
        list(2, -4, 28),
        weekdays,
        (-3..=3_i32, any::<bool>()),
        list(2, 0, 23),
        list(2, 0, 59),
        list(1, -2, 2),
        0..7_usize,
    );
    parts.prop_map(
        move |(frequency, interval, months, month_days, weekdays, (nth, until), hours, minutes, set_pos, week_start)| {
            let mut text = format!("FREQ={};INTERVAL={interval}", ["DAILY", "WEEKLY", "MONTHLY", "YEARLY"][frequency]);
            let join = |list: &std::collections::BTreeSet<i32>| list.iter().filter(|one| **one != 0).map(ToString::to_string).collect::<Vec<_>>().join(",");
            let plain = |list: &std::collections::BTreeSet<i32>| list.iter().map(ToString::to_string).collect::<Vec<_>>().join(",");
            let mut put = |name: &str, value: &str| {
                if !value.is_empty() {
                    text.push_str(&format!(";{name}={value}"));
                }
            };
            put("BYMONTH", &plain(&months));
            let month_days = if frequency == 1 { String::new() } else { join(&month_days) };
            put("BYMONTHDAY", &month_days);
            let number = if frequency >= 2 && month_days.is_empty() && nth != 0 {
                nth.to_string()
            } else {
                String::new()
            };
            let days = weekdays.iter().map(|day| format!("{number}{}", days[*day])).collect::<Vec<_>>().join(",");
            put("BYDAY", &days);
            put("BYHOUR", &plain(&hours));
            put("BYMINUTE", &plain(&minutes));
            // The library takes the week of the start from the start on; RFC 5545 picks from the whole week, and so do we.
            if frequency != 1 && !(days.is_empty() && month_days.is_empty()) {
                put("BYSETPOS", &join(&set_pos));
            }
            put("WKST", ["MO", "TU", "WE", "TH", "FR", "SA", "SU"][week_start]);
            put(if until { "UNTIL" } else { "COUNT" }, if until { "20400101T000000Z" } else { "12" });
            text
        },
    )
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_second_library_finds_the_same_days(text in any_rule(), day in 0_i64..3_000, minute in 0_i64..1_440) {
        // In UTC, where no clock is put on or back: the calendar alone. The library drops what lies where midnight is jumped over.
        let start = local("2020-01-01T00:00:00") + TimeDelta::days(day) + TimeDelta::minutes(minute);
        let rule = rule(&text);
        let series = Series { rule: &rule, start, zone: Tz::UTC };
        let ours: Vec<_> = series.all().take(12).map(|one| one.at).collect();
        if !ours.is_empty() {
            let set: rrule::RRuleSet = format!("DTSTART:{}\nRRULE:{text}", start.format("%Y%m%dT%H%M%SZ")).parse().unwrap();
            let theirs: Vec<_> = set.all(12).dates.into_iter().map(|one| one.with_timezone(&Utc)).filter(|one| one.year() <= LAST_YEAR).collect();
            prop_assert_eq!(ours, theirs, "{} from {}", text, start);
        }
    }

    #[test]
    fn a_rule_reads_back_from_what_it_is_written_as(text in any_rule()) {
        let rule = rule(&text);
        let again: Recurrence = rule.to_string().parse().unwrap();
        prop_assert_eq!(&again, &rule);
        prop_assert_eq!(again.to_string(), rule.to_string());
    }

    #[test]
    fn from_any_instant_on_the_same_occurrences_come(text in any_rule(), skip in 0_usize..12, seconds in -1_i64..=1) {
        let rule = rule(&text);
        let series = Series { rule: &rule, start: local("2021-03-01T02:30:00"), zone: Tz::America__New_York };
        let all: Vec<_> = series.all().take(40).collect();
        if let Some(one) = all.get(skip) {
            let from = one.at + TimeDelta::seconds(seconds);
            let wanted: Vec<_> = all.iter().filter(|one| one.at >= from).take(5).copied().collect();
            let found: Vec<_> = series.from(from).take(wanted.len()).collect();
            prop_assert_eq!(found, wanted);
            prop_assert!(all.windows(2).all(|pair| pair[0].at < pair[1].at));
        }
    }

    #[test]
    fn no_text_brings_the_reader_down(text in "\\PC{0,60}") {
        let _ = text.parse::<Recurrence>();
    }
}
