//! Uses and running time since the last pass.
//!
//! What nobody wrote down is not zero: a use without minutes leaves the running time unknown, unless two readings of the hour meter
//! enclose it.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};

/// A use of a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Run {
    /// When.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// How long, in minutes; `None`: nobody wrote it down.
    pub minutes: Option<u32>,
}

/// What the hour meter of a piece showed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeterReading {
    /// When.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// What it showed, in minutes.
    pub minutes: u64,
}

/// How far a count has come.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Count {
    /// It is full.
    Full {
        /// When it became so.
        at: DateTime<Utc>,
        /// What was counted in all, in words.
        so_far: String,
    },
    /// It is not.
    Short {
        /// What was counted, in words.
        so_far: String,
    },
    /// Nobody knows.
    Unknown {
        /// What is missing, and what to enter or do.
        why: String,
    },
}

/// The uses at or after a pass, held against a number.
pub(super) fn uses(pass: DateTime<Utc>, runs: &[Run], full: u64) -> Count {
    let mut all: Vec<DateTime<Utc>> = runs.iter().map(|run| run.at).filter(|at| *at >= pass).collect();
    all.sort_unstable();
    let so_far = match all.len() {
        1 => "1 use".to_owned(),
        count => format!("{count} uses"),
    };
    let filling = usize::try_from(full).ok().and_then(|full| full.checked_sub(1));
    match filling.and_then(|last| all.get(last)) {
        Some(at) => Count::Full { at: *at, so_far },
        None => Count::Short { so_far },
    }
}

/// The minutes that a piece ran since a pass, held against a number. Between the first and the last reading of its meter the meter counts,
/// before and after them the uses.
pub(super) fn minutes(pass: DateTime<Utc>, runs: &[Run], meter: &[MeterReading], full: u64) -> Count {
    let mut meter: Vec<MeterReading> = meter.iter().copied().filter(|one| one.at >= pass).collect();
    meter.sort_unstable();
    let mut steps: Vec<(DateTime<Utc>, u64)> = Vec::new();
    for pair in meter.windows(2) {
        let [before, after] = pair else { continue };
        match after.minutes.checked_sub(before.minutes) {
            Some(ran) => steps.push((after.at, ran)),
            None => {
                return Count::Unknown {
                    why: format!(
                        "the hour meter showed {} and then {}: correct what was read, or do the check now",
                        shown(before.minutes),
                        shown(after.minutes)
                    ),
                };
            }
        }
    }
    let span = meter.first().zip(meter.last());
    // A use that ended at a reading is in it.
    let metered = |at: DateTime<Utc>| span.is_some_and(|(first, last)| first.at < at && at <= last.at);
    let (mut used, mut silent) = (0_usize, 0_usize);
    for run in runs.iter().filter(|run| run.at >= pass && !metered(run.at)) {
        used += 1;
        match run.minutes {
            Some(ran) => steps.push((run.at, u64::from(ran))),
            None => silent += 1,
        }
    }
    steps.sort_unstable();
    let mut sum = 0_u64;
    let mut reached = None;
    for (at, ran) in steps {
        sum = sum.saturating_add(ran);
        if sum >= full && reached.is_none() {
            reached = Some(at);
        }
    }
    match reached {
        Some(at) => Count::Full { at, so_far: shown(sum) },
        None if silent > 0 => Count::Unknown {
            why: format!(
                "running hours are not known: {silent} of {used} uses since the last pass say no minutes ({} are on record); read the hour meter at a \
                 check, or do this check now",
                shown(sum)
            ),
        },
        None => Count::Short { so_far: shown(sum) },
    }
}

/// Minutes as people read them: `12 h 5 min`.
fn shown(minutes: u64) -> String {
    match (minutes / 60, minutes % 60) {
        (0, minutes) => format!("{minutes} min"),
        (hours, 0) => format!("{hours} h"),
        (hours, minutes) => format!("{hours} h {minutes} min"),
    }
}
