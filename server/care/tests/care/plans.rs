//! What a plan may be, how it is written, and what a change of it loosens.

use super::kit::{calendar, look, number, plan, step};
use fullset_calc::{
    ratings::Kind,
    release::Measure,
    units::{Dimension, Quantity, Unit},
};
use fullset_care::plan::{
    Applies, Ask, Bound, CheckPlan, Covers, Drift, Drive, Event, Limit, MOST_MODELS, MOST_STEPS, Proof, RatedFigure, Rhythm, Signer, Source, Stage,
};
use serde_json::{Value, json};
use uuid::Uuid;

fn good() -> CheckPlan {
    plan(Rhythm::Months { months: 12 }, vec![look("a"), number("n", Measure::OpeningTime, vec![])])
}

fn bad(change: impl FnOnce(&mut CheckPlan)) -> Vec<(String, String)> {
    let mut plan = good();
    change(&mut plan);
    plan.validate().into_iter().map(|fault| (fault.path, fault.words)).collect()
}

#[test]
fn every_text_and_list_has_a_most_that_is_said() {
    assert_eq!(good().validate(), []);
    let long = |n: usize| "x".repeat(n);
    type Case = (Vec<(String, String)>, &'static str, &'static str);
    let cases: Vec<Case> = vec![
        (bad(|p| p.name = " ".into()), "name", "write the name"),
        (bad(|p| p.name = long(81)), "name", "80 at most"),
        (bad(|p| p.version = 0), "version", "1"),
        (bad(|p| p.covers = Covers::default()), "covers", "kind or a model"),
        (bad(|p| p.covers.kinds = vec![Kind::Ram, Kind::Ram]), "covers.kinds", "twice"),
        (
            bad(|p| p.covers.models = (0..=MOST_MODELS as u128).map(Uuid::from_u128).collect()),
            "covers.models",
            "200 at most",
        ),
        (bad(|p| p.rhythm = Rhythm::Months { months: 0 }), "rhythm.months", "1 to 240"),
        (bad(|p| p.rhythm = Rhythm::Months { months: 241 }), "rhythm.months", "1 to 240"),
        (bad(|p| p.rhythm = Rhythm::Uses { uses: 10_001 }), "rhythm.uses", "1 to 10000"),
        (bad(|p| p.rhythm = Rhythm::Hours { hours: 0 }), "rhythm.hours", "1 to 10000"),
        (bad(|p| p.rhythm = Rhythm::Event { events: vec![] }), "rhythm.events", "at least one"),
        (bad(|p| p.rhythm = Rhythm::Event { events: vec![Event::Drop; 2] }), "rhythm.events", "twice"),
        (
            bad(|p| p.rhythm = calendar("FREQ=DAILY;COUNT=3", "2026-01-01T08:00:00")),
            "rhythm.rule",
            "does not end by itself",
        ),
        (
            bad(|p| p.rhythm = calendar("FREQ=YEARLY;BYMONTH=2;BYMONTHDAY=30", "2026-01-01T08:00:00")),
            "rhythm.rule",
            "no day is ever like that",
        ),
        (bad(|p| p.grace_days = 3_651), "grace_days", "3650 at most"),
        (bad(|p| p.proves = vec![Proof::Checked; 2]), "proves", "twice"),
        (bad(|p| p.steps.clear()), "steps", "at least one thing"),
        (
            bad(|p| p.steps = (0..=MOST_STEPS).map(|n| look(&format!("s{n}"))).collect()),
            "steps",
            "60 at most",
        ),
        (bad(|p| p.steps[1].id = "a".into()), "steps[1].id", "another step"),
        (bad(|p| p.steps[0].id = "A b".into()), "steps[0].id", "a to z"),
        (bad(|p| p.steps[0].id = long(41)), "steps[0].id", "1 to 40"),
        (bad(|p| p.steps[0].title = long(61)), "steps[0].title", "60 at most"),
        (bad(|p| p.steps[0].how = long(241)), "steps[0].how", "240 at most"),
        (bad(|p| p.steps[0].caution = Some(long(241))), "steps[0].caution", "240 at most"),
        (
            bad(|p| p.steps[0].source = Source::Published { text: String::new() }),
            "steps[0].source.text",
            "write the source",
        ),
        (bad(|p| p.steps.iter_mut().for_each(|s| s.optional = true)), "steps", "not optional"),
        (bad(|p| p.steps[0].applies.drives = vec![Drive::Hose; 2]), "steps[0].applies.drives", "twice"),
    ];
    for (found, path, says) in cases {
        assert_eq!(found.len(), 1, "{path} {says}: {found:?}");
        assert_eq!(found[0].0, path, "{found:?}");
        assert!(found[0].1.contains(says), "{found:?}");
    }
}

