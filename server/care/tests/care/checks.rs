//! What the answers of a check show.

use super::kit::{look, no, number, plan, ratings, read, said, step, unknown, yes};
use fullset_calc::{
    ratings::{Gear, Term},
    release::{DefectClass, Measure, Reading},
    units::{Dimension, Quantity, Unit},
};
use fullset_care::{
    check::{Answer, Facts, KnownReading, MOST_ANSWERS, Outcome, Sort, StepSaid, baseline, faults, judge, may_answer, readings},
    plan::{Applies, Ask, Bound, Drive, Limit, PlanSnapshot, RatedFigure, Rhythm, Stage, Step},
};

fn asked(steps: Vec<Step>) -> PlanSnapshot {
    let plan = plan(Rhythm::Use, steps);
    assert_eq!(plan.validate(), []);
    plan.asked()
}

fn load() -> Step {
    let limit = Limit::ShareOfRating {
        bound: Bound::AtLeast,
        percent: 90,
        of: RatedFigure::SpreadingForce,
    };
    Step {
        stage: Stage::Load,
        ..number("force", Measure::SpreadingForce, vec![limit])
    }
}

#[test]
fn a_check_is_passed_only_when_every_step_that_it_takes_is() {
    let optional = Step { optional: true, ..look("c") };
    let asked = asked(vec![look("a"), look("b"), optional]);
    let outcome = |answers: &[Answer]| judge(&asked, answers, &unknown()).outcome;
    assert_eq!(outcome(&[]), Outcome::NotComplete);
    assert_eq!(outcome(&[yes("a")]), Outcome::NotComplete);
    assert_eq!(outcome(&[yes("a"), yes("b")]), Outcome::Passed);
    assert_eq!(outcome(&[yes("a"), no("b")]), Outcome::Failed);
    assert_eq!(
        outcome(&[yes("a"), yes("b"), no("c")]),
        Outcome::Failed,
        "what was found is found, optional or not"
    );
    assert_eq!(outcome(&[no("a")]), Outcome::Failed, "it fails though it is not complete");
}

#[test]
fn a_failed_step_names_its_class_and_says_why() {
    let mut blades = look("blades");
    blades.fails_as = DefectClass::Deformation;
    let level = step(
        "level",
        Ask::Choice {
            options: vec!["between the marks".into(), "too low".into()],
            passing: vec!["between the marks".into()],
        },
    );
    let level = Step {
        fails_as: DefectClass::Leak,
        ..level
    };
    let asked = asked(vec![blades, level]);
    let low = said("level", StepSaid::Choice { option: "too low".into() });
    let verdict = judge(&asked, &[no("blades"), low], &unknown());
    assert_eq!(verdict.classes, [DefectClass::Deformation, DefectClass::Leak]);
    assert_eq!(
        verdict.words,
        "Not passed: BLADES: no, and must be yes; LEVEL: too low, and must be between the marks"
    );
    let json = serde_json::to_value(&verdict).unwrap();
    assert_eq!(json["outcome"], "failed");
    assert_eq!(
        json["steps"][0],
        serde_json::json!({"step": "blades", "result": "failed", "why": "no, and must be yes", "class": "deformation"})
    );
}

#[test]
fn of_two_answers_to_one_step_the_worse_counts_in_either_order() {
    let asked = asked(vec![look("a")]);
    for answers in [[yes("a"), no("a")], [no("a"), yes("a")]] {
        assert_eq!(faults(&asked, &answers), []);
        assert_eq!(judge(&asked, &answers, &unknown()).outcome, Outcome::Failed);
    }
}

#[test]
fn the_same_as_last_time_never_answers_a_number() {
    let asked = asked(vec![look("a"), number("n", Measure::HoldSeconds, vec![])]);
    let copied = |answer: Answer| Answer { copied: true, ..answer };
    let answers = [copied(yes("a")), copied(read("n", 12.0, Unit::Second))];
    let found = faults(&asked, &answers);
    assert_eq!(found.len(), 1);
    assert_eq!(found[0].path, "answers[1].copied");
    let verdict = judge(&asked, &answers, &unknown());
    assert_eq!(verdict.outcome, Outcome::NotComplete);
    assert_eq!(readings(&asked, &answers), [], "and it leaves no reading");
    assert_eq!(
        judge(&asked, &[copied(yes("a")), read("n", 12.0, Unit::Second)], &unknown()).outcome,
        Outcome::Passed
    );
}

