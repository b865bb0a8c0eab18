//! What is told of a plan's check of one piece.

use chrono::{DateTime, Days, NaiveDate, Utc};
use fullset_care::{
    Fault,
    due::{Due, Occasions, missed},
    plan::Rhythm,
    zone::Calendar,
};
use serde::Serialize;
use utoipa::ToSchema;

/// For how many days missed checks are told, unless said.
const USUAL_DAYS: u64 = 90;
/// For how many days they are told at most.
pub const MOST_DAYS: u64 = 400;
/// How many are named at most; the others are counted.
pub const MOST_NAMED: usize = 60;

/// A check that nobody passed while it was to be done.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
pub struct MissedCheck {
    /// The duty day on which it was due; it begins at the agency's hour, not at midnight.
    pub day: NaiveDate,
    /// When it was due.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub due_at: DateTime<Utc>,
}

/// The first day of which missed checks are told; refused are days that have not come and those too long ago.
pub fn first_day(asked: Option<NaiveDate>, today: NaiveDate) -> Result<NaiveDate, String> {
    let back = |days| today.checked_sub_days(Days::new(days)).unwrap_or(today);
    match asked {
        None => Ok(back(USUAL_DAYS)),
        Some(day) if day > today => Err("This day has not come yet; leave it out, or name an earlier one".into()),
        Some(day) if day < back(MOST_DAYS) => Err(format!(
            "Missed checks are told for {MOST_DAYS} days back at most; name {} or later",
            back(MOST_DAYS)
        )),
        Some(day) => Ok(day),
    }
}

/// The checks of a plan that were missed from an instant on, newest first; none of a plan that does not follow the calendar.
pub fn missed_checks(
    rhythm: &Rhythm,
    calendar: &Calendar,
    passes: &[DateTime<Utc>],
    from: DateTime<Utc>,
    now: DateTime<Utc>,
) -> Result<Vec<MissedCheck>, Fault> {
    let Some(occasions) = Occasions::of(rhythm, calendar) else {
        return Ok(Vec::new());
    };
    let mut all: Vec<MissedCheck> = missed(&occasions, passes, from, now)?
        .into_iter()
        .map(|one| MissedCheck {
            day: calendar.duty_day(one.at),
            due_at: one.at,
        })
        .collect();
    all.reverse();
    Ok(all)
}

/// From when on a check that is due counts against its piece; none where it never does. What is asked after a use never takes a piece out: it
/// takes its confirmation away.
pub fn drops_at(rhythm: &Rhythm, due: &Due) -> Option<DateTime<Utc>> {
    match due {
        Due::At { counts_from, .. } if *rhythm != Rhythm::Use => *counts_from,
        _ => None,
    }
}

/// The words of a due check.
pub fn why(due: &Due) -> &str {
    match due {
        Due::At { why, .. } | Due::NotYet { why } | Due::Unknown { why } => why,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn missed_checks_are_told_for_a_year_and_a_month_back_and_no_longer() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let today = day("2026-11-25");
        assert_eq!(first_day(None, today), Ok(day("2026-08-27")));
        assert_eq!(first_day(Some(today), today), Ok(today));
        assert_eq!(first_day(Some(day("2025-10-21")), today), Ok(day("2025-10-21")));
        assert!(first_day(Some(day("2025-10-20")), today).is_err());
        assert!(first_day(Some(day("2026-11-26")), today).is_err());
    }
}
