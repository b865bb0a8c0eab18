//! What a check is judged with, and what becomes of its readings.

use chrono::{DateTime, NaiveDate, Utc};
use std::time::Duration;

use fullset_calc::{hookup::Hookup, ratings::Kind, release::Measure};
use fullset_care::{
    check::{Answer, Earlier, Facts, KnownReading, Sort, StepSaid, readings as readings_of},
    plan::{Ask, Drive, PlanSnapshot},
};

use super::CheckWalk;
use crate::slices::{
    check_plans::{CheckPlan, CheckPlanState},
    models::Model,
    pieces::{BaselineValue, PieceState},
};

/// Readings that are kept for the trend.
pub const MOST_READINGS: usize = 40;

/// The version that a check answers, and whether a pass of it counts; or why there is none such.
pub fn version(plan: &CheckPlan, version: u32, at: DateTime<Utc>) -> Result<(PlanSnapshot, bool), String> {
    let withdrawn = plan.state == CheckPlanState::Withdrawn && plan.changed_at <= at;
    if plan.plan.version == version {
        return Ok((plan.plan.asked(), !withdrawn));
    }
    match plan.earlier.iter().find(|earlier| earlier.asked.version == version) {
        Some(earlier) => Ok((earlier.asked.clone(), at < earlier.until)),
        None => Err(format!(
            "{} is at version {} now, and version {version} is not kept; do the check by the plan of now",
            plan.plan.name, plan.plan.version
        )),
    }
}

/// What drives a piece, where its model says so.
pub fn drive(kind: Kind, hookup: &Hookup) -> Option<Drive> {
    match kind {
        Kind::HandPump => Some(Drive::Hand),
        _ if hookup.battery.is_some() => Some(Drive::Battery),
        kind if kind.is_tool() && hookup.coupling.is_some() => Some(Drive::Hose),
        _ => None,
    }
}

/// The acceptance test as checks compare with it.
pub fn known(baseline: &[BaselineValue]) -> Vec<KnownReading> {
    let known = |value: &BaselineValue| KnownReading {
        sort: Sort {
            measure: value.measure,
            step: None,
        },
        value: value.value,
    };
    baseline.iter().filter(|value| value.measure != Measure::Other).map(known).collect()
}

/// What the register knows of a piece of the model, as its checks are judged by it.
pub fn facts<'a>(model: &'a Model, baseline: &'a [KnownReading], earlier: &'a [Earlier]) -> Facts<'a> {
    Facts {
        ratings: &model.ratings,
        nominal: model.hookup.allowable_pressure.or(model.hookup.pressure),
        drive: drive(model.kind, &model.hookup),
        gear: model.gear,
        dump_valve: model.dump_valve,
        baseline,
        makers_bounds: &model.makers_bounds,
        earlier,
    }
}

/// The readings of a check in front of those before.
pub fn readings(asked: &PlanSnapshot, answers: &[Answer], on: NaiveDate, before: Vec<Earlier>) -> Vec<Earlier> {
    let mut all: Vec<Earlier> = Vec::new();
    for answer in answers {
        let step = asked.steps.iter().find(|step| step.id == answer.step);
        if let (Some(Ask::Number { measure, .. }), StepSaid::Number { value }) = (step.map(|step| &step.ask), &answer.said) {
            all.push(Earlier {
                sort: Sort::of(*measure, &answer.step),
                on,
                value: *value,
            });
        }
    }
    all.extend(before);
    all.truncate(MOST_READINGS);
    all
}

/// What the hour meter showed, in whole minutes, where the check read it. Of two readings the later.
pub fn meter_minutes(asked: &PlanSnapshot, answers: &[Answer]) -> Option<u64> {
    let shown = readings_of(asked, answers)
        .into_iter()
        .rev()
        .find(|reading| reading.measure == Measure::HourMeter)?;
    Some(Duration::try_from_secs_f64(shown.value?.si()).ok()?.as_secs() / 60)
}

/// The most answers of one round.
const MOST_WALKED: u32 = 10_000;

/// Whether a round can have been so; if not, why.
pub fn walk_can_be(walk: &CheckWalk) -> Result<(), String> {
    if !(1..=MOST_WALKED).contains(&walk.answers) {
        return Err(format!("A round has 1 to {MOST_WALKED} answers"));
    }
    if walk.ended_at < walk.began_at {
        return Err("The round ends before it begins".into());
    }
    Ok(())
}

/// Why a piece in that state is not checked; none: it may be.
pub fn may_check(tag: &str, state: PieceState) -> Result<(), String> {
    match state {
        PieceState::Retired => Err(format!("{tag} is retired; there is nothing to check any more")),
        PieceState::Missing => Err(format!("{tag} is missing; say first that it was found")),
        PieceState::InService | PieceState::OutOfService => Ok(()),
    }
}