#[test]
fn what_is_asked_can_be_answered_and_its_limits_are_sane() {
    let asks = |ask: Ask| bad(|plan| plan.steps[0].ask = ask);
    let with = |measure: Measure, limit: Limit| {
        asks(Ask::Number {
            measure,
            dimension: None,
            units: vec![],
            limits: vec![limit],
        })
    };
    let options = |list: &[&str], passing: &[&str]| {
        let words = |list: &[&str]| list.iter().map(|word| (*word).to_owned()).collect();
        asks(Ask::Choice {
            options: words(list),
            passing: words(passing),
        })
    };
    let seconds = |value: f64| Some(Quantity::new(value, Unit::Second));
    let fixed = |min, max| Limit::Fixed { min, max };
    let rated = |percent, of| Limit::ShareOfRating {
        bound: Bound::AtLeast,
        percent,
        of,
    };
    let many: Vec<String> = (0..13).map(|n| n.to_string()).collect();
    let many: Vec<&str> = many.iter().map(String::as_str).collect();
    let plain = |measure, dimension, units: Vec<Unit>, limits: Vec<Limit>| {
        asks(Ask::Number {
            measure,
            dimension,
            units,
            limits,
        })
    };
    for (found, path, says) in [
        (options(&["a"], &["a"]), "steps[0].ask.options", "two words"),
        (options(&many, &["1"]), "steps[0].ask.options", "12 at most"),
        (options(&["a", "a"], &["a"]), "steps[0].ask.options", "twice"),
        (options(&["a", "b"], &[]), "steps[0].ask.passing", "which word passes"),
        (options(&["a", "b"], &["c"]), "steps[0].ask.passing", "not among"),
        (options(&["a", &"x".repeat(41)], &["a"]), "steps[0].ask.options[1]", "40 at most"),
        (
            asks(Ask::YesNo {
                sound: true,
                measure: Some(Measure::LeakAtEndStop),
            }),
            "steps[0].ask.sound",
            "answers no",
        ),
        (
            asks(Ask::YesNo {
                sound: true,
                measure: Some(Measure::OpeningTime),
            }),
            "steps[0].ask.measure",
            "not answered with yes or no",
        ),
        (plain(Measure::Charge, None, vec![], vec![]), "steps[0].ask.measure", "yes or no"),
        (plain(Measure::Other, None, vec![], vec![]), "steps[0].ask.dimension", "say what is measured"),
        (
            plain(Measure::OpeningTime, Some(Dimension::Force), vec![], vec![]),
            "steps[0].ask.dimension",
            "leave the dimension out",
        ),
        (
            plain(Measure::OpeningTime, None, vec![Unit::Psi], vec![]),
            "steps[0].ask.units",
            "a time is asked for",
        ),
        (
            plain(Measure::OpeningTime, None, vec![Unit::Second; 5], vec![]),
            "steps[0].ask.units",
            "4 at most",
        ),
        (
            plain(Measure::OpeningTime, None, vec![], vec![Limit::MakersBound; 5]),
            "steps[0].ask.limits",
            "4 at most",
        ),
        (with(Measure::OpeningTime, fixed(None, None)), "steps[0].ask.limits[0]", "a least or a most"),
        (
            with(Measure::OpeningTime, fixed(seconds(3.0), seconds(2.0))),
            "steps[0].ask.limits[0]",
            "is more than the most",
        ),
        (
            with(Measure::OpeningTime, fixed(seconds(f64::NAN), None)),
            "steps[0].ask.limits[0]",
            "from 0 up",
        ),
        (
            with(Measure::PushForce, fixed(seconds(3.0), None)),
            "steps[0].ask.limits[0]",
            "a force is asked for",
        ),
        (
            with(Measure::PushForce, rated(0, RatedFigure::PushForce)),
            "steps[0].ask.limits[0]",
            "1 to 1000",
        ),
        (
            with(Measure::PushForce, rated(90, RatedFigure::PullingForce)),
            "steps[0].ask.limits[0]",
            "not compared",
        ),
        (
            with(Measure::OpeningTime, rated(90, RatedFigure::NominalPressure)),
            "steps[0].ask.limits[0]",
            "not compared",
        ),
        (
            with(
                Measure::OpeningTime,
                Limit::Drift {
                    percent: 1_001,
                    way: Drift::Up,
                },
            ),
            "steps[0].ask.limits[0]",
            "1 to 1000",
        ),
    ] {
        assert_eq!(found.len(), 1, "{path} {says}: {found:?}");
        assert_eq!(found[0].0, path, "{found:?}");
        assert!(found[0].1.contains(says), "{found:?}");
    }
    // At their bounds they hold.
    assert_eq!(with(Measure::OpeningTime, fixed(seconds(2.0), seconds(2.0))), []);
    assert_eq!(with(Measure::ReliefOpensAt, rated(1_000, RatedFigure::NominalPressure)), []);
}

