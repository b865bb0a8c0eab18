//! When a piece's next check is due, and which were missed.
//!
//! What is due is due at an instant and overdue from it on. A check that nobody has ever passed is due at a time that nobody knows where
//! it is counted from the last pass; that is never a pass. A check of the calendar that was missed stays missed: the next one keeps its
//! day. This module never asks what a check found, only when one was passed.

mod count;
mod occasions;

pub use count::{MeterReading, Run};
pub use occasions::{MOST_OCCASIONS, Occasion, OccasionState, Occasions, history, missed};

use crate::{
    plan::{CheckPlan, Event, Rhythm},
    zone::Calendar,
};
use chrono::{DateTime, Months, Utc};
use fullset_calc::capability::Policy;
use serde::{Deserialize, Serialize};

/// Something that happened to a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckHappened))]
pub struct Happened {
    /// UTC instant at which it happened.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// What happened to the piece.
    pub event: Event,
}

/// What a piece went through, as far as plans count it. Lists are in any order.
#[derive(Debug, Clone, Copy)]
pub struct Past<'a> {
    /// When it last passed a check by this plan, or by another that proves as much; `None`: never, or nobody knows.
    pub last_pass: Option<DateTime<Utc>>,
    /// From when on the plan holds for it: the later of the plan's first day and the piece's.
    pub since: DateTime<Utc>,
    /// Its uses, each with how long it ran, where somebody wrote that down.
    pub uses: &'a [Run],
    /// What its hour meter showed.
    pub meter: &'a [MeterReading],
    /// What happened to it.
    pub events: &'a [Happened],
}

/// When the next check is due.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckDue))]
pub enum Due {
    /// At an instant: overdue from it on.
    At {
        /// The instant at which the check falls due, UTC.
        #[serde(serialize_with = "fullset_calc::instant::serialize")]
        at: DateTime<Utc>,
        /// From when on it counts against the piece; `None`: never.
        #[serde(serialize_with = "fullset_calc::instant::option")]
        counts_from: Option<DateTime<Utc>>,
        /// What makes it due then, in words.
        why: String,
    },
    /// Nothing has made it due; time alone does not.
    NotYet {
        /// What would make it due, in words.
        why: String,
    },
    /// Nobody knows. The piece is not confirmed.
    Unknown {
        /// What is missing, and what to enter or do.
        why: String,
    },
}

impl Due {
    /// The instant, where there is one.
    #[must_use]
    pub const fn at(&self) -> Option<DateTime<Utc>> {
        match self {
            Self::At { at, .. } => Some(*at),
            Self::NotYet { .. } | Self::Unknown { .. } => None,
        }
    }
}

/// How a check stands at an instant, in one word.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = CheckDueState))]
pub enum DueState {
    /// Nothing is to be done before the next duty day.
    Good,
    /// It falls due on the present duty day, earlier or later in it.
    Due,
    /// The duty day on which it was due has ended; it does not count against the piece yet.
    Overdue,
    /// It is overdue and counts against the piece, which counts for nothing.
    Dropped,
    /// Nobody knows when it is due.
    Unknown,
}

impl DueState {
    /// Every state.
    pub const ALL: &'static [Self] = &[Self::Good, Self::Due, Self::Overdue, Self::Dropped, Self::Unknown];

    /// Its word.
    #[must_use]
    pub const fn word(self) -> &'static str {
        match self {
            Self::Good => "good",
            Self::Due => "due",
            Self::Overdue => "overdue",
            Self::Dropped => "dropped",
            Self::Unknown => "unknown",
        }
    }
}

impl Due {
    /// How the check stands at an instant. From its own instant on the piece is not confirmed, also before the duty day ends.
    #[must_use]
    pub fn state(&self, now: DateTime<Utc>, calendar: &Calendar) -> DueState {
        match self {
            Self::At {
                counts_from: Some(counts_from),
                ..
            } if *counts_from <= now => DueState::Dropped,
            Self::At { at, .. } if *at > now && calendar.duty_day(*at) > calendar.duty_day(now) => DueState::Good,
            Self::At { at, .. } if now < calendar.day_ends(*at) => DueState::Due,
            Self::At { .. } => DueState::Overdue,
            Self::NotYet { .. } => DueState::Good,
            Self::Unknown { .. } => DueState::Unknown,
        }
    }
}

/// The days of grace of a plan under a policy: the fewer of the two. A plan only ever makes the policy stricter, since one that could
/// make it looser would do so without the reason that the policy asks for.
#[must_use]
pub fn grace_days(plan: &CheckPlan, policy: &Policy) -> u32 {
    policy.overdue_grace_days.map_or(plan.grace_days, |days| days.min(plan.grace_days))
}

