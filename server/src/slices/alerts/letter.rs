//! The message about an alert as e-mail: plain text that a desk takes in at a glance, and where to say that it was read; and as a notice on
//! a phone.

use chrono_tz::Tz;
use serde::Serialize;
use uuid::Uuid;

use super::{
    Alert,
    feed::Stands,
    message::{ACKNOWLEDGE_PAGE, ACKNOWLEDGE_PATH},
};

/// An e-mail's subject and text.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Letter {
    pub subject: String,
    pub text: String,
}

/// How a rig or a district stands, as a desk says it.
fn words(stands: Stands) -> &'static str {
    match stands {
        Stands::OutOfService => "out of service",
        Stands::None => "none",
        Stands::Limited => "limited",
        Stands::Full => "full",
        Stands::Heavy => "heavy",
        Stands::Short => "short of full rigs",
        Stands::Enough => "enough full rigs",
    }
}

/// How it stands now, as a heading: what is full by the records alone is not told as full without a word.
fn heading(alert: &Alert) -> String {
    let level = words(alert.after);
    let unproven = match alert.after {
        Stands::Enough => alert.confirmed_full.zip(alert.min_full).is_some_and(|(confirmed, needed)| confirmed < needed),
        _ => alert.confirmed == Some(false),
    };
    match (unproven, alert.after) {
        (false, _) => level.to_owned(),
        (true, Stands::Enough) => format!("{level}, not all confirmed"),
        (true, _) => format!("{level}, not confirmed"),
    }
}

/// The most bytes of a notice's text on a phone, which shows a few lines.
const MOST_TEXT: usize = 600;
/// The most of its heading.
const MOST_HEADING: usize = 200;

/// What stands on a phone.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Notice {
    /// The heading.
    pub title: String,
    /// The text under it.
    pub body: String,
    /// The page that it opens.
    pub path: String,
    /// Of two with one tag a phone shows the later.
    pub tag: String,
}

/// Words cut where they are longer than so many bytes.
fn cut(words: &str, most: usize) -> String {
    if words.len() <= most {
        return words.to_owned();
    }
    let end = (0..=most - 3).rev().find(|at| words.is_char_boundary(*at)).unwrap_or_default();
    format!("{}…", words.get(..end).unwrap_or_default())
}

/// What a member's phone shows of an alert: the rig or district, how it stands, and why. The page that it opens says the rest.
pub fn notice(alert: &Alert, zone: Tz) -> Notice {
    let since = alert.at.with_timezone(&zone).format("%Y-%m-%d %H:%M");
    Notice {
        title: cut(&format!("{}: {}", alert.name, heading(alert)), MOST_HEADING),
        body: cut(&format!("{} Before: {}. Since {since}.", alert.reason, words(alert.before)), MOST_TEXT),
        path: format!("/alerts/{}", alert.id),
        tag: alert.rig.map(Uuid::from).or(alert.district).unwrap_or(alert.id.0).to_string(),
    }
}

/// What a member's phone shows as a try.
pub fn trial() -> Notice {
    Notice {
        title: "Fullset: a try".to_owned(),
        body: "Notices come to this phone. You asked for this one in your account.".to_owned(),
        path: "/account".to_owned(),
        tag: "try".to_owned(),
    }
}

/// What a receiver is written about an alert. `code`: by which it is acknowledged; `origin`: the address that people open the service
/// under, where that is known.
pub fn letter(alert: &Alert, code: &str, origin: Option<&str>, zone: Tz) -> Letter {
    let mut lines = vec![
        format!("{}: {}. Before: {}.", alert.name, heading(alert), words(alert.before)),
        format!("Since {}.", alert.at.with_timezone(&zone).format("%Y-%m-%d %H:%M %Z")),
        alert.reason.clone(),
    ];
    if let Some(expected) = alert.expected.filter(|_| alert.rig.is_some()) {
        lines.push(format!("Expected of this rig: {}.", expected.word()));
    }
    lines.push(match alert.expected_back {
        Some(day) => format!("The shop expects it back on {day}."),
        None => "No day is named on which that changes.".to_owned(),
    });
    lines.push(String::new());
    match origin {
        Some(origin) => {
            lines.push("Has your desk read this? Say so here:".to_owned());
            lines.push(format!("{origin}{ACKNOWLEDGE_PAGE}#{code}"));
        }
        None => lines.push(format!(
            "Has your desk read this? Say so to the agency, or send this code to {ACKNOWLEDGE_PATH} of its service: {code}"
        )),
    }
    lines.push(String::new());
    lines.push("Of two messages about one rig or district the one with the later time holds. Nobody reads answers to this one.".to_owned());
    Letter {
        // A name has no line breaks; the library that writes the header encodes the rest.
        subject: format!("{}: {}", alert.name, heading(alert)),
        text: lines.join("\r\n"),
    }
}