#[test]
fn a_load_test_asks_for_a_look_in_the_same_check() {
    let load = |plan: &mut CheckPlan| plan.steps.iter_mut().for_each(|step| step.stage = Stage::Load);
    let found = bad(load);
    assert!(found[0].1.contains("only after a clean look"), "{found:?}");
}

#[test]
fn a_plan_covers_by_kind_and_where_models_are_named_by_those() {
    let (one, other) = (Uuid::from_u128(1), Uuid::from_u128(2));
    let covers = |kinds: &[Kind], models: &[Uuid]| Covers {
        kinds: kinds.to_vec(),
        models: models.to_vec(),
    };
    assert!(covers(&[Kind::Ram], &[]).has(Kind::Ram, Some(one)) && !covers(&[Kind::Ram], &[]).has(Kind::Hose, Some(one)));
    assert!(covers(&[], &[one]).has(Kind::Ram, Some(one)) && !covers(&[], &[one]).has(Kind::Ram, Some(other)));
    assert!(!covers(&[Kind::Ram], &[one]).has(Kind::Ram, None) && !covers(&[], &[]).has(Kind::Ram, Some(one)));
}

#[test]
fn plans_are_written_as_documented_and_unknown_fields_are_refused() {
    let limit = Limit::ShareOfRating {
        bound: Bound::AtLeast,
        percent: 90,
        of: RatedFigure::SpreadingForce,
    };
    let mut plan = plan(
        calendar("RRULE:freq=weekly;byday=mo", "2026-01-05T08:00:00"),
        vec![look("a"), number("n", Measure::SpreadingForce, vec![limit])],
    );
    plan.steps[1].stage = Stage::Load;
    plan.signer = Signer::Technician;
    let json = serde_json::to_value(&plan).unwrap();
    assert_eq!(
        json,
        json!({
            "name": "Check", "version": 1,
            "covers": {"kinds": ["spreader"], "models": []},
            "rhythm": {"every": "calendar", "rule": "FREQ=WEEKLY;BYDAY=MO", "start": "2026-01-05T08:00:00"},
            "steps": [
                {"id": "a", "title": "A", "how": "", "ask": {"kind": "yes_no", "sound": true}, "stage": "look",
                 "source": {"kind": "practice"}, "fails_as": "deformation"},
                {"id": "n", "title": "N", "how": "",
                 "ask": {"kind": "number", "measure": "spreading_force",
                         "limits": [{"kind": "share_of_rating", "bound": "at_least", "percent": 90, "of": "spreading_force"}]},
                 "stage": "load", "source": {"kind": "practice"}, "fails_as": "pressure"},
            ],
            "signer": "technician", "grace_days": 2, "proves": ["checked"],
        })
    );
    assert_eq!(serde_json::from_value::<CheckPlan>(json.clone()).unwrap(), plan);
    let refused = |change: fn(&mut Value)| {
        let mut json = json.clone();
        change(&mut json);
        serde_json::from_value::<CheckPlan>(json).is_err()
    };
    assert!(refused(|json| json["colour"] = json!("red")));
    assert!(refused(|json| json["rhythm"]["until"] = json!("2027")));
    assert!(refused(|json| json["rhythm"]["rule"] = json!("FREQ=HOURLY")));
    assert!(refused(|json| json["steps"][0]["ask"]["passing"] = json!(true)));
    assert!(refused(|json| json["steps"][1]["ask"]["limits"][0]["kind"] = json!("about")));
    for rhythm in [
        json!({"every": "use"}),
        json!({"every": "shift"}),
        json!({"every": "months", "months": 36}),
        json!({"every": "uses", "uses": 50}),
        json!({"every": "hours", "hours": 100}),
        json!({"every": "event", "events": ["drop", "overload", "fire", "flood", "fluid_mix", "run_over", "trapped_pressure"]}),
    ] {
        let read: Rhythm = serde_json::from_value(rhythm.clone()).unwrap();
        assert_eq!(serde_json::to_value(&read).unwrap(), rhythm);
    }
}

