//! Due checks as an iCalendar file (RFC 5545): an all-day event for each piece and plan, on the duty day on which the next check is due. The
//! same check has the same UID for ever, so that a calendar that reads the file again moves events instead of doubling them.
//!
//! An event has dates and no times, and the file no VTIMEZONE: a duty day is a date of the agency's zone, which whoever reads the calendar,
//! wherever he is, must see as that date; with times it would move to another day in another zone (RFC 5545, 3.3.4, and 3.6.1 for all-day
//! events). The hour at which a check is due stands in the description.

use chrono::{DateTime, NaiveDate, Utc};
use icalendar::{Calendar, Component as _, Event, EventLike as _, Property};

/// The most events of a file; those that are due first.
pub const MOST_EVENTS: usize = 2_000;

/// One check that is due on a day.
#[derive(Debug, Clone)]
pub struct DueEvent {
    /// Its UID.
    pub uid: String,
    /// The duty day.
    pub day: NaiveDate,
    /// "Weekly check: cutter: E1-CUT".
    pub summary: String,
    /// What else there is to say of it.
    pub description: String,
    /// The rig that the piece is on.
    pub location: Option<String>,
    /// The revision of the answer: it grows with each change.
    pub sequence: i64,
    /// When the answer last changed.
    pub changed_at: DateTime<Utc>,
}

/// The file. Nothing in it hangs on when it is read: of unchanged checks it never changes.
pub fn file(name: &str, about: &str, mut events: Vec<DueEvent>) -> String {
    events.sort_by(|one, other| one.day.cmp(&other.day).then_with(|| one.uid.cmp(&other.uid)));
    let left_off = events.len().saturating_sub(MOST_EVENTS);
    events.truncate(MOST_EVENTS);
    let mut calendar = Calendar::new();
    calendar.properties.retain(|property| property.key() != "PRODID");
    calendar.append_property(("PRODID", "-//Fullset//Checks//EN"));
    calendar.append_property(("METHOD", "PUBLISH"));
    calendar.append_property(("X-WR-CALNAME", line(name).as_str()));
    let more = if left_off > 0 {
        format!(" {left_off} later checks are left off; a calendar holds {MOST_EVENTS}.")
    } else {
        String::new()
    };
    calendar.append_property(("DESCRIPTION", line(&format!("{about}{more}")).as_str()));
    // RFC 7986, 5.7: how often to read it again.
    calendar.append_property(Property::new("REFRESH-INTERVAL", "PT4H").add_parameter("VALUE", "DURATION").done());
    for due in events {
        calendar.push(event(&due));
    }
    calendar.to_string()
}

fn event(due: &DueEvent) -> Event {
    let mut event = Event::new();
    event
        .uid(&due.uid)
        .timestamp(due.changed_at)
        .last_modified(due.changed_at)
        .sequence(u32::try_from(due.sequence).unwrap_or(u32::MAX >> 1).min(u32::MAX >> 1))
        .summary(&line(&due.summary))
        .description(&due.description.replace('\r', ""))
        .starts(due.day)
        // The end of an all-day event is exclusive.
        .ends(due.day.succ_opt().unwrap_or(due.day))
        // A check that is due keeps nobody busy for the day.
        .append_property(Property::new("TRANSP", "TRANSPARENT").done());
    if let Some(location) = &due.location {
        event.location(&line(location));
    }
    event.done()
}

/// A text without line ends.
fn line(text: &str) -> String {
    text.chars().map(|c| if c.is_control() { ' ' } else { c }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn due(n: usize) -> DueEvent {
        let day: NaiveDate = "2026-11-30".parse().unwrap();
        DueEvent {
            uid: format!("{n:06}@fullset"),
            day: day + chrono::Days::new(u64::try_from(n).unwrap()),
            summary: "Check".into(),
            description: "weekly".into(),
            location: None,
            sequence: 7,
            changed_at: DateTime::from_timestamp(0, 0).unwrap(),
        }
    }

    #[test]
    fn a_file_holds_two_thousand_events_at_most_those_that_are_due_first() {
        let text = |count: usize| file("Engine 1", "Checks.", (0..count).rev().map(due).collect());
        let whole = text(MOST_EVENTS);
        assert_eq!(whole.matches("BEGIN:VEVENT").count(), MOST_EVENTS);
        assert!(!whole.contains("left off"));
        let cut = text(MOST_EVENTS + 3);
        assert_eq!(cut.matches("BEGIN:VEVENT").count(), MOST_EVENTS);
        assert!(cut.contains("3 later checks are left off"), "{}", &cut[..400]);
        assert!(cut.contains("UID:000000@fullset") && !cut.contains("UID:002000@fullset"));
    }
}
