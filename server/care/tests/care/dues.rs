//! When checks are due, and which were missed.

use super::kit::{calendar, denver, local, look, plan, utc};
use chrono::{DateTime, NaiveTime, TimeDelta, Utc};
use chrono_tz::Tz;
use fullset_calc::capability::Policy;
use fullset_care::{
    due::{Due, DueState, Happened, MOST_OCCASIONS, MeterReading, OccasionState, Occasions, Past, Run, grace_days, history, missed, next_due},
    plan::{CheckPlan, Event, Rhythm},
    recurrence::Series,
    zone::{Calendar, instant},
};
use proptest::prelude::*;

const MONDAYS: &str = "FREQ=WEEKLY;BYDAY=MO";

fn weekly() -> CheckPlan {
    plan(calendar(MONDAYS, "2026-01-05T08:00:00"), vec![look("a")])
}

fn past(last_pass: Option<&str>) -> Past<'static> {
    Past {
        last_pass: last_pass.map(denver_time),
        since: denver_time("2026-01-01T00:00:00"),
        uses: &[],
        meter: &[],
        events: &[],
    }
}

fn denver_time(text: &str) -> DateTime<Utc> {
    instant(local(text), Tz::America__Denver)
}

fn due(plan: &CheckPlan, past: &Past<'_>) -> Due {
    next_due(plan, past, &denver(), &Policy::default())
}

#[test]
fn a_weekly_check_keeps_its_hour_over_the_change_of_the_clock() {
    // CHECKS I: Monday 08:00 in Denver is 15:00Z before 2026-03-08 and 14:00Z after it.
    let next = |pass: &str| due(&weekly(), &past(Some(pass))).at().unwrap();
    assert_eq!(next("2026-02-23T08:10:00"), utc("2026-03-02T15:00:00Z"));
    assert_eq!(next("2026-03-02T08:10:00"), utc("2026-03-09T14:00:00Z"));
    assert_eq!(next("2026-10-26T08:10:00"), utc("2026-11-02T15:00:00Z"));
}

#[test]
fn the_small_hours_count_for_the_duty_day_before() {
    let next = |pass: &str| due(&weekly(), &past(Some(pass))).at().unwrap();
    // Monday 02:00 is still Sunday's duty day: this Monday's check is to be done.
    assert_eq!(next("2026-03-02T02:00:00"), denver_time("2026-03-02T08:00:00"));
    assert_eq!(next("2026-03-02T06:59:59"), denver_time("2026-03-02T08:00:00"));
    // From 07:00 on it is Monday's, though it is not 08:00 yet; and so is Tuesday 02:00.
    assert_eq!(next("2026-03-02T07:00:00"), denver_time("2026-03-09T08:00:00"));
    assert_eq!(next("2026-03-03T02:00:00"), denver_time("2026-03-09T08:00:00"));
}

#[test]
fn a_check_that_was_missed_stays_missed_and_the_next_one_keeps_its_day() {
    let plan = weekly();
    let occasions = Occasions::of(&plan.rhythm, &denver()).unwrap();
    // 2 March done, 9 March not at all, 16 March on Wednesday, 23 March open.
    let passes = [denver_time("2026-03-18T10:00:00"), denver_time("2026-03-02T09:00:00")];
    let (from, until) = (denver_time("2026-03-01T00:00:00"), denver_time("2026-03-24T00:00:00"));
    let told: Vec<_> = history(&occasions, &passes, from, until)
        .unwrap()
        .into_iter()
        .map(|(one, state)| (denver().show(one.at), state))
        .collect();
    let done = |at: DateTime<Utc>, late| OccasionState::Done { at, late };
    assert_eq!(
        told,
        [
            ("2026-03-02 08:00".to_owned(), done(passes[1], false)),
            ("2026-03-09 08:00".to_owned(), OccasionState::Missed),
            ("2026-03-16 08:00".to_owned(), done(passes[0], true)),
            ("2026-03-23 08:00".to_owned(), OccasionState::Open),
        ]
    );
    let lost = missed(&occasions, &passes, from, until).unwrap();
    assert_eq!(lost.iter().map(|one| one.at).collect::<Vec<_>>(), [denver_time("2026-03-09T08:00:00")]);
    assert_eq!(due(&plan, &past(Some("2026-03-18T10:00:00"))).at(), Some(denver_time("2026-03-23T08:00:00")));
    // Nobody did it for weeks: what is due is the first that was missed.
    assert_eq!(due(&plan, &past(Some("2026-02-02T09:00:00"))).at(), Some(denver_time("2026-02-09T08:00:00")));
    // Nobody ever did it: the first since the plan holds.
    assert_eq!(due(&plan, &past(None)).at(), Some(denver_time("2026-01-05T08:00:00")));
}

