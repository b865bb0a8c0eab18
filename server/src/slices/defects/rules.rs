//! What may be said of a defect, and what follows. Which class may stay usable, and by whose word, stands in `fullset_calc::release`.

use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use fullset_calc::{
    ratings::{Kind, Ratings, Term},
    release::{self, AgencyRules, DefectClass, Limit, Measure, Refusal, Role},
};

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::feed::{Defect, DefectLimit, DefectState, Severity};

/// The most notes on one defect.
pub const MOST_NOTES: u32 = 100;
/// The most ratings that one limit takes away.
pub const MOST_WITHOUT: usize = 8;
/// The most pieces that one mix of fluids takes out.
pub const MOST_MIXED: usize = 60;

/// How many days after a closing the same thing found again is the same defect (common practice, no source).
pub const SAME_AGAIN_DAYS: i64 = 30;

/// What a member does with a defect, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum DefectAct {
    /// Says that it was seen again.
    #[serde(rename = "defect.note")]
    Note,
    /// Puts its repair off.
    #[serde(rename = "defect.extend")]
    Extend,
    /// Closes it.
    #[serde(rename = "defect.close")]
    Close,
}

impl DefectAct {
    const ALL: [Self; 3] = [Self::Note, Self::Extend, Self::Close];
}

/// What decides it.
#[derive(Debug, Clone, Copy)]
pub struct DefectFacts {
    /// Whether it is open.
    pub state: DefectState,
    /// Whether a ticket deals with it.
    pub on_ticket: bool,
    /// How often it was seen again.
    pub seen_again: u32,
    /// Whether it carries a limit.
    pub limited: bool,
    /// Whether its repair was put off before.
    pub extended: bool,
}

impl DefectFacts {
    /// The facts of a defect on record.
    pub fn of(defect: &Defect) -> Self {
        Self {
            state: defect.state,
            on_ticket: defect.ticket.is_some(),
            seen_again: defect.seen_again,
            limited: defect.limit.is_some(),
            extended: defect.limit.as_ref().is_some_and(|limit| limit.extended.is_some()),
        }
    }
}

/// Whether the act may be done; if not, why and what to do.
pub fn may(act: DefectAct, facts: DefectFacts) -> Result<(), &'static str> {
    match (act, facts.state) {
        (DefectAct::Note, DefectState::Closed) => Err("This defect is closed; if it is there again, report it as a new one"),
        (DefectAct::Note, DefectState::Open) if facts.seen_again >= MOST_NOTES => {
            Err("This defect was seen 100 times; what is seen so often is taken out of service and repaired")
        }
        (DefectAct::Extend, DefectState::Closed) => Err("This defect is closed; nothing is left to put off"),
        (DefectAct::Extend, DefectState::Open) if !facts.limited => Err("The piece is out of service for this defect; there is no date to put off"),
        (DefectAct::Extend, DefectState::Open) if facts.extended => Err(release::PUT_OFF_ONCE),
        (DefectAct::Close, DefectState::Closed) => Err("This defect is closed already"),
        (DefectAct::Close, DefectState::Open) if facts.on_ticket => Err("A repair ticket deals with this defect; it closes with the ticket"),
        _ => Ok(()),
    }
}

/// What the defect allows as it is, apart from who asks and on which day.
pub fn allows(defect: &Defect) -> Vec<DefectAct> {
    let facts = DefectFacts::of(defect);
    DefectAct::ALL.into_iter().filter(|act| may(*act, facts).is_ok()).collect()
}

/// A defect as it was judged: the limit under which the piece may be used, or none: it is out of service.
pub fn judge(kind: Kind, class: DefectClass, severity: Severity, role: Role, rules: &AgencyRules) -> Result<Option<Limit>, Refusal> {
    match severity {
        Severity::OutOfService => Ok(None),
        Severity::Usable => release::may_stay_usable(kind, class, role, rules).map(Some),
    }
}