/// When the next check by a plan is due.
///
/// - *Use*: at the first use that no pass followed. A use at the very instant of a pass counts as after it.
/// - *Event*: at the first such event that no pass followed, likewise.
/// - *Shift* and *calendar*: at the first occasion that the last pass does not answer ([`Occasions`]); without a pass, at the first at or
///   after `since`.
/// - *Months*: at the start of the duty day so many months after that of the last pass, the last day of a shorter month; unknown without one.
/// - *Uses*, *hours*: at the use or reading that makes the number full since the last pass; unknown without one. Running hours are what
///   uses and the hour meter say; a use that says no minutes, and that no two readings of the meter enclose, leaves them unknown, unless
///   what is known is enough.
#[must_use]
pub fn next_due(plan: &CheckPlan, past: &Past<'_>, calendar: &Calendar, policy: &Policy) -> Due {
    let at = |at: DateTime<Utc>, why: String| {
        let own = Policy {
            overdue_grace_days: Some(grace_days(plan, policy)),
            ..*policy
        };
        Due::At {
            at,
            counts_from: own.counts_from(at),
            why,
        }
    };
    let after = |one: &DateTime<Utc>| past.last_pass.is_none_or(|pass| *one >= pass);
    match &plan.rhythm {
        Rhythm::Use => match past.uses.iter().map(|run| run.at).filter(|one| after(one)).min() {
            Some(used) => at(used, format!("used {}, not checked since", calendar.show(used))),
            None => Due::NotYet {
                why: "due at once after the next use".to_owned(),
            },
        },
        Rhythm::Event { events } => {
            let hits = past.events.iter().filter(|one| events.contains(&one.event) && after(&one.at));
            match hits.min_by_key(|one| one.at) {
                Some(one) => at(one.at, format!("{} {}, not tested since", one.event.words(), calendar.show(one.at))),
                None => Due::NotYet {
                    why: format!("due {}", plan.rhythm.words()),
                },
            }
        }
        Rhythm::Shift | Rhythm::Calendar { .. } => {
            let occasion = Occasions::of(&plan.rhythm, calendar).and_then(|all| match past.last_pass {
                Some(pass) => all.after_pass(pass),
                None => all.at_or_after(past.since),
            });
            match (occasion, past.last_pass) {
                (Some(next), Some(pass)) => at(next.at, format!("{}; last passed {}", plan.rhythm.words(), calendar.show(pass))),
                (Some(next), None) => at(next.at, format!("{}; never passed since {}", plan.rhythm.words(), calendar.show(past.since))),
                (None, _) => Due::Unknown {
                    why: "the plan's rule names no further day: correct the plan".to_owned(),
                },
            }
        }
        Rhythm::Months { months } => match past.last_pass {
            None => never_passed(plan),
            Some(pass) => match calendar.duty_day(pass).checked_add_months(Months::new(*months)) {
                Some(day) => at(calendar.day_begins(day), format!("{} after {}", plan.rhythm.words(), calendar.show(pass))),
                None => Due::Unknown {
                    why: format!("no date lies {} after {}: correct the last check", plan.rhythm.words(), calendar.show(pass)),
                },
            },
        },
        Rhythm::Uses { uses } => match past.last_pass {
            None => never_passed(plan),
            Some(pass) => due_at_count(count::uses(pass, past.uses, u64::from(*uses)), plan, &at),
        },
        Rhythm::Hours { hours } => match past.last_pass {
            None => never_passed(plan),
            Some(pass) => due_at_count(count::minutes(pass, past.uses, past.meter, u64::from(*hours).saturating_mul(60)), plan, &at),
        },
    }
}

fn due_at_count(found: count::Count, plan: &CheckPlan, at: &dyn Fn(DateTime<Utc>, String) -> Due) -> Due {
    match found {
        count::Count::Full { at: when, so_far } => at(when, format!("{}: {so_far} since the last pass", plan.rhythm.words())),
        count::Count::Short { so_far } => Due::NotYet {
            why: format!("due after {}: {so_far} so far", plan.rhythm.amount()),
        },
        count::Count::Unknown { why } => Due::Unknown { why },
    }
}

fn never_passed(plan: &CheckPlan) -> Due {
    Due::Unknown {
        why: format!("{}: no pass is on record, so nobody knows when the next is due: do it now", plan.name),
    }
}