#[test]
fn a_question_for_too_many_checks_is_refused_with_the_number() {
    let plan = plan(Rhythm::Shift, vec![look("a")]);
    let occasions = Occasions::of(&plan.rhythm, &denver()).unwrap();
    let fault = history(&occasions, &[], utc("2000-01-01T00:00:00Z"), utc("2026-01-01T00:00:00Z")).unwrap_err();
    assert!(fault.words.contains(&MOST_OCCASIONS.to_string()));
    assert!(Occasions::of(&Rhythm::Use, &denver()).is_none());
}

#[test]
fn each_shift_asks_from_the_start_of_its_duty_day() {
    let plan = plan(Rhythm::Shift, vec![look("a")]);
    let next = due(&plan, &past(Some("2026-03-08T01:30:00")));
    assert_eq!(next.at(), Some(denver_time("2026-03-08T07:00:00")));
    assert_eq!(due(&plan, &past(Some("2026-03-08T07:00:00"))).at(), Some(denver_time("2026-03-09T07:00:00")));
}

#[test]
fn two_checks_in_one_duty_day_are_two() {
    let plan = plan(calendar("FREQ=DAILY;BYHOUR=8,20", "2026-01-01T08:00:00"), vec![look("a")]);
    let next = |pass: &str| due(&plan, &past(Some(pass))).at().unwrap();
    assert_eq!(next("2026-03-02T07:30:00"), denver_time("2026-03-02T20:00:00"));
    assert_eq!(next("2026-03-02T19:59:59"), denver_time("2026-03-02T20:00:00"));
    assert_eq!(next("2026-03-02T20:00:00"), denver_time("2026-03-03T08:00:00"));
}

#[test]
fn after_a_use_a_check_is_due_at_once_and_from_the_first_use_that_none_followed() {
    let plan = plan(Rhythm::Use, vec![look("a")]);
    let uses = ["2026-03-02T12:00:00", "2026-03-02T02:10:00", "2026-03-01T20:00:00"].map(|at| used(denver_time(at), None));
    let with = |last_pass| Past {
        uses: &uses,
        ..past(last_pass)
    };
    assert_eq!(due(&plan, &with(Some("2026-03-02T01:00:00"))).at(), Some(uses[1].at));
    assert_eq!(due(&plan, &with(None)).at(), Some(uses[2].at));
    // At the same minute: it may have been used after.
    assert_eq!(due(&plan, &with(Some("2026-03-02T12:00:00"))).at(), Some(uses[0].at));
    assert!(matches!(due(&plan, &with(Some("2026-03-02T12:00:01"))), Due::NotYet { .. }));
}

#[test]
fn only_the_events_that_a_plan_names_make_it_due() {
    let plan = plan(
        Rhythm::Event {
            events: vec![Event::Drop, Event::Fire],
        },
        vec![look("a")],
    );
    let at = denver_time("2026-03-02T12:00:00");
    let events = [Event::Flood, Event::Fire].map(|event| Happened { at, event });
    let with = |events| Past { events, ..past(None) };
    assert_eq!(due(&plan, &with(&events)).at(), Some(at));
    assert!(matches!(due(&plan, &with(&events[..1])), Due::NotYet { .. }));
}

#[test]
fn months_are_counted_from_the_last_pass_and_end_with_a_shorter_month() {
    let next = |months: u32, pass: &str| due(&plan(Rhythm::Months { months }, vec![look("a")]), &past(Some(pass))).at().unwrap();
    assert_eq!(next(1, "2026-01-31T10:00:00"), denver_time("2026-02-28T07:00:00"));
    assert_eq!(next(1, "2028-01-31T10:00:00"), denver_time("2028-02-29T07:00:00"));
    // The anchor of 29 February does not vanish for three years, as a yearly rule's does.
    assert_eq!(next(12, "2024-02-29T10:00:00"), denver_time("2025-02-28T07:00:00"));
    assert_eq!(next(36, "2026-11-28T10:00:00"), denver_time("2029-11-28T07:00:00"));
    // Passed at 02:00 it was passed on the duty day before.
    assert_eq!(next(12, "2026-11-28T02:00:00"), denver_time("2027-11-27T07:00:00"));
}

#[test]
fn what_is_counted_from_a_pass_that_nobody_knows_is_unknown_and_never_a_pass() {
    for rhythm in [Rhythm::Months { months: 12 }, Rhythm::Uses { uses: 50 }, Rhythm::Hours { hours: 100 }] {
        let found = due(&plan(rhythm, vec![look("a")]), &past(None));
        assert!(matches!(&found, Due::Unknown { why } if why.contains("no pass is on record")), "{found:?}");
        assert_eq!(found.at(), None);
    }
}

fn used(at: DateTime<Utc>, minutes: Option<u32>) -> Run {
    Run { at, minutes }
}

