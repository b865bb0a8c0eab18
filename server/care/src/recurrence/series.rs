//! The instants of a rule in a zone.

use super::{End, Recurrence, expand::LocalTimes};
use crate::zone;
use chrono::{DateTime, NaiveDate, NaiveDateTime, TimeDelta, Utc};
use chrono_tz::Tz;
use std::collections::BTreeMap;

/// No clock is put on or back by more.
const WIDEST_CHANGE: TimeDelta = TimeDelta::hours(25);

/// A rule with its start and its zone: `DTSTART;TZID=` and `RRULE`.
#[derive(Debug, Clone, Copy)]
pub struct Series<'a> {
    /// The rule.
    pub rule: &'a Recurrence,
    /// The local time at which it begins. It occurs itself where the rule names it, and not otherwise.
    pub start: NaiveDateTime,
    /// The zone whose wall clock the rule follows.
    pub zone: Tz,
}

/// One occurrence.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct Occurrence {
    /// When it is.
    pub at: DateTime<Utc>,
    /// What the rule says of the wall clock; in the gap of spring the clock shows another time.
    pub local: NaiveDateTime,
}

impl<'a> Series<'a> {
    /// Its occurrences from its start on.
    #[must_use]
    pub fn all(self) -> Occurrences<'a> {
        self.beginning(self.start.date(), DateTime::<Utc>::MIN_UTC)
    }

    /// Its occurrences at an instant and after.
    #[must_use]
    pub fn from(self, at: DateTime<Utc>) -> Occurrences<'a> {
        let local = at.with_timezone(&self.zone).naive_local();
        let day = local.checked_sub_signed(WIDEST_CHANGE).unwrap_or(local).date();
        self.beginning(day, at)
    }

    fn beginning(self, day: NaiveDate, from: DateTime<Utc>) -> Occurrences<'a> {
        Occurrences {
            times: LocalTimes::new(self.rule, self.start, day),
            zone: self.zone,
            end: self.rule.end(),
            from,
            last: None,
            waiting: BTreeMap::new(),
            seen: None,
            done: false,
        }
    }
}

/// Occurrences in the order of their instants; two that the change of the clock brings to one instant are one.
///
/// It ends with the rule, after [`super::MOST_PERIODS`] periods, and with the year [`super::LAST_YEAR`].
#[derive(Debug, Clone)]
pub struct Occurrences<'a> {
    times: LocalTimes<'a>,
    zone: Tz,
    end: End,
    from: DateTime<Utc>,
    last: Option<DateTime<Utc>>,
    waiting: BTreeMap<DateTime<Utc>, NaiveDateTime>,
    seen: Option<NaiveDateTime>,
    done: bool,
}

impl Occurrences<'_> {
    /// Whether nothing that is still to come can lie before that one: only a time in the gap of spring may have a later one before it.
    fn is_settled(&self, local: NaiveDateTime) -> bool {
        let past = |seen: NaiveDateTime| seen.signed_duration_since(local) > WIDEST_CHANGE;
        self.done || zone::exists(local, self.zone) || self.seen.is_some_and(past)
    }
}

impl Iterator for Occurrences<'_> {
    type Item = Occurrence;

    fn next(&mut self) -> Option<Occurrence> {
        loop {
            let first = self.waiting.first_key_value().map(|(at, local)| (*at, *local));
            if let Some((at, local)) = first
                && self.is_settled(local)
            {
                self.waiting.remove(&at);
                if self.last.is_some_and(|last| at <= last) || at < self.from {
                    continue;
                }
                if matches!(self.end, End::UntilUtc(until) if at > until) {
                    return None;
                }
                self.last = Some(at);
                return Some(Occurrence { at, local });
            }
            if self.done {
                return None;
            }
            match self.times.next() {
                Some(local) => {
                    self.seen = Some(local);
                    self.waiting.entry(zone::instant(local, self.zone)).or_insert(local);
                }
                None => self.done = true,
            }
        }
    }
}