/// The ratings that a limit takes away: those named now beside those named before, each once. A piece that must not be used has no
/// limit, so nothing can be named for it.
pub fn take_away(kind: Kind, rated: &Ratings, severity: Severity, before: &[Term], named: &[Term]) -> Result<Vec<Term>, String> {
    if severity == Severity::OutOfService && !named.is_empty() {
        return Err("A piece that is out of service does nothing; a limit is for one that can still be used".to_owned());
    }
    if let Some(term) = named.iter().find(|term| !kind.terms().contains(term) && rated.get(**term).is_none()) {
        let known: Vec<&str> = kind.terms().iter().map(|term| term.label()).collect();
        return Err(format!("A {} has no {}; it has: {}", kind.word(), term.label(), known.join(", ")));
    }
    let mut all = before.to_vec();
    for term in named {
        if !all.contains(term) {
            all.push(*term);
        }
    }
    if all.len() > MOST_WITHOUT {
        return Err(format!(
            "A limit takes {MOST_WITHOUT} ratings away at most; with more the piece is out of service"
        ));
    }
    Ok(all)
}

/// The limit that goes on when a defect of this class is found at this time: that of one of the same class on the same piece that was
/// closed within 30 days by a look alone, without a ticket and without a test, and not tested since. Closing and reporting again gives no new days. Of
/// several the one that ends first.
pub fn same_again(before: &[Defect], class: DefectClass, at: DateTime<Utc>) -> Option<&DefectLimit> {
    let looked_at = |defect: &Defect| {
        let tested = defect
            .evidence
            .iter()
            .flat_map(|evidence| &evidence.readings)
            .any(|reading| !matches!(reading.measure, Measure::SoundToLook | Measure::HourMeter | Measure::Other));
        defect.ticket.is_none() && !tested
    };
    let lately = |defect: &Defect| defect.closed_at.is_some_and(|closed| at - closed <= TimeDelta::days(SAME_AGAIN_DAYS));
    let of_class = || {
        before
            .iter()
            .filter(|defect| defect.state == DefectState::Closed && defect.classes().contains(&class))
    };
    let last_test = of_class().filter(|defect| !looked_at(defect)).filter_map(|defect| defect.closed_at).max();
    of_class()
        .filter(|defect| lately(defect) && looked_at(defect) && last_test.is_none_or(|tested| defect.closed_at > Some(tested)))
        .filter_map(|defect| defect.limit.as_ref())
        .min_by_key(|limit| limit.repair_by_day)
}

/// What a later note makes of a defect.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Worsening {
    /// The class of the defect after the note.
    pub class: DefectClass,
    /// The limit, and the day from which on the piece is not usable; none: out of service.
    pub limit: Option<(Limit, NaiveDate)>,
    /// Whether the note put the piece out of service.
    pub goes_out: bool,
}

/// What stands on record of it.
#[derive(Debug, Clone, Copy)]
pub struct DefectOnRecord {
    /// The kind of the piece that has the defect.
    pub kind: Kind,
    /// The class of the defect before the note.
    pub class: DefectClass,
    /// Whether the piece can still be used.
    pub severity: Severity,
    /// The day on which it was found.
    pub found: NaiveDate,
    /// The day from which on the piece is not usable.
    pub repair_by: Option<NaiveDate>,
}