#[test]
fn a_load_test_counts_only_after_a_clean_look() {
    let plate = ratings(&[(Term::RatedSpreadingForce, 47.0, Unit::Kilonewton)]);
    let facts = Facts { ratings: &plate, ..unknown() };
    let optional = Step {
        optional: true,
        ..look("photo")
    };
    let asked = asked(vec![look("arms"), optional, load()]);
    let good = read("force", 45.0, Unit::Kilonewton);
    let outcome = |answers: &[Answer]| judge(&asked, answers, &facts).outcome;
    assert_eq!(outcome(&[yes("arms"), good.clone()]), Outcome::Passed);
    assert_eq!(outcome(std::slice::from_ref(&good)), Outcome::NotComplete);
    assert_eq!(outcome(&[no("arms"), good.clone()]), Outcome::Failed);
    assert_eq!(outcome(&[yes("arms"), no("photo"), good.clone()]), Outcome::Failed);
    let may = |answers: &[Answer]| may_answer(&asked, "force", answers, &facts);
    assert!(may(&[]).unwrap_err().contains("\"ARMS\" is not passed yet"));
    assert!(may(&[no("arms")]).is_err());
    assert!(may(&[yes("arms"), no("photo")]).is_err());
    assert_eq!(may(&[yes("arms")]), Ok(()));
    assert_eq!(may_answer(&asked, "arms", &[], &facts), Ok(()));
    assert!(may_answer(&asked, "nothing", &[], &facts).is_err());
    // A result that should not have been sought yet is not forgotten where it is bad.
    let verdict = judge(&asked, &[read("force", 10.0, Unit::Kilonewton)], &facts);
    assert_eq!((verdict.outcome, verdict.classes), (Outcome::Failed, vec![DefectClass::Pressure]));
}

#[test]
fn no_pump_stands_alone_under_pressure_without_a_dump_valve() {
    // DGUV 305-002, 13.3.1 (CHECKS A4).
    let alone = Step {
        pump_alone: true,
        ..number("alone", Measure::ReliefOpensAt, vec![])
    };
    let asked = asked(vec![alone]);
    let with = |dump_valve| Facts { dump_valve, ..unknown() };
    let answer = [read("alone", 720.0, Unit::Bar)];
    for (dump_valve, wanted) in [(Some(true), Outcome::Passed), (Some(false), Outcome::NotComplete), (None, Outcome::NotComplete)] {
        let facts = with(dump_valve);
        assert_eq!(judge(&asked, &answer, &facts).outcome, wanted, "{dump_valve:?}");
        assert_eq!(may_answer(&asked, "alone", &[], &facts).is_ok(), wanted == Outcome::Passed);
    }
    assert!(may_answer(&asked, "alone", &[], &with(None)).unwrap_err().contains("nobody has entered"));
}

#[test]
fn a_step_for_another_drive_or_gear_is_not_asked_and_an_unknown_one_is() {
    let only = |drives: &[Drive], gear: &[Gear]| Applies {
        drives: drives.to_vec(),
        gear: gear.to_vec(),
    };
    let pack = Step {
        applies: only(&[Drive::Battery], &[]),
        ..look("pack")
    };
    let links = Step {
        applies: only(&[], &[Gear::Chains]),
        ..look("links")
    };
    let asked = asked(vec![look("a"), pack, links]);
    let outcome = |drive, gear| {
        let facts = Facts { drive, gear, ..unknown() };
        judge(&asked, &[yes("a")], &facts).outcome
    };
    assert_eq!(outcome(Some(Drive::Hose), Some(Gear::Straps)), Outcome::Passed);
    assert_eq!(outcome(Some(Drive::Battery), Some(Gear::Straps)), Outcome::NotComplete);
    assert_eq!(outcome(Some(Drive::Hose), Some(Gear::Chains)), Outcome::NotComplete);
    assert_eq!(outcome(None, Some(Gear::Straps)), Outcome::NotComplete);
    let facts = Facts {
        drive: Some(Drive::Hose),
        ..unknown()
    };
    assert!(may_answer(&asked, "pack", &[], &facts).is_err());
}

#[test]
fn a_check_of_which_nothing_is_asked_is_no_pass() {
    let mut asked = asked(vec![look("a")]);
    asked.steps[0].applies.drives = vec![Drive::Battery];
    let facts = Facts {
        drive: Some(Drive::Hose),
        ..unknown()
    };
    assert_eq!(judge(&asked, &[], &facts).outcome, Outcome::NotComplete);
    asked.steps.clear();
    assert_eq!(judge(&asked, &[], &facts).outcome, Outcome::NotComplete);
}

