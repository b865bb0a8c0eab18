//! The occasions on which a plan of the calendar asks, and which pass answers which.
//!
//! An occasion is due at its occurrence. It opens with the duty day in which that lies (or, after another of the same duty day, at the
//! occurrence itself) and closes when the next one opens. A pass answers the occasion that is open then, and no other: one of Wednesday
//! answers Monday's late and leaves next Monday's where it is; one of 02:00 on Monday, before the duty day begins at 07:00, is one of
//! Sunday's duty day and answers the week before.

use crate::{
    Fault,
    plan::Rhythm,
    recurrence::{Frequency, Occurrences, Recurrence, Series},
    zone::Calendar,
};
use chrono::{DateTime, NaiveDate, NaiveDateTime, Utc};
use serde::{Deserialize, Serialize};
use std::borrow::Cow;

/// The most occasions that one question tells of: eleven years of days.
pub const MOST_OCCASIONS: usize = 4_000;

/// One time that a plan asks for a check.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Occasion {
    /// From when on a pass answers it.
    pub opens: DateTime<Utc>,
    /// When it is due.
    pub at: DateTime<Utc>,
}

/// What became of an occasion.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum OccasionState {
    /// A check was passed for it.
    Done {
        /// When it was passed first.
        #[serde(serialize_with = "fullset_calc::instant::serialize")]
        at: DateTime<Utc>,
        /// Whether that was after the duty day on which it was due.
        late: bool,
    },
    /// It closed without a pass, and stays so.
    Missed,
    /// It can still be done.
    Open,
}

/// The occasions of a plan in a calendar.
#[derive(Debug, Clone)]
pub struct Occasions<'a> {
    rule: Cow<'a, Recurrence>,
    start: NaiveDateTime,
    calendar: Calendar,
}

impl<'a> Occasions<'a> {
    /// Those of a rhythm; `None` where it does not follow the calendar.
    #[must_use]
    pub fn of(rhythm: &'a Rhythm, calendar: &Calendar) -> Option<Self> {
        match rhythm {
            Rhythm::Calendar { rule, start } => Some(Self {
                rule: Cow::Borrowed(rule),
                start: *start,
                calendar: *calendar,
            }),
            // Each duty day since anybody kept such records, at its start.
            Rhythm::Shift => Some(Self {
                rule: Cow::Owned(Recurrence::every(Frequency::Daily)),
                start: NaiveDate::from_ymd_opt(1970, 1, 1)?.and_time(calendar.day_starts),
                calendar: *calendar,
            }),
            _ => None,
        }
    }

    fn series(&self) -> Series<'_> {
        Series {
            rule: &self.rule,
            start: self.start,
            zone: self.calendar.zone,
        }
    }

    /// All from the start of the duty day on in which an instant lies, in order.
    fn from(&self, at: DateTime<Utc>) -> impl Iterator<Item = Occasion> + '_ {
        let day = self.calendar.duty_day(at);
        Opening {
            calendar: self.calendar,
            occurrences: self.series().from(self.calendar.day_begins(day)),
            day: None,
        }
    }

    /// The first that a pass at that instant does not answer.
    #[must_use]
    pub fn after_pass(&self, pass: DateTime<Utc>) -> Option<Occasion> {
        self.from(pass).find(|occasion| occasion.opens > pass)
    }

    /// The first that is due at that instant or after.
    #[must_use]
    pub fn at_or_after(&self, at: DateTime<Utc>) -> Option<Occasion> {
        self.from(at).find(|occasion| occasion.at >= at)
    }
}

/// Gives each occurrence the instant at which it opens.
struct Opening<'a> {
    calendar: Calendar,
    occurrences: Occurrences<'a>,
    day: Option<NaiveDate>,
}

impl Iterator for Opening<'_> {
    type Item = Occasion;

    fn next(&mut self) -> Option<Occasion> {
        let at = self.occurrences.next()?.at;
        let day = self.calendar.duty_day(at);
        let opens = if self.day == Some(day) { at } else { self.calendar.day_begins(day) };
        self.day = Some(day);
        Some(Occasion { opens, at })
    }
}

/// What became of each occasion that was due from one instant to before another, as of `until`; `passes` in any order.
///
/// # Errors
/// More than [`MOST_OCCASIONS`] occasions.
pub fn history(
    occasions: &Occasions<'_>,
    passes: &[DateTime<Utc>],
    from: DateTime<Utc>,
    until: DateTime<Utc>,
) -> Result<Vec<(Occasion, OccasionState)>, Fault> {
    let mut passes = passes.to_vec();
    passes.sort_unstable();
    let mut found = Vec::new();
    let mut all = occasions.from(from).skip_while(|one| one.at < from).peekable();
    while let Some(one) = all.next().filter(|one| one.at < until) {
        if found.len() == MOST_OCCASIONS {
            return Err(Fault::new(
                "from",
                format!("more than {MOST_OCCASIONS} checks lie in that time: ask for a shorter one"),
            ));
        }
        let closes = all.peek().map(|next| next.opens);
        let first = passes.partition_point(|pass| *pass < one.opens);
        let pass = passes
            .get(first)
            .copied()
            .filter(|pass| *pass <= until && closes.is_none_or(|closes| *pass < closes));
        let state = match pass {
            Some(at) => OccasionState::Done {
                at,
                late: at >= occasions.calendar.day_ends(one.at),
            },
            None if closes.is_some_and(|closes| closes <= until) => OccasionState::Missed,
            None => OccasionState::Open,
        };
        found.push((one, state));
    }
    Ok(found)
}

/// The occasions that closed without a pass.
///
/// # Errors
/// As [`history`].
pub fn missed(occasions: &Occasions<'_>, passes: &[DateTime<Utc>], from: DateTime<Utc>, until: DateTime<Utc>) -> Result<Vec<Occasion>, Fault> {
    let all = history(occasions, passes, from, until)?;
    Ok(all
        .into_iter()
        .filter(|(_, state)| *state == OccasionState::Missed)
        .map(|(one, _)| one)
        .collect())
}