/// A later note may worsen a defect, never better it: out of service stays so, another class may shorten the time and never lengthens it,
/// and a class that nobody may call usable takes the piece out, whatever the note says beside.
pub fn worsen(known: DefectOnRecord, class: Option<DefectClass>, severity: Option<Severity>, rules: &AgencyRules) -> Result<Worsening, &'static str> {
    let now = class.unwrap_or(known.class);
    if known.severity == Severity::OutOfService {
        return if severity == Some(Severity::Usable) {
            Err("A later note never betters a defect; close it, with what was done")
        } else {
            Ok(Worsening {
                class: now,
                limit: None,
                goes_out: false,
            })
        };
    }
    let limit = match severity {
        Some(Severity::OutOfService) => None,
        _ => release::limit_for(known.kind, now, rules),
    };
    let day = |limit: &Limit| release::repair_by(known.found, limit.days).map(|day| known.repair_by.map_or(day, |before| before.min(day)));
    let limit = limit.and_then(|limit| day(&limit).map(|day| (limit, day)));
    Ok(Worsening {
        class: now,
        goes_out: limit.is_none(),
        limit,
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn known(severity: Severity, class: DefectClass) -> DefectOnRecord {
        DefectOnRecord {
            kind: Kind::Ram,
            class,
            severity,
            found: day("2026-11-25"),
            repair_by: (severity == Severity::Usable).then(|| day("2026-12-06")),
        }
    }

    #[test]
    fn a_later_note_worsens_and_never_betters() {
        let rules = AgencyRules::default();
        let usable = known(Severity::Usable, DefectClass::Other);
        let same = worsen(usable, None, None, &rules).unwrap();
        assert_eq!((same.goes_out, same.limit.map(|(_, day)| day)), (false, Some(day("2026-12-06"))));
        let leak = worsen(usable, Some(DefectClass::Leak), None, &rules).unwrap();
        assert_eq!(leak.limit.map(|(_, day)| day), Some(day("2026-11-29")), "sooner");
        let slow = known(Severity::Usable, DefectClass::Leak);
        let slow = DefectOnRecord {
            repair_by: Some(day("2026-11-29")),
            ..slow
        };
        let other = worsen(slow, Some(DefectClass::Other), None, &rules).unwrap();
        assert_eq!(other.limit.map(|(_, day)| day), Some(day("2026-11-29")), "never later");
        assert!(worsen(usable, Some(DefectClass::Fire), Some(Severity::Usable), &rules).unwrap().goes_out);
        assert!(worsen(usable, None, Some(Severity::OutOfService), &rules).unwrap().goes_out);
        let out = known(Severity::OutOfService, DefectClass::Leak);
        assert!(worsen(out, None, Some(Severity::Usable), &rules).is_err());
        assert!(!worsen(out, Some(DefectClass::Fire), None, &rules).unwrap().goes_out, "it is out already");
    }

    #[test]
    fn a_limit_takes_away_what_the_kind_has_and_gives_nothing_back() {
        let none = Ratings::default();
        let take = |severity, before: &[Term], named: &[Term]| take_away(Kind::Ram, &none, severity, before, named);
        let (usable, push, stroke) = (Severity::Usable, Term::PushForce, Term::Stroke);
        assert_eq!(take(usable, &[], &[push, push]).unwrap(), [push]);
        assert_eq!(take(usable, &[push], &[stroke]).unwrap(), [push, stroke]);
        assert_eq!(take(usable, &[push], &[]).unwrap(), [push]);
        assert!(
            take(usable, &[], &[Term::CutterOpening])
                .unwrap_err()
                .starts_with("A ram has no cutter opening; it has: push force")
        );
        assert!(take(Severity::OutOfService, &[], &[push]).is_err());
        assert!(take(Severity::OutOfService, &[], &[]).unwrap().is_empty());
        let eight = Kind::Ram.terms().get(..8).unwrap();
        assert!(take(usable, &[], eight).is_ok() && take(usable, eight, &[Term::Mass]).is_err());
    }

    #[test]
    fn what_may_be_done_with_a_defect() {
        let open = DefectFacts {
            state: DefectState::Open,
            on_ticket: false,
            seen_again: 99,
            limited: true,
            extended: false,
        };
        let closed = DefectFacts {
            state: DefectState::Closed,
            ..open
        };
        for act in [DefectAct::Note, DefectAct::Extend, DefectAct::Close] {
            assert!(may(act, open).is_ok(), "{act:?}");
            assert!(may(act, closed).is_err(), "{act:?}");
        }
        assert!(may(DefectAct::Note, DefectFacts { seen_again: 100, ..open }).is_err());
        assert!(may(DefectAct::Close, DefectFacts { on_ticket: true, ..open }).is_err());
        assert!(may(DefectAct::Extend, DefectFacts { limited: false, ..open }).is_err());
        assert!(may(DefectAct::Extend, DefectFacts { extended: true, ..open }).is_err());
    }
}
