//! When a check looks as if it had not been done, on plain values.

use chrono::{DateTime, TimeDelta, Utc};

use crate::slices::checks::CheckWalk;

/// For how many days back, unless said.
const USUAL_DAYS: u32 = 90;
/// For how many at most.
const MOST_DAYS: u32 = 400;
/// An answer takes so many seconds at least, with the look at the piece that it is about (common practice, no source).
pub const LEAST_SECONDS: i64 = 3;
/// So many checks without a finding are told of (common practice, no source).
pub const ENOUGH_CHECKS: usize = 30;

/// From when on it is looked; refused is what is too long ago.
pub fn from(days: Option<u32>, now: DateTime<Utc>) -> Result<DateTime<Utc>, String> {
    let days = days.unwrap_or(USUAL_DAYS);
    if !(1..=MOST_DAYS).contains(&days) {
        return Err(format!("Ask for 1 to {MOST_DAYS} days"));
    }
    Ok(now - TimeDelta::days(i64::from(days)))
}

/// Whether a round was too fast for its answers.
pub fn is_hasty(walk: &CheckWalk) -> bool {
    let least = TimeDelta::seconds(LEAST_SECONDS * i64::from(walk.answers));
    walk.ended_at - walk.began_at < least
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn an_answer_takes_three_seconds() {
        let began_at: DateTime<Utc> = "2026-11-25T14:00:00Z".parse().unwrap();
        let walk = |seconds, answers| CheckWalk {
            began_at,
            ended_at: began_at + TimeDelta::seconds(seconds),
            answers,
        };
        assert!(is_hasty(&walk(119, 40)) && !is_hasty(&walk(120, 40)));
        assert!(is_hasty(&walk(0, 1)) && !is_hasty(&walk(3, 1)));
        assert!(from(Some(0), began_at).is_err() && from(Some(401), began_at).is_err());
        assert_eq!(from(None, began_at).unwrap().to_rfc3339(), "2026-08-27T14:00:00+00:00");
    }
}
