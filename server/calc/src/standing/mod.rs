//! How a rig, a district or an agency stood over time: shares of each month at each level, from intervals.
//!
//! The caller hands in the edges of the months in its time zone as instants, so that this crate needs no table of time zones and no month is an hour off when the clocks change.

mod minimum;

use crate::capability::Level;
use crate::unfit::Unfit;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

pub use minimum::{AtMinimum, Here, MinimumShare, Needed, ShortTime, at_minimum};

/// A stretch of time at one level. Intervals of one rig do not overlap.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Interval {
    /// From this instant on.
    pub from: DateTime<Utc>,
    /// Up to this one, itself not included; `None`: it still lasts.
    pub until: Option<DateTime<Utc>>,
    /// The level at which it stood for all that time.
    pub level: Level,
    /// Down for planned service; counts as time planned, not as time at its level.
    pub planned: bool,
}

/// Shares of one period.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Shares {
    /// Seconds of the period, up to now, about which something is known.
    pub known_seconds: i64,
    /// Seconds in all, up to now, rigs added up.
    pub seconds: i64,
    /// Share of the known time at full or heavy; `None` when nothing is known.
    pub full: Option<f64>,
    /// Share of the known time at limited, 0 to 1; `None` when nothing is known.
    pub limited: Option<f64>,
    /// Share of the known time at none, 0 to 1; `None` when nothing is known.
    pub none: Option<f64>,
    /// Down for planned service.
    pub planned: Option<f64>,
}

/// Shares of each period between two edges, over all rigs handed in: one list of intervals for each.
///
/// `edges` are the starts of the periods and the end of the last; time after `now` is left out, since nobody knows it.
///
/// # Errors
/// Edges that do not ascend, or intervals of one rig that overlap.
pub fn shares(rigs: &[Vec<Interval>], edges: &[DateTime<Utc>], now: DateTime<Utc>) -> Result<Vec<Shares>, Unfit> {
    if edges.iter().zip(edges.iter().skip(1)).any(|(a, b)| a >= b) {
        return Err(Unfit::new("edges", "the edges of the periods must ascend".to_owned()));
    }
    let mut sorted = rigs.to_vec();
    for intervals in &mut sorted {
        intervals.sort_by_key(|i| i.from);
        let overlap = intervals
            .iter()
            .zip(intervals.iter().skip(1))
            .any(|(a, b)| a.until.is_none_or(|until| until > b.from));
        if overlap {
            return Err(Unfit::new("intervals", "two intervals of one rig overlap".to_owned()));
        }
    }
    let periods = edges.iter().zip(edges.iter().skip(1)).map(|(from, until)| {
        let end = (*until).min(now);
        let whole = (end - *from).num_milliseconds().max(0);
        // At none, limited, full, and planned.
        let mut at = [0_i64; 4];
        for interval in sorted.iter().flatten() {
            let (a, b) = (interval.from.max(*from), interval.until.unwrap_or(end).min(end));
            let slot = match (interval.planned, interval.level) {
                (true, _) => 3,
                // Heavy counts wherever full counts.
                (false, Level::Full | Level::Heavy) => 2,
                (false, Level::Limited) => 1,
                (false, Level::None) => 0,
                // While nobody had chosen the grades nothing is known.
                (false, Level::NotJudged) => continue,
            };
            if let Some(sum) = at.get_mut(slot) {
                *sum += (b - a).num_milliseconds().max(0);
            }
        }
        let known: i64 = at.iter().sum();
        let share = |of: i64| (known > 0).then(|| crate::amount::float(of) / crate::amount::float(known));
        let [none, limited, full, planned] = at;
        Shares {
            known_seconds: known / 1000,
            seconds: whole / 1000 * i64::try_from(sorted.len()).unwrap_or(i64::MAX / 1_000_000_000),
            full: share(full),
            limited: share(limited),
            none: share(none),
            planned: share(planned),
        }
    });
    Ok(periods.collect())
}
