//! Plates, evidence and what is missing of it.
#![allow(dead_code, reason = "two tests share this, and neither uses all")]
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use chrono::NaiveDate;
use fullset_calc::{
    ratings::{Kind, Rating, Ratings, Term},
    release::{
        AgencyRules, Baseline, DefectClass, Ending, Evidence, HoseLife, MakersPaper, Measure, MissingWhat, Needed, Plate, Reading, Role, Signature,
        annual_readings, may_stay_usable, needed_for_annual, needed_for_release, release,
    },
    units::{Quantity, Unit},
};

pub fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

pub fn today() -> NaiveDate {
    day("2026-11-28")
}

pub fn ratings(all: &[(Term, f64, Unit)]) -> Ratings {
    all.iter().map(|(term, value, unit)| (*term, Rating::plain(*value, *unit))).collect()
}

pub fn plate(kind: Kind, ratings: &Ratings) -> Plate<'_> {
    Plate {
        kind,
        on_battery: false,
        nominal: Some(Quantity::new(10_500.0, Unit::Psi)),
        ratings,
        life: if kind == Kind::Hose {
            HoseLife::EndsOn(day("2030-01-01"))
        } else {
            HoseLife::NotAHose
        },
    }
}

/// A value in the middle of what is allowed, for everything that is asked.
pub fn good(needed: &Needed) -> Evidence {
    let readings = needed
        .readings
        .iter()
        .map(|reading| match (reading.answer, reading.low, reading.high, reading.plate) {
            (Some(yes), ..) => Reading::said(reading.measure, yes),
            (_, Some(low), Some(high), _) => Reading::of(reading.measure, Quantity::new(f64::midpoint(low.value, high.value), low.unit)),
            (_, Some(low), None, _) => Reading::of(reading.measure, Quantity::new(low.value * 1.05, low.unit)),
            (_, None, _, Some(plate)) => Reading::of(reading.measure, plate),
            _ => Reading::of(reading.measure, any(reading.measure)),
        });
    Evidence {
        readings: readings.collect(),
        manual: Some("service manual, 7.2".into()),
        makers_service: needed.makers_service().then(paper),
        note: Some("repaired and tested".into()),
    }
}

pub fn paper() -> MakersPaper {
    MakersPaper {
        by: "Northfield Hydraulics".into(),
        reference: "report 118".into(),
        on: day("2026-11-20"),
    }
}

pub fn any(measure: Measure) -> Quantity {
    match measure {
        Measure::PressureReached | Measure::ReliefOpensAt => Quantity::new(10_500.0, Unit::Psi),
        _ => Quantity::new(30.0, Unit::Kilonewton),
    }
}

pub fn with(mut evidence: Evidence, measure: Measure, value: Quantity) -> Evidence {
    evidence.readings.retain(|reading| reading.measure != measure);
    evidence.readings.push(Reading::of(measure, value));
    evidence
}

pub fn said(mut evidence: Evidence, measure: Measure, yes: bool) -> Evidence {
    evidence.readings.retain(|reading| reading.measure != measure);
    evidence.readings.push(Reading::said(measure, yes));
    evidence
}

pub fn missing(plate: &Plate<'_>, classes: &[DefectClass], evidence: &Evidence, role: Role) -> Vec<(MissingWhat, Option<Measure>)> {
    release(plate, classes, evidence, &[], role, today())
        .err()
        .unwrap_or_default()
        .into_iter()
        .map(|missing| (missing.what, missing.measure))
        .collect()
}

pub const OUT: MissingWhat = MissingWhat::OutOfLimit;