fn not_yet(why: &str) -> Due {
    Due::NotYet { why: why.into() }
}

#[test]
fn uses_are_due_at_the_one_that_makes_them_full() {
    let day = |n: i64| denver_time("2026-03-01T12:00:00") + TimeDelta::days(n);
    let uses = [3, 1, 2, 0].map(|n| used(day(n), None));
    let with = Past {
        uses: &uses,
        ..past(Some("2026-03-01T13:00:00"))
    };
    let every = |uses: u32| due(&plan(Rhythm::Uses { uses }, vec![look("a")]), &with);
    assert_eq!(every(3).at(), Some(day(3)), "the one before the pass is not counted");
    assert_eq!(every(2).at(), Some(day(2)), "further uses do not put it off");
    assert_eq!(every(4), not_yet("due after 4 uses: 3 uses so far"));
}

#[test]
fn running_hours_are_what_uses_and_the_hour_meter_say_and_unknown_is_not_zero() {
    let day = |n: i64| denver_time("2026-03-01T12:00:00") + TimeDelta::days(n);
    let hours = |hours: u32, uses: &[Run], meter: &[MeterReading]| {
        let with = Past {
            uses,
            meter,
            ..past(Some("2026-03-01T13:00:00"))
        };
        due(&plan(Rhythm::Hours { hours }, vec![look("a")]), &with)
    };
    let known = [(0, 500), (1, 59), (2, 1)].map(|(n, minutes)| used(day(n), Some(minutes)));
    assert_eq!(hours(1, &known, &[]).at(), Some(day(2)), "60 minutes are an hour");
    assert_eq!(hours(2, &known, &[]), not_yet("due after 2 running hours: 1 h so far"));
    assert_eq!(hours(1, &[], &[]), not_yet("due after 1 running hour: 0 min so far"));
    // One use says no minutes: nobody knows, unless what is known is enough.
    let silent = [used(day(1), Some(45)), used(day(2), None), used(day(4), Some(30))];
    assert!(
        matches!(hours(2, &silent, &[]), Due::Unknown { why } if why.contains("1 of 3 uses since the last pass say no minutes (1 h 15 min are on record)"))
    );
    assert_eq!(hours(1, &silent, &[]).at(), Some(day(4)));
    // Two readings enclose it.
    let read = |n: i64, minutes: u64| MeterReading { at: day(n), minutes };
    assert_eq!(
        hours(3, &silent, &[read(1, 6_000), read(3, 6_050)]),
        not_yet("due after 3 running hours: 2 h 5 min so far")
    );
    assert_eq!(hours(2, &silent, &[read(1, 6_000), read(3, 6_050)]).at(), Some(day(4)));
    // A reading before the pass says nothing of what was since; one reading encloses nothing.
    assert!(matches!(hours(3, &silent, &[read(0, 5_000), read(3, 6_050)]), Due::Unknown { .. }));
    assert!(matches!(hours(3, &known, &[read(1, 6_000), read(2, 5_999)]), Due::Unknown { why } if why.contains("100 h and then 99 h 59 min")));
}

#[test]
fn a_check_is_good_then_due_for_its_duty_day_then_overdue_then_drops_the_piece() {
    // Two days of grace; due on Monday at 08:00, the duty day begins at 07:00.
    let found = due(&weekly(), &past(Some("2026-03-02T08:10:00")));
    let state = |at: &str| found.state(denver_time(at), &denver());
    for (at, wanted) in [
        ("2026-03-09T06:59:59", DueState::Good),
        ("2026-03-09T07:00:00", DueState::Due),
        ("2026-03-09T08:00:00", DueState::Due),
        ("2026-03-10T06:59:59", DueState::Due),
        ("2026-03-10T07:00:00", DueState::Overdue),
        ("2026-03-11T07:59:59", DueState::Overdue),
        ("2026-03-11T08:00:00", DueState::Dropped),
    ] {
        assert_eq!(state(at), wanted, "{at}");
    }
}

#[test]
fn of_the_plans_grace_and_the_policys_the_fewer_days_hold() {
    let policy = |days| Policy {
        overdue_grace_days: days,
        ..Policy::default()
    };
    let plan = weekly();
    assert_eq!(plan.grace_days, 2);
    for (days, wanted) in [(None, 2), (Some(30), 2), (Some(1), 1), (Some(0), 0)] {
        assert_eq!(grace_days(&plan, &policy(days)), wanted);
        let Due::At { at, counts_from, .. } = next_due(&plan, &past(None), &denver(), &policy(days)) else {
            panic!()
        };
        assert_eq!(counts_from, Some(at + TimeDelta::days(i64::from(wanted))));
    }
}

