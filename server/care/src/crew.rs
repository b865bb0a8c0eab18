//! What a crew is signed off on, beside what its rig carries. It stands beside a rig's level and is never part of it: a set that
//! nobody aboard may work with is no less a set.

use std::collections::BTreeSet;

use chrono::NaiveDate;
use fullset_calc::ratings::Kind;

/// That a member may work with gear of a kind, up to and including a day.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Signed {
    /// The kind of gear.
    pub kind: Kind,
    /// The last day on which it counts.
    pub until: NaiveDate,
}

/// A kind of gear aboard that nobody of the crew is signed off on.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Unsigned {
    /// The kind of gear.
    pub kind: Kind,
    /// The last day of the latest sign-off that has run out; `None`: nobody aboard was ever signed off on it.
    pub ended: Option<NaiveDate>,
}

/// Whether somebody must be signed off on gear of this kind: what is driven or does the work. Hoses, packs and small gear go with it
/// (common practice, no source).
#[must_use]
pub const fn asks_for_sign_off(kind: Kind) -> bool {
    kind.is_source() || kind.is_tool()
}

/// The kinds aboard that nobody of the crew is signed off on that day, in the order of the kinds. Each member's sign-offs are one
/// entry of `crew`; one member is enough for a kind.
#[must_use]
pub fn unsigned(aboard: &BTreeSet<Kind>, crew: &[Vec<Signed>], on: NaiveDate) -> Vec<Unsigned> {
    let asked = aboard.iter().copied().filter(|kind| asks_for_sign_off(*kind));
    asked
        .filter_map(|kind| {
            let latest = crew.iter().flatten().filter(|one| one.kind == kind).map(|one| one.until).max();
            match latest {
                Some(until) if until >= on => None,
                ended => Some(Unsigned { kind, ended }),
            }
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(n: u32) -> NaiveDate {
        NaiveDate::from_ymd_opt(2026, 11, n).unwrap()
    }

    fn signed(kind: Kind, until: u32) -> Signed {
        Signed { kind, until: day(until) }
    }

    #[test]
    fn one_member_is_enough_and_the_last_day_counts() {
        let aboard = BTreeSet::from([Kind::PowerUnit, Kind::Cutter, Kind::Spreader, Kind::Hose]);
        let crew = vec![
            vec![signed(Kind::Cutter, 10), signed(Kind::PowerUnit, 30)],
            vec![signed(Kind::Cutter, 28)],
            vec![],
        ];
        let lack = |on| {
            unsigned(&aboard, &crew, day(on))
                .into_iter()
                .map(|one| (one.kind, one.ended))
                .collect::<Vec<_>>()
        };
        assert_eq!(lack(28), [(Kind::Spreader, None)]);
        assert_eq!(lack(29), [(Kind::Cutter, Some(day(28))), (Kind::Spreader, None)]);
    }

    #[test]
    fn a_crew_of_nobody_is_signed_off_on_nothing_and_an_empty_rig_asks_for_nothing() {
        let aboard = BTreeSet::from([Kind::Ram, Kind::Battery, Kind::Accessory]);
        assert_eq!(unsigned(&aboard, &[], day(1)), [Unsigned { kind: Kind::Ram, ended: None }]);
        assert!(unsigned(&BTreeSet::new(), &[vec![signed(Kind::Ram, 30)]], day(1)).is_empty());
    }
}
