//! How long as many rigs as are needed were full at once.
//!
//! At each instant the full rigs are counted against the number that was set for then. Rigs of which nothing is known may have been full
//! or not: where they decide, the instant counts as not known.

use crate::amount::float;
use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// A stretch in which a rig was here.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Here {
    /// From this instant on.
    pub from: DateTime<Utc>,
    /// Up to this one, itself not included; `None`: it still lasts.
    pub until: Option<DateTime<Utc>>,
    /// Whether it was full; `None`: nobody knows.
    pub full: Option<bool>,
}

/// So many full rigs were needed from an instant on, until the next one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Needed {
    /// From this instant on.
    pub from: DateTime<Utc>,
    /// How many full rigs; 0: none was asked for.
    pub rigs: u32,
}

/// How much of a period as many rigs as needed were full.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct MinimumShare {
    /// Seconds with as many full rigs as needed, or more.
    pub met_seconds: i64,
    /// Seconds with fewer.
    pub short_seconds: i64,
    /// Seconds of which nobody knows, because a rig that would decide was not judged.
    pub unknown_seconds: i64,
    /// Seconds in which no number was set, or it was 0: they count in no share.
    pub unset_seconds: i64,
    /// Share of the known time (met and short) with as many as needed, 0 to 1; `None` when there is none.
    pub met: Option<f64>,
}

/// A time that a district was short.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ShortTime {
    /// From this instant on, or from the beginning of what was asked of.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub from: DateTime<Utc>,
    /// Up to this instant, or to the end of what was asked of.
    #[serde(serialize_with = "crate::instant::serialize")]
    pub until: DateTime<Utc>,
    /// The fewest full rigs meanwhile.
    pub fewest: u32,
    /// The most that were needed meanwhile.
    pub needed: u32,
}

/// What a period came to.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct AtMinimum {
    /// Of each period between two edges.
    pub periods: Vec<MinimumShare>,
    /// Of all of them together.
    pub total: MinimumShare,
    /// The times that it was short, the longest first.
    pub short: Vec<ShortTime>,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Stands {
    Met,
    Short { full: u32, needed: u32 },
    Unknown,
    Unset,
}

#[derive(Debug, Default, Clone, Copy)]
struct Step {
    full: i64,
    unknown: i64,
    needed: Option<u32>,
}

/// How the rigs stood against the number needed. `edges` ascend; time after `now` is left out. A rig's stretches do not overlap.
#[must_use]
pub fn at_minimum(here: &[Here], needed: &[Needed], edges: &[DateTime<Utc>], now: DateTime<Utc>) -> AtMinimum {
    let (Some(first), Some(last)) = (edges.first().copied(), edges.last().copied()) else {
        return AtMinimum::default();
    };
    let end = last.min(now);
    let mut steps: BTreeMap<DateTime<Utc>, Step> = BTreeMap::new();
    for one in here {
        let (from, until) = (one.from.max(first), one.until.unwrap_or(end).min(end));
        if from >= until {
            continue;
        }
        let mut turn = |at: DateTime<Utc>, by: i64| {
            let step = steps.entry(at).or_default();
            match one.full {
                Some(true) => step.full += by,
                Some(false) => {}
                None => step.unknown += by,
            }
        };
        turn(from, 1);
        turn(until, -1);
    }
    for one in needed.iter().filter(|one| one.from < end) {
        steps.entry(one.from.max(first)).or_default().needed = Some(one.rigs);
    }
    for edge in edges.iter().filter(|edge| **edge < end) {
        steps.entry(*edge).or_default();
    }
    let mut found = AtMinimum {
        periods: vec![MinimumShare::default(); edges.len() - 1],
        ..AtMinimum::default()
    };
    let (mut full, mut unknown, mut needed) = (0_i64, 0_i64, None);
    let mut open: Option<ShortTime> = None;
    let mut steps = steps.into_iter().peekable();
    while let Some((from, step)) = steps.next() {
        let until = steps.peek().map_or(end, |(next, _)| *next);
        full += step.full;
        unknown += step.unknown;
        needed = step.needed.or(needed);
        let stands = stands(full, unknown, needed);
        if from < until {
            let period = edges.partition_point(|edge| *edge <= from).saturating_sub(1);
            let milliseconds = (until - from).num_milliseconds();
            for share in found.periods.get_mut(period).into_iter().chain([&mut found.total]) {
                share.add(stands, milliseconds);
            }
            open = found.follow(open, stands, (from, until));
        }
    }
    found.short.extend(open);
    for share in found.periods.iter_mut().chain([&mut found.total]) {
        share.finish();
    }
    found.short.sort_by_key(|short| (std::cmp::Reverse(short.until - short.from), short.from));
    found
}

fn stands(full: i64, unknown: i64, needed: Option<u32>) -> Stands {
    match needed {
        None | Some(0) => Stands::Unset,
        Some(needed) if full >= i64::from(needed) => Stands::Met,
        Some(needed) if full + unknown < i64::from(needed) => Stands::Short {
            full: u32::try_from(full).unwrap_or(0),
            needed,
        },
        Some(_) => Stands::Unknown,
    }
}

