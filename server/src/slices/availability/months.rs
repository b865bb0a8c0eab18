//! Months of an agency: from midnight to midnight in its time zone.

use chrono::{DateTime, Datelike as _, Months, NaiveDate, Utc};
use chrono_tz::Tz;

use crate::{
    platform::error::{self, Fault},
    slices::agencies::day_begins,
};

/// The most months that are asked of at once.
const MOST: usize = 120;

/// Some months in a row.
#[derive(Debug)]
pub struct Span {
    /// As they are written: `2026-01`.
    pub names: Vec<String>,
    /// Where each begins, and where the last ends.
    pub edges: Vec<DateTime<Utc>>,
}

fn month(field: &str, text: &str) -> Result<NaiveDate, Fault> {
    let wrong = || Fault::new(error::QUERY_INVALID, format!("'{text}' is no month; write it as 2026-01")).at(field);
    if text.len() != 7 {
        return Err(wrong());
    }
    NaiveDate::parse_from_str(&format!("{text}-01"), "%Y-%m-%d").map_err(|_| wrong())
}

/// The months from one to another, both included; the last twelve with the running one, where neither is named.
pub fn span(from: Option<&str>, until: Option<&str>, zone: Tz, now: DateTime<Utc>) -> Result<Span, Fault> {
    let refused = |field: &str, words: String| Fault::new(error::QUERY_INVALID, words).at(field);
    let today = now.with_timezone(&zone).date_naive();
    let running = today.with_day(1).unwrap_or(today);
    let last = until.map_or(Ok(running), |until| month("until", until))?;
    if last > running {
        return Err(refused("until", "This month has not come yet; leave `until` out for the running one".into()));
    }
    let first = match from {
        Some(from) => month("from", from)?,
        None => last.checked_sub_months(Months::new(11)).unwrap_or(last),
    };
    if first > last {
        return Err(refused("from", "The first month comes after the last one; exchange `from` and `until`".into()));
    }
    let mut starts = Vec::new();
    let mut next = Some(first);
    while let Some(month) = next.filter(|month| *month <= last) {
        if starts.len() == MOST {
            return Err(refused("from", format!("Ask for {MOST} months at most")));
        }
        starts.push(month);
        next = month.checked_add_months(Months::new(1));
    }
    Ok(Span {
        names: starts.iter().map(|month| month.format("%Y-%m").to_string()).collect(),
        edges: starts.into_iter().chain(next).map(|month| day_begins(month, zone)).collect(),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn denver(from: &str, until: &str) -> Result<Span, Fault> {
        let now = "2026-11-25T14:00:00Z".parse().unwrap();
        span(
            Some(from).filter(|from| !from.is_empty()),
            Some(until).filter(|until| !until.is_empty()),
            chrono_tz::America::Denver,
            now,
        )
    }

    #[test]
    fn a_month_with_a_clock_change_is_an_hour_shorter_or_longer() {
        let span = denver("2026-03", "2026-11").unwrap();
        let hours: Vec<i64> = span.edges.windows(2).map(|pair| (pair[1] - pair[0]).num_hours()).collect();
        assert_eq!(hours, [743, 720, 744, 720, 744, 744, 720, 744, 721]);
    }

    #[test]
    fn without_a_word_it_is_the_last_twelve_with_the_running_one() {
        let span = denver("", "").unwrap();
        assert_eq!((span.names.len(), span.names[0].as_str(), span.names[11].as_str()), (12, "2025-12", "2026-11"));
    }

    #[test]
    fn what_is_no_month_is_refused_with_its_field() {
        for (from, until, field) in [
            ("2026-13", "", "from"),
            ("2026-1", "", "from"),
            ("+026-01", "", "from"),
            ("yesterday", "", "from"),
            ("2026-06", "2026-05", "from"),
            ("1900-01", "", "from"),
            ("", "2026-12", "until"),
        ] {
            assert_eq!(denver(from, until).unwrap_err().field.as_deref(), Some(field), "{from} {until}");
        }
    }
}
