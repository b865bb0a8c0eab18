//! Which piece may stay in use in spite of a defect, by whose word, and until when.
#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

use chrono::NaiveDate;
use fullset_calc::{
    ratings::Kind,
    release::{AgencyRules, DefectClass, RepairWithin, Role, may_extend, may_stay_usable, repair_by},
};

fn day(text: &str) -> NaiveDate {
    text.parse().unwrap()
}

#[test]
fn who_may_say_usable() {
    let rules = AgencyRules::default();
    let may = |kind, class, role| may_stay_usable(kind, class, role, &rules).is_ok();
    for class in [DefectClass::CutOrBlister, DefectClass::Leak, DefectClass::Kink] {
        for role in [Role::Crew, Role::Officer, Role::Chief, Role::Shop, Role::Coordinator, Role::Admin] {
            assert!(!may(Kind::Hose, class, role), "{class:?} {role:?}");
        }
    }
    assert!(!may(Kind::Ram, DefectClass::Leak, Role::Crew) && may(Kind::Ram, DefectClass::Leak, Role::Officer));
    assert!(!may(Kind::Ram, DefectClass::Other, Role::Crew) && may(Kind::Ram, DefectClass::Other, Role::Shop));
    assert!(may(Kind::PowerUnit, DefectClass::Deformation, Role::Crew));
    let told = may_stay_usable(Kind::Hose, DefectClass::CutOrBlister, Role::Crew, &rules).unwrap_err();
    assert_eq!(
        (told.reason.as_str(), told.instead.as_str()),
        ("A hose cut or blistered is never usable", "Take it out of service")
    );
}

#[test]
fn the_day_of_discovery_is_not_counted() {
    // CHECKS A4b: 3, 10 and 120 consecutive calendar days, starting on the day after discovery.
    let found = day("2026-11-25");
    for (within, last_good, out_from) in [
        (RepairWithin::ThreeDays, "2026-11-28", "2026-11-29"),
        (RepairWithin::TenDays, "2026-12-05", "2026-12-06"),
        (RepairWithin::HundredTwentyDays, "2027-03-25", "2027-03-26"),
    ] {
        let due = repair_by(found, within.days()).unwrap();
        assert_eq!((due.pred_opt().unwrap(), due), (day(last_good), day(out_from)));
    }
}

#[test]
fn a_repair_is_put_off_once_before_it_lapses_for_a_reason_by_an_officer() {
    let due = day("2026-11-29");
    let extend = |before, reason, role, today| may_extend(due, 3, before, reason, role, day(today));
    assert_eq!(extend(false, "seal kit comes on Monday", Role::Officer, "2026-11-28"), Ok(day("2026-12-02")));
    assert!(extend(true, "again", Role::Officer, "2026-11-28").is_err());
    assert!(extend(false, " ", Role::Officer, "2026-11-28").is_err());
    assert!(extend(false, "no time", Role::Crew, "2026-11-28").is_err());
    assert!(extend(false, "too late", Role::Chief, "2026-11-29").is_err(), "what has lapsed is not put off");
}
