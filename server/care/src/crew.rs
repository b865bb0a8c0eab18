//! What a crew is signed off on, beside what its rig carries, and when a member must have handled it again. It stands beside a rig's
//! level and is never part of it: a set that nobody aboard may work with is no less a set.

use std::collections::BTreeSet;

use chrono::{Months, NaiveDate};
use fullset_calc::ratings::Kind;

/// What one sign-off is about: gear of a kind; of a family of models that are run alike, where those take a sign-off of their own.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Handled {
    /// The kind of gear.
    pub kind: Kind,
    /// The family, in small letters; `None`: models that are run as everything of the kind is.
    pub family: Option<String>,
}

impl Handled {
    /// With the family as somebody has written it.
    #[must_use]
    pub fn new(kind: Kind, family: Option<&str>) -> Self {
        Self {
            kind,
            family: family.map(str::to_lowercase),
        }
    }
}

/// That a member may work with something, up to and including a day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Signed {
    /// With what.
    pub of: Handled,
    /// The last day on which it counts.
    pub until: NaiveDate,
}

/// What is aboard and nobody of the crew is signed off on.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unsigned {
    /// What it is.
    pub of: Handled,
    /// The last day of the latest sign-off that has run out; `None`: nobody aboard was ever signed off on it.
    pub ended: Option<NaiveDate>,
}

/// Whether somebody must be signed off on gear of this kind: what is driven or does the work. Hoses, packs and small gear go with it
/// (common practice, no source).
#[must_use]
pub const fn asks_for_sign_off(kind: Kind) -> bool {
    kind.is_source() || kind.is_tool()
}

/// The last day on which a member who was signed off, or practised since, must have handled it again: a year on. Practice at least once a
/// year is common practice, no source. After 29 February it is the 28th.
#[must_use]
pub fn practise_by(signed_on: NaiveDate, practised_on: Option<NaiveDate>) -> NaiveDate {
    let last = practised_on.map_or(signed_on, |practised| practised.max(signed_on));
    last.checked_add_months(Months::new(12)).unwrap_or(NaiveDate::MAX)
}

/// What is aboard and nobody of the crew is signed off on that day, in the order of the kinds. Each member's sign-offs are one entry of
/// `crew`; one member is enough. A sign-off on the kind is none on a family that takes its own, nor the other way.
#[must_use]
pub fn unsigned(aboard: &BTreeSet<Handled>, crew: &[Vec<Signed>], on: NaiveDate) -> Vec<Unsigned> {
    let asked = aboard.iter().filter(|of| asks_for_sign_off(of.kind));
    asked
        .filter_map(|of| {
            let latest = crew.iter().flatten().filter(|one| one.of == *of).map(|one| one.until).max();
            match latest {
                Some(until) if until >= on => None,
                ended => Some(Unsigned { of: of.clone(), ended }),
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

    fn any(kind: Kind) -> Handled {
        Handled::new(kind, None)
    }

    fn signed(of: Handled, until: u32) -> Signed {
        Signed { of, until: day(until) }
    }

    fn lacks(aboard: &BTreeSet<Handled>, crew: &[Vec<Signed>], on: u32) -> Vec<(Handled, Option<NaiveDate>)> {
        unsigned(aboard, crew, day(on)).into_iter().map(|one| (one.of, one.ended)).collect()
    }

    #[test]
    fn one_member_is_enough_and_the_last_day_counts() {
        let aboard = BTreeSet::from([Kind::PowerUnit, Kind::Cutter, Kind::Spreader, Kind::Hose].map(any));
        let crew = vec![
            vec![signed(any(Kind::Cutter), 10), signed(any(Kind::PowerUnit), 30)],
            vec![signed(any(Kind::Cutter), 28)],
            vec![],
        ];
        assert_eq!(lacks(&aboard, &crew, 28), [(any(Kind::Spreader), None)]);
        assert_eq!(lacks(&aboard, &crew, 29), [(any(Kind::Cutter), Some(day(28))), (any(Kind::Spreader), None)]);
    }

    #[test]
    fn a_crew_of_nobody_is_signed_off_on_nothing_and_an_empty_rig_asks_for_nothing() {
        let aboard = BTreeSet::from([Kind::Ram, Kind::Battery, Kind::Accessory].map(any));
        assert_eq!(lacks(&aboard, &[], 1), [(any(Kind::Ram), None)]);
        assert!(unsigned(&BTreeSet::new(), &[vec![signed(any(Kind::Ram), 30)]], day(1)).is_empty());
    }

    #[test]
    fn a_family_takes_a_sign_off_of_its_own_however_it_is_written() {
        let new = Handled::new(Kind::Cutter, Some("Sparrowhale 54"));
        let aboard = BTreeSet::from([any(Kind::Cutter), new.clone()]);
        let old_hand = vec![signed(any(Kind::Cutter), 30)];
        assert_eq!(lacks(&aboard, std::slice::from_ref(&old_hand), 1), [(new.clone(), None)]);
        let trained = vec![signed(Handled::new(Kind::Cutter, Some("SPARROWHALE 54")), 30)];
        assert_eq!(lacks(&aboard, std::slice::from_ref(&trained), 1), [(any(Kind::Cutter), None)]);
        assert!(lacks(&aboard, &[old_hand, trained], 1).is_empty());
        let ram = signed(Handled::new(Kind::Ram, Some("Sparrowhale 54")), 30);
        assert_eq!(lacks(&BTreeSet::from([new.clone()]), &[vec![ram]], 1), [(new, None)]);
    }

    #[test]
    fn practice_is_due_a_year_after_the_later_of_both_days() {
        let on = |y, m, d| NaiveDate::from_ymd_opt(y, m, d).unwrap();
        assert_eq!(practise_by(on(2026, 11, 25), None), on(2027, 11, 25));
        assert_eq!(practise_by(on(2026, 11, 25), Some(on(2027, 3, 1))), on(2028, 3, 1));
        assert_eq!(practise_by(on(2026, 11, 25), Some(on(2026, 3, 1))), on(2027, 11, 25));
        assert_eq!(practise_by(on(2028, 2, 29), None), on(2029, 2, 28));
    }
}