#[test]
fn what_cannot_be_read_is_refused_with_its_place() {
    let other = step(
        "gap",
        Ask::Number {
            measure: Measure::Other,
            dimension: Some(Dimension::Length),
            units: vec![Unit::Millimetre],
            limits: vec![],
        },
    );
    let choice = step(
        "word",
        Ask::Choice {
            options: vec!["full".into(), "half".into()],
            passing: vec!["full".into()],
        },
    );
    let asked = asked(vec![
        look("a"),
        number("n", Measure::SpreadingForce, vec![]),
        other,
        choice,
        step("note", Ask::Note),
    ]);
    let note = |text: &str| said("note", StepSaid::Note { text: text.into() });
    for (answer, path, says) in [
        (yes("nothing"), "answers[0].step", "no step"),
        (read("a", 1.0, Unit::Bar), "answers[0].said", "yes or no"),
        (yes("n"), "answers[0].said", "with its unit"),
        (read("n", 40.0, Unit::FootPound), "answers[0].said.value", "torque"),
        (read("n", 40.0, Unit::Bar), "answers[0].said.value", "force"),
        (read("n", 9e9, Unit::Kilonewton), "answers[0].said.value", "not possible"),
        (read("n", -1.0, Unit::Kilonewton), "answers[0].said.value", "from 0 up"),
        (read("n", f64::NAN, Unit::Kilonewton), "answers[0].said.value", "from 0 up"),
        (read("gap", 2.0, Unit::Second), "answers[0].said.value", "length"),
        (
            said("word", StepSaid::Choice { option: "quarter".into() }),
            "answers[0].said.option",
            "full, half",
        ),
        (note("  "), "answers[0].said.text", "write something"),
        (note(&"x".repeat(1_001)), "answers[0].said.text", "1000 at most"),
    ] {
        let found = faults(&asked, std::slice::from_ref(&answer));
        assert_eq!(found.len(), 1, "{answer:?}");
        assert_eq!(found[0].path, path, "{answer:?}");
        assert!(found[0].words.contains(says), "{answer:?}: {}", found[0].words);
        let step = judge(&asked, &[answer], &unknown());
        assert_eq!(step.outcome, Outcome::NotComplete, "what cannot be read neither passes nor fails");
    }
    assert_eq!(faults(&asked, &[note(&"x".repeat(1_000)), read("gap", 2.0, Unit::Inch)]), []);
    let many = vec![yes("a"); MOST_ANSWERS + 1];
    assert!(faults(&asked, &many)[0].words.contains("120 at most"));
}

#[test]
fn a_check_leaves_readings_and_a_baseline() {
    let leak = step(
        "leak",
        Ask::YesNo {
            sound: false,
            measure: Some(Measure::LeakAtEndStop),
        },
    );
    let asked = asked(vec![leak, number("time", Measure::OpeningTime, vec![]), look("a")]);
    let answers = [no("leak"), read("time", 4.0, Unit::Second), yes("a"), read("time", 5.0, Unit::Second)];
    assert_eq!(judge(&asked, &answers, &unknown()).outcome, Outcome::Passed);
    let time = |value: f64| Quantity::new(value, Unit::Second);
    assert_eq!(
        readings(&asked, &answers),
        [
            Reading::said(Measure::LeakAtEndStop, false),
            Reading::of(Measure::OpeningTime, time(4.0)),
            Reading::of(Measure::OpeningTime, time(5.0)),
        ]
    );
    let sort = Sort::of(Measure::OpeningTime, "time");
    assert_eq!(baseline(&asked, &answers), [KnownReading { sort, value: time(5.0) }]);
}

#[test]
fn a_done_check_is_judged_by_what_it_was_asked() {
    let before = plan(Rhythm::Use, vec![look("a")]);
    let kept = serde_json::to_string(&before.asked()).unwrap();
    let edited = plan(Rhythm::Use, vec![look("a"), look("b")]);
    let after = before.edit(edited).unwrap();
    assert_eq!((before.version, after.version), (1, 2));
    let kept: PlanSnapshot = serde_json::from_str(&kept).unwrap();
    assert_eq!(judge(&kept, &[yes("a")], &unknown()).outcome, Outcome::Passed);
    assert_eq!(judge(&after.asked(), &[yes("a")], &unknown()).outcome, Outcome::NotComplete);
}