impl MinimumShare {
    fn add(&mut self, stands: Stands, milliseconds: i64) {
        *match stands {
            Stands::Met => &mut self.met_seconds,
            Stands::Short { .. } => &mut self.short_seconds,
            Stands::Unknown => &mut self.unknown_seconds,
            Stands::Unset => &mut self.unset_seconds,
        } += milliseconds;
    }

    /// From milliseconds to seconds, and the share.
    fn finish(&mut self) {
        let known = self.met_seconds + self.short_seconds;
        self.met = (known > 0).then(|| float(self.met_seconds) / float(known));
        for slot in [
            &mut self.met_seconds,
            &mut self.short_seconds,
            &mut self.unknown_seconds,
            &mut self.unset_seconds,
        ] {
            *slot /= 1000;
        }
    }
}

impl AtMinimum {
    /// The time that is short and still goes on, after what was between two instants.
    fn follow(&mut self, open: Option<ShortTime>, stands: Stands, (from, until): (DateTime<Utc>, DateTime<Utc>)) -> Option<ShortTime> {
        match (open, stands) {
            (Some(open), Stands::Short { full, needed }) => Some(ShortTime {
                until,
                fewest: open.fewest.min(full),
                needed: open.needed.max(needed),
                ..open
            }),
            (None, Stands::Short { full, needed }) => Some(ShortTime {
                from,
                until,
                fewest: full,
                needed,
            }),
            (open, Stands::Met | Stands::Unknown | Stands::Unset) => {
                self.short.extend(open);
                None
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn at(text: &str) -> DateTime<Utc> {
        format!("2026-{text}:00Z").parse().unwrap()
    }

    fn here(from: &str, until: &str, full: Option<bool>) -> Here {
        Here {
            from: at(from),
            until: (!until.is_empty()).then(|| at(until)),
            full,
        }
    }

    fn needs(from: &str, rigs: u32) -> Needed {
        Needed { from: at(from), rigs }
    }

    /// Hours met, short, not known, without a number.
    fn hours(share: &MinimumShare) -> [i64; 4] {
        [share.met_seconds, share.short_seconds, share.unknown_seconds, share.unset_seconds].map(|seconds| seconds / 3600)
    }

    #[test]
    fn instants_are_counted_not_rigs() {
        // Two rigs, one needed: each is out for six hours, three of them at once.
        let rigs = [
            here("03-01T00:00", "03-01T06:00", Some(true)),
            here("03-01T06:00", "03-01T12:00", Some(false)),
            here("03-01T12:00", "", Some(true)),
            here("03-01T00:00", "03-01T09:00", Some(true)),
            here("03-01T09:00", "03-01T15:00", Some(false)),
            here("03-01T15:00", "", Some(true)),
        ];
        let edges = [at("03-01T00:00"), at("03-02T00:00")];
        let one = at_minimum(&rigs, &[needs("01-01T00:00", 1)], &edges, at("03-05T00:00"));
        assert_eq!(hours(&one.total), [21, 3, 0, 0]);
        assert_eq!(one.total.met, Some(0.875));
        assert_eq!(one.short.len(), 1);
        let short = one.short[0];
        assert_eq!(
            (short.from, short.until, short.fewest, short.needed),
            (at("03-01T09:00"), at("03-01T12:00"), 0, 1)
        );
        let two = at_minimum(&rigs, &[needs("01-01T00:00", 2)], &edges, at("03-05T00:00"));
        assert_eq!(hours(&two.total), [15, 9, 0, 0]);
        assert_eq!((two.short.len(), two.short[0].fewest), (1, 0), "one time, though the count turned meanwhile");
    }

    #[test]
    fn what_is_not_known_counts_only_where_it_cannot_decide() {
        let rigs = [
            here("03-01T00:00", "", Some(true)),
            here("03-01T00:00", "03-01T12:00", Some(true)),
            here("03-01T12:00", "", None),
        ];
        let edges = [at("03-01T00:00"), at("03-02T00:00")];
        let with = |rigs_needed| hours(&at_minimum(&rigs, &[needs("01-01T00:00", rigs_needed)], &edges, at("03-05T00:00")).total);
        assert_eq!(with(1), [24, 0, 0, 0], "the one that is known is enough");
        assert_eq!(with(2), [12, 0, 12, 0], "it may have been enough, or not");
        assert_eq!(with(3), [0, 24, 0, 0], "not even with it");
        assert_eq!(with(0), [0, 0, 0, 24]);
    }

    #[test]
    fn the_number_of_then_counts_and_months_are_apart() {
        let rigs = [here("03-30T00:00", "04-01T12:00", Some(true)), here("04-01T12:00", "", Some(false))];
        let needed = [needs("03-31T00:00", 1), needs("04-01T06:00", 2), needs("04-01T18:00", 0)];
        let edges = [at("03-30T00:00"), at("04-01T00:00"), at("05-01T00:00")];
        let found = at_minimum(&rigs, &needed, &edges, at("04-02T00:00"));
        assert_eq!(hours(&found.periods[0]), [24, 0, 0, 24], "before the number was set nothing was asked for");
        assert_eq!(hours(&found.periods[1]), [6, 12, 0, 6], "and nothing after now counts");
        assert_eq!(hours(&found.total), [30, 12, 0, 30]);
        // A district whose rigs all left is short, not unknown.
        let none = at_minimum(&[], &needed, &edges, at("04-02T00:00"));
        assert_eq!(hours(&none.total), [0, 42, 0, 30]);
    }
}