#[test]
fn an_edit_is_a_new_version_and_what_is_no_edit_is_none() {
    let before = good();
    assert_eq!(before.edit(CheckPlan { version: 9, ..good() }).unwrap().version, 1);
    let after = before.edit(CheckPlan { grace_days: 3, ..good() }).unwrap();
    assert_eq!((after.version, after.grace_days), (2, 3));
    assert!(before.edit(CheckPlan { name: String::new(), ..good() }).is_err());
}

#[test]
fn a_change_that_asks_less_is_named_and_one_that_asks_more_is_not() {
    let least = |value: f64| Limit::Fixed {
        min: Some(Quantity::new(value, Unit::Second)),
        max: None,
    };
    let choice = |passing: &[&str]| {
        let words = |list: &[&str]| list.iter().map(|word| (*word).to_owned()).collect();
        step(
            "word",
            Ask::Choice {
                options: words(&["full", "half", "empty"]),
                passing: words(passing),
            },
        )
    };
    let before = CheckPlan {
        signer: Signer::Technician,
        ..plan(
            Rhythm::Months { months: 12 },
            vec![look("a"), number("n", Measure::OpeningTime, vec![least(2.0)]), choice(&["full"])],
        )
    };
    let loosened = |change: fn(&mut CheckPlan)| {
        let mut after = before.clone();
        change(&mut after);
        before.loosened_by(&after).into_iter().map(|one| one.path).collect::<Vec<_>>()
    };
    fn limits(plan: &mut CheckPlan, value: f64) {
        if let Ask::Number { limits, .. } = &mut plan.steps[1].ask {
            *limits = vec![Limit::Fixed {
                min: Some(Quantity::new(value, Unit::Second)),
                max: None,
            }];
        }
    }
    assert_eq!(loosened(|_| {}), [""; 0]);
    assert_eq!(loosened(|p| p.name = "Other".into()), [""; 0]);
    assert_eq!(loosened(|p| p.grace_days = 1), [""; 0]);
    assert_eq!(loosened(|p| p.grace_days = 3), ["grace_days"]);
    assert_eq!(loosened(|p| p.rhythm = Rhythm::Months { months: 6 }), [""; 0]);
    assert_eq!(loosened(|p| p.rhythm = Rhythm::Months { months: 13 }), ["rhythm"]);
    assert_eq!(loosened(|p| p.rhythm = Rhythm::Use), ["rhythm"]);
    assert_eq!(loosened(|p| p.signer = Signer::MakersService), [""; 0]);
    assert_eq!(loosened(|p| p.signer = Signer::Officer), ["signer"]);
    assert_eq!(loosened(|p| p.covers.kinds = vec![Kind::Ram]), ["covers"]);
    assert_eq!(loosened(|p| p.covers.models = vec![Uuid::from_u128(1)]), ["covers"]);
    assert_eq!(loosened(|p| p.proves.push(Proof::Serviced)), ["proves"]);
    assert_eq!(loosened(|p| p.steps.push(look("more"))), [""; 0]);
    assert_eq!(loosened(|p| drop(p.steps.remove(0))), ["steps"]);
    assert_eq!(loosened(|p| p.steps[0].optional = true), ["steps"]);
    assert_eq!(
        loosened(|p| p.steps[0].applies = Applies {
            drives: vec![Drive::Hose],
            gear: vec![]
        }),
        ["steps"]
    );
    assert_eq!(loosened(|p| limits(p, 2.5)), [""; 0]);
    assert_eq!(loosened(|p| limits(p, 1.5)), ["steps"]);
    let words = |passing: &[&str]| {
        let mut after = before.clone();
        after.steps[2] = choice(passing);
        before.loosened_by(&after).len()
    };
    assert_eq!((words(&["full"]), words(&["full", "half"])), (0, 1));
}
