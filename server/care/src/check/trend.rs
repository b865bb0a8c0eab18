//! How a reading moves: the last earlier ones with their days, and which way.

use super::{
    facts::{Earlier, Facts, Sort},
    hold::{LimitCheck, hold},
};
use crate::plan::Limit;
use chrono::NaiveDate;
use fullset_calc::units::Quantity;
use serde::{Deserialize, Serialize};

/// How many earlier readings are told.
const TOLD: usize = 3;
/// What differs by less than this share is the same: gauges and watches are not read finer (common practice, no source).
const SAME: f64 = 0.02;

/// Which way readings move.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = TrendWay))]
pub enum Way {
    /// None is lower than the one before, and the last is higher than the first.
    Rising,
    /// None is higher than the one before, and the last is lower than the first.
    Falling,
    /// All lie within 2 % of the first.
    Steady,
    /// None of these.
    Unclear,
}

/// A reading with its day.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = DatedReading))]
pub struct Dated {
    /// Calendar day of the earlier check, in the agency's zone.
    pub on: NaiveDate,
    /// The value that was read on that day, with its unit.
    pub value: Quantity,
}

/// How a reading moves.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = ReadingTrend))]
pub struct Trend {
    /// The last earlier readings, the oldest first, at most three.
    pub earlier: Vec<Dated>,
    /// Which way, with the reading of now.
    pub way: Way,
    /// Of the earlier ones told, how many were beyond the limits of now.
    pub beyond: usize,
    /// "47 kN on 2025-03-01, 45 kN on 2026-03-01, now 43 kN: falling".
    pub words: String,
}

/// How the readings of one sort moved up to the value of now; `None` where there was none before. Values of another dimension are passed
/// over.
#[must_use]
pub fn trend(earlier: &[Earlier], sort: &Sort, now: Quantity, limits: &[Limit], facts: &Facts<'_>) -> Option<Trend> {
    let mut known: Vec<&Earlier> = earlier
        .iter()
        .filter(|one| one.sort == *sort && one.value.dimension() == now.dimension() && one.value.si().is_finite())
        .collect();
    known.sort_by_key(|one| one.on);
    let told: Vec<Dated> = known
        .iter()
        .skip(known.len().saturating_sub(TOLD))
        .map(|one| Dated { on: one.on, value: one.value })
        .collect();
    if told.is_empty() {
        return None;
    }
    let sizes: Vec<f64> = told.iter().map(|one| one.value.si()).chain([now.si()]).collect();
    let way = way(&sizes);
    let is_beyond = |value: Quantity| limits.iter().any(|limit| matches!(hold(limit, sort, "", value, facts), LimitCheck::Beyond(_)));
    let beyond = told.iter().filter(|one| is_beyond(one.value)).count();
    let said: Vec<String> = told.iter().map(|one| format!("{} on {}", one.value.show_as_typed(), one.on)).collect();
    let ends = match way {
        Way::Rising => "rising",
        Way::Falling => "falling",
        Way::Steady => "steady",
        Way::Unclear => "no clear trend",
    };
    let words = format!("{}, now {}: {ends}", said.join(", "), now.show_as_typed());
    Some(Trend {
        earlier: told,
        way,
        beyond,
        words,
    })
}

fn way(sizes: &[f64]) -> Way {
    let (Some(first), Some(last)) = (sizes.first(), sizes.last()) else {
        return Way::Unclear;
    };
    let room = first.abs() * SAME;
    if sizes.iter().all(|size| (size - first).abs() <= room) {
        return Way::Steady;
    }
    let mut pairs = sizes.iter().zip(sizes.iter().skip(1));
    if last > first && pairs.clone().all(|(a, b)| b >= a) {
        Way::Rising
    } else if last < first && pairs.all(|(a, b)| b <= a) {
        Way::Falling
    } else {
        Way::Unclear
    }
}