#[test]
fn due_is_written_with_its_state() {
    let found = serde_json::to_value(due(&weekly(), &past(Some("2026-03-02T08:10:00")))).unwrap();
    assert_eq!(
        found,
        serde_json::json!({
            "state": "at",
            "at": "2026-03-09T14:00:00.000000Z",
            "counts_from": "2026-03-11T14:00:00.000000Z",
            "why": "weekly; last passed 2026-03-02 08:10",
        })
    );
}

fn any_calendar() -> impl Strategy<Value = (Rhythm, Calendar)> {
    let rules = prop_oneof![
        Just("FREQ=WEEKLY;BYDAY=MO"),
        Just("FREQ=WEEKLY;BYDAY=SU,WE"),
        Just("FREQ=DAILY"),
        Just("FREQ=DAILY;BYHOUR=1,2,3;BYMINUTE=0,30"),
        Just("FREQ=MONTHLY;BYMONTHDAY=-1"),
        Just("FREQ=MONTHLY;BYDAY=1MO"),
        Just("FREQ=YEARLY"),
    ];
    let zones = prop_oneof![
        Just(Tz::America__New_York),
        Just(Tz::America__Denver),
        Just(Tz::America__Phoenix),
        Just(Tz::Australia__Lord_Howe)
    ];
    (rules, 0..1_440_u32, 0..1_440_u32, zones, any::<bool>()).prop_map(|(rule, minute, begins, zone, shift)| {
        let time = |minute: u32| NaiveTime::from_hms_opt(minute / 60, minute % 60, 0).unwrap();
        let start = format!("2026-01-05T{}", time(minute));
        let rhythm = if shift { Rhythm::Shift } else { calendar(rule, &start) };
        let day_starts = time(begins);
        (rhythm, Calendar { zone, day_starts })
    })
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(300))]

    #[test]
    fn what_is_due_next_lies_after_the_last_pass((rhythm, calendar) in any_calendar(), minute in 0_i64..1_000_000) {
        let pass = utc("2026-01-06T00:00:00Z") + TimeDelta::minutes(minute);
        let plan = plan(rhythm, vec![look("a")]);
        let with = Past { last_pass: Some(pass), since: pass, uses: &[], meter: &[], events: &[] };
        let at = next_due(&plan, &with, &calendar, &Policy::default()).at().unwrap();
        prop_assert!(at > pass);
        // It is the first such: the pass answers every occasion that opened before, and none is left between.
        let occasions = Occasions::of(&plan.rhythm, &calendar).unwrap();
        let open = history(&occasions, &[pass], pass, at + TimeDelta::seconds(1)).unwrap();
        for (one, state) in &open {
            let by_pass = matches!(state, OccasionState::Done { at, .. } if *at == pass);
            prop_assert_eq!(by_pass, one.at < at, "{:?} {:?} due {}", one, state, at);
        }
    }

    #[test]
    fn done_and_missed_and_open_are_all_occurrences((rhythm, calendar) in any_calendar(), passes in proptest::collection::vec(0_i64..300_000, 0..40)) {
        let (from, until) = (utc("2026-01-20T00:00:00Z"), utc("2026-07-20T00:00:00Z"));
        let passes: Vec<_> = passes.into_iter().map(|minute| from + TimeDelta::minutes(minute)).collect();
        let occasions = Occasions::of(&rhythm, &calendar).unwrap();
        let told = history(&occasions, &passes, from, until).unwrap();
        let all: Vec<DateTime<Utc>> = match &rhythm {
            Rhythm::Calendar { rule, start } => Series { rule, start: *start, zone: calendar.zone }.from(from).map(|one| one.at).take_while(|at| *at < until).collect(),
            // Counted by hand: each date's own start.
            _ => (0..200_u64).map(|n| calendar.day_begins(calendar.duty_day(from) + chrono::Days::new(n))).filter(|at| *at >= from && *at < until).collect(),
        };
        prop_assert_eq!(told.iter().map(|(one, _)| one.at).collect::<Vec<_>>(), all.clone());
        let count = |wanted: fn(&OccasionState) -> bool| told.iter().filter(|(_, state)| wanted(state)).count();
        let done = count(|state| matches!(state, OccasionState::Done { .. }));
        let lost = missed(&occasions, &passes, from, until).unwrap().len();
        let open = count(|state| *state == OccasionState::Open);
        prop_assert_eq!(done + lost + open, all.len());
        prop_assert!(open <= 1, "only the last can still be done");
        // A pass answers one occasion: there are never more done than passed.
        prop_assert!(done <= passes.len());
        // What was missed by then stays missed, whatever is passed from then on.
        let mut more = passes.clone();
        more.push(until);
        let after = missed(&occasions, &more, from, until).unwrap();
        prop_assert_eq!(after.len(), lost);
    }
}