#[cfg(test)]
mod tests {
    use fullset_calc::capability::Level;

    use super::*;
    use crate::slices::{alerts::AlertId, receivers::ChangeKind, rigs::RigId, subscriptions::MOST_PLAIN};

    fn alert() -> Alert {
        Alert {
            id: AlertId(Uuid::from_u128(1)),
            change: ChangeKind::RigFalls,
            revision: 7,
            at: "2026-11-25T03:12:00Z".parse().expect("an instant"),
            rig: Some(RigId(Uuid::from_u128(2))),
            station: None,
            district: None,
            name: "Engine 1".into(),
            before: Stands::Full,
            after: Stands::Limited,
            confirmed: Some(true),
            expected: Some(Level::Full),
            full: None,
            confirmed_full: None,
            min_full: None,
            reason: "Missing, or not to be used: Ram.".into(),
            expected_back: None,
            told: Vec::new(),
            rev: 7,
        }
    }

    #[test]
    fn it_says_what_changed_since_when_why_and_where_to_say_that_it_was_read() {
        let written = letter(&alert(), "abc-1", Some("https://fullset.example"), chrono_tz::America::Denver);
        assert_eq!(written.subject, "Engine 1: limited");
        assert_eq!(
            written.text,
            "Engine 1: limited. Before: full.\r\nSince 2026-11-24 20:12 MST.\r\nMissing, or not to be used: Ram.\r\nExpected of this rig: full.\r\n\
             No day is named on which that changes.\r\n\r\nHas your desk read this? Say so here:\r\nhttps://fullset.example/acknowledge#abc-1\r\n\r\n\
             Of two messages about one rig or district the one with the later time holds. Nobody reads answers to this one."
        );
    }

    #[test]
    fn what_is_full_by_the_records_alone_is_headed_so() {
        let untried = Alert {
            before: Stands::None,
            after: Stands::Full,
            confirmed: Some(false),
            ..alert()
        };
        let written = letter(&untried, "abc-1", None, chrono_tz::UTC);
        assert_eq!(written.subject, "Engine 1: full, not confirmed");
        assert!(written.text.starts_with("Engine 1: full, not confirmed. Before: none."), "{}", written.text);
        assert_eq!(notice(&untried, chrono_tz::UTC).title, "Engine 1: full, not confirmed");
        let district = |confirmed_full| Alert {
            after: Stands::Enough,
            rig: None,
            confirmed: None,
            full: Some(6),
            confirmed_full: Some(confirmed_full),
            min_full: Some(6),
            ..alert()
        };
        assert_eq!(notice(&district(4), chrono_tz::UTC).title, "Engine 1: enough full rigs, not all confirmed");
        assert_eq!(notice(&district(6), chrono_tz::UTC).title, "Engine 1: enough full rigs");
    }

    #[test]
    fn a_notice_on_a_phone_is_short_and_says_what_changed() {
        let shown = notice(&alert(), chrono_tz::America::Denver);
        assert_eq!(shown.title, "Engine 1: limited");
        assert_eq!(shown.body, "Missing, or not to be used: Ram. Before: full. Since 2026-11-24 20:12.");
        assert_eq!(shown.path, "/alerts/00000000-0000-0000-0000-000000000001");
        assert_eq!(shown.tag, "00000000-0000-0000-0000-000000000002");
        let long = Alert {
            name: "ß".repeat(200),
            reason: "漢".repeat(2000),
            ..alert()
        };
        let shown = notice(&long, chrono_tz::UTC);
        assert!(shown.title.ends_with('…') && shown.body.ends_with('…'));
        assert!(serde_json::to_vec(&shown).expect("JSON").len() < MOST_PLAIN);
    }

    #[test]
    fn without_a_public_address_it_names_the_code_and_makes_up_no_link() {
        let written = letter(&alert(), "abc-1", None, chrono_tz::UTC);
        assert!(written.text.contains("of its service: abc-1"), "{}", written.text);
        assert!(!written.text.contains("http"), "{}", written.text);
    }
}
