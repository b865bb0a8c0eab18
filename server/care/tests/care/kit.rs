//! Builders that the tests share.

use chrono::{DateTime, NaiveDateTime, NaiveTime, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    ratings::{Figure, Kind, Rating, Ratings, Term},
    release::{DefectClass, Measure},
    units::{Quantity, Unit},
};
use fullset_care::{
    check::{Answer, Facts, StepSaid},
    plan::{Applies, Ask, CheckPlan, Covers, Limit, Proof, Rhythm, Signer, Source, Stage, Step},
    zone::Calendar,
};
use std::sync::LazyLock;

pub fn utc(text: &str) -> DateTime<Utc> {
    text.parse().unwrap()
}

pub fn local(text: &str) -> NaiveDateTime {
    text.parse().unwrap()
}

/// A county in the mountains whose duty day begins at 07:00.
pub fn denver() -> Calendar {
    Calendar {
        zone: Tz::America__Denver,
        day_starts: NaiveTime::from_hms_opt(7, 0, 0).unwrap(),
    }
}

pub fn calendar(rule: &str, start: &str) -> Rhythm {
    Rhythm::Calendar {
        rule: rule.parse().unwrap(),
        start: local(start),
    }
}

pub fn step(id: &str, ask: Ask) -> Step {
    Step {
        id: id.into(),
        title: id.to_uppercase(),
        how: String::new(),
        caution: None,
        ask,
        stage: Stage::Look,
        optional: false,
        pump_alone: false,
        applies: Applies::default(),
        source: Source::Practice,
        fails_as: DefectClass::Deformation,
    }
}

pub fn look(id: &str) -> Step {
    step(id, Ask::YesNo { sound: true, measure: None })
}

pub fn number(id: &str, measure: Measure, limits: Vec<Limit>) -> Step {
    let ask = Ask::Number {
        measure,
        dimension: None,
        units: vec![],
        limits,
    };
    Step {
        fails_as: DefectClass::Pressure,
        ..step(id, ask)
    }
}

pub fn plan(rhythm: Rhythm, steps: Vec<Step>) -> CheckPlan {
    CheckPlan {
        name: "Check".into(),
        version: 1,
        covers: Covers {
            kinds: vec![Kind::Spreader],
            models: vec![],
        },
        rhythm,
        steps,
        signer: Signer::Member,
        grace_days: 2,
        proves: vec![Proof::Checked],
    }
}

pub fn said(step: &str, said: StepSaid) -> Answer {
    Answer {
        step: step.into(),
        said,
        copied: false,
        why: None,
    }
}

pub fn yes(step: &str) -> Answer {
    said(step, StepSaid::YesNo { yes: true })
}

pub fn no(step: &str) -> Answer {
    said(step, StepSaid::YesNo { yes: false })
}

pub fn read(step: &str, value: f64, unit: Unit) -> Answer {
    said(
        step,
        StepSaid::Number {
            value: Quantity::new(value, unit),
        },
    )
}

pub fn ratings(all: &[(Term, f64, Unit)]) -> Ratings {
    all.iter()
        .map(|(term, value, unit)| (*term, Rating::by(Figure::Quantity(Quantity::new(*value, *unit)), "EN 13204", "2016")))
        .collect()
}

/// A piece of which nothing is known.
pub fn unknown() -> Facts<'static> {
    static NONE: LazyLock<Ratings> = LazyLock::new(Ratings::default);
    Facts {
        ratings: &NONE,
        nominal: None,
        drive: None,
        gear: None,
        dump_valve: None,
        baseline: &[],
        makers_bounds: &[],
        earlier: &[],
    }
}
