//! Rules of RFC 5545, as plans and clients write them.

use chrono::{DateTime, Datelike as _, TimeDelta};
use chrono_tz::Tz;
use fullset_care::recurrence::{LAST_YEAR, Occurrence, Recurrence, Series};

/// How many occurrences are looked at.
const SEEN: usize = 40;
const ZONES: [Tz; 4] = [Tz::UTC, Tz::America__New_York, Tz::Australia__Lord_Howe, Tz::Pacific__Apia];

/// A rule has one spelling, which reads as the same; its occurrences come in order, and are the same wherever one begins to read.
pub fn hold(bytes: &[u8]) {
    let Some((zone, rest)) = super::cut(bytes) else { return };
    let Some((head, text)) = rest.split_at_checked(4) else { return };
    let Some(text) = super::text(text) else { return };
    let Ok(rule) = text.parse::<Recurrence>() else { return };
    let spelled = rule.to_string();
    assert_eq!(spelled.parse::<Recurrence>().as_ref(), Ok(&rule), "{spelled}");
    assert!(!rule.words().is_empty());

    let seconds = u32::from_le_bytes(head.try_into().expect("four bytes"));
    let start = (DateTime::UNIX_EPOCH + TimeDelta::seconds(i64::from(seconds))).naive_utc();
    let zone = ZONES[usize::from(zone) % ZONES.len()];
    let series = Series { rule: &rule, start, zone };
    let all: Vec<Occurrence> = series.all().take(SEEN).collect();
    for pair in all.windows(2) {
        assert!(pair[0].at < pair[1].at, "{spelled}: {pair:?}");
    }
    for one in &all {
        assert!(one.local >= start && one.local.year() <= LAST_YEAR, "{spelled}: {one:?} of {start}");
    }
    if let Some(middle) = all.get(all.len() / 2) {
        let rest: Vec<Occurrence> = series.from(middle.at).take(SEEN - all.len() / 2).collect();
        let expected = &all[all.len() / 2..];
        assert_eq!(
            rest.get(..expected.len().min(rest.len())),
            Some(&expected[..expected.len().min(rest.len())]),
            "{spelled}"
        );
        assert!(rest.len() >= expected.len(), "{spelled}: read from {} on it ends early", middle.at);
    }
}
