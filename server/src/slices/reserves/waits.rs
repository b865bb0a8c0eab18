//! Slots that waited: how long a piece was out of service for a failure with nothing in its place. Pure.

use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;

use crate::slices::reliability::StandIn;

/// A wait that is shorter is the time in which a stand-in is fetched.
const SHORTEST_DAYS: f64 = 1.0;

/// The waits of a family that happened, whatever any formula says.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, ToSchema)]
pub struct Waits {
    /// Failures after which the slot was without a piece for a day or longer in all.
    pub count: usize,
    /// The longest of them, in days.
    pub longest_days: f64,
    /// Slots that wait now, for however long.
    pub now: usize,
}

/// A failure of a piece whose home is on a rig.
#[derive(Debug, Clone, Copy)]
pub struct Outage {
    pub from: DateTime<Utc>,
    /// When it was back, or up to when is looked.
    pub until: DateTime<Utc>,
    /// Whether it lasts at that instant.
    pub lasts: bool,
}

impl Waits {
    /// Counts one failure. A stand-in fills the slot from when it is sent.
    pub fn take(&mut self, outage: Outage, stand_ins: &[StandIn]) {
        let mut spans: Vec<(DateTime<Utc>, DateTime<Utc>)> = stand_ins
            .iter()
            .map(|one| (one.from.max(outage.from), one.until.unwrap_or(outage.until).min(outage.until)))
            .filter(|(from, until)| from < until)
            .collect();
        spans.sort_unstable();
        let (mut bare, mut filled) = (chrono::TimeDelta::zero(), outage.from);
        for (from, until) in &spans {
            bare += (*from - filled).max(chrono::TimeDelta::zero());
            filled = filled.max(*until);
        }
        bare += outage.until - filled;
        let days = bare.as_seconds_f64() / 86_400.0;
        if days >= SHORTEST_DAYS {
            self.count += 1;
            self.longest_days = self.longest_days.max(days);
        }
        let is_filled = stand_ins
            .iter()
            .any(|one| one.from <= outage.until && one.until.is_none_or(|until| until > outage.until));
        self.now += usize::from(outage.lasts && !is_filled);
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::slices::pieces::PieceId;
    use chrono::TimeDelta;

    fn day(n: i64) -> DateTime<Utc> {
        DateTime::UNIX_EPOCH + TimeDelta::days(n)
    }

    type Span = (i64, Option<i64>);

    fn waits(outage: (i64, i64, bool), spans: &[Span]) -> Waits {
        let stand_in = |&(from, until): &Span| StandIn {
            covers: PieceId(uuid::Uuid::nil()),
            from: day(from),
            until: until.map(day),
        };
        let mut waits = Waits::default();
        let outage = Outage {
            from: day(outage.0),
            until: day(outage.1),
            lasts: outage.2,
        };
        waits.take(outage, &spans.iter().map(stand_in).collect::<Vec<_>>());
        waits
    }

    #[test]
    fn a_slot_waits_while_nothing_is_in_it() {
        let seen = |count, longest_days, now| Waits { count, longest_days, now };
        let cases = [
            ((10, 20, false), &[][..], seen(1, 10.0, 0)),
            ((10, 20, true), &[], seen(1, 10.0, 1)),
            ((10, 20, false), &[(10, Some(20))], seen(0, 0.0, 0)),
            // Two that overlap fill the slot once; the gap between others is a wait.
            ((10, 20, false), &[(10, Some(14)), (12, Some(13)), (17, Some(25))], seen(1, 3.0, 0)),
            // One that was sent before, for another failure, and has gone back.
            ((10, 20, true), &[(1, Some(5))], seen(1, 10.0, 1)),
            ((10, 20, true), &[(13, None)], seen(1, 3.0, 0)),
            ((10, 20, true), &[(10, Some(18))], seen(1, 2.0, 1)),
            ((10, 10, true), &[], seen(0, 0.0, 1)),
            ((10, 10, true), &[(10, None)], seen(0, 0.0, 0)),
            ((10, 20, true), &[(10, Some(20))], seen(0, 0.0, 1)),
        ];
        for (outage, spans, wanted) in cases {
            assert_eq!(waits(outage, spans), wanted, "{outage:?} {spans:?}");
        }
    }
}
