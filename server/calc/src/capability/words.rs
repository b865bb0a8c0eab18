//! How the answer speaks: units and the form of times are the caller's.

use crate::ratings::Term;
use crate::units::Units;
use chrono::{DateTime, Datelike, Timelike, Utc};

/// How to write sizes and instants in words. The agency's zone is the caller's business.
#[derive(Clone, Copy)]
pub struct Voice<'a> {
    /// US customary or SI.
    pub units: Units,
    /// Writes an instant as this agency reads it.
    pub time: &'a dyn Fn(DateTime<Utc>) -> String,
}

impl std::fmt::Debug for Voice<'_> {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Voice").field("units", &self.units).finish_non_exhaustive()
    }
}

impl Voice<'static> {
    /// Times in UTC, `2026-11-25 14:20Z`: for callers that know no zone.
    #[must_use]
    pub const fn utc(units: Units) -> Self {
        Self { units, time: &in_utc }
    }
}

fn in_utc(at: DateTime<Utc>) -> String {
    format!("{:04}-{:02}-{:02} {:02}:{:02}Z", at.year(), at.month(), at.day(), at.hour(), at.minute())
}

impl Voice<'_> {
    pub(super) fn at(&self, at: DateTime<Utc>) -> String {
        (self.time)(at)
    }
}

/// "2 tools", "1 tool".
pub(super) fn tools(n: usize) -> String {
    if n == 1 { "1 tool".into() } else { format!("{n} tools") }
}

/// "a, b and c" with the given last link.
pub(super) fn listed(parts: &[&str], link: &str) -> String {
    match parts {
        [] => String::new(),
        [only] => (*only).to_owned(),
        [head @ .., last] => format!("{} {link} {last}", head.join(", ")),
    }
}

/// "its push force does not count", "its push force and stroke do not count"; nothing where no rating is taken away.
pub(super) fn taken_away(terms: &[Term]) -> String {
    let labels: Vec<&str> = terms.iter().map(|term| term.label()).collect();
    match labels.as_slice() {
        [] => String::new(),
        [only] => format!("its {only} does not count"),
        all => format!("its {} do not count", listed(all, "and")),
    }
}

/// "a cutter", "an accessory", "chains".
pub(super) fn one(noun: &str) -> String {
    if noun.ends_with('s') || noun == "cribbing" {
        return noun.to_owned();
    }
    let an = noun.starts_with(['a', 'e', 'i', 'o', 'u']);
    format!("{} {noun}", if an { "an" } else { "a" })
}
