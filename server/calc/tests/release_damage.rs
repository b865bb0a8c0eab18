//! Who may return a piece, on what evidence: each bound at itself and just beyond it, with its source beside it.
#![allow(unused_imports, reason = "two tests share these")]

#[path = "release/kit.rs"]
mod kit;

use chrono::NaiveDate;
use fullset_calc::{
    ratings::{Kind, Rating, Ratings, Term},
    release::{
        AgencyRules, Baseline, DefectClass, Ending, Evidence, HoseLife, MakersPaper, Measure, MissingWhat, Needed, Plate, Reading, Role, Signature,
        annual_readings, may_stay_usable, needed_for_annual, needed_for_release, release,
    },
    units::{Quantity, Unit},
};
use kit::*;

#[test]
fn a_hose_comes_back_until_the_day_before_it_is_ten_years_old() {
    // DGUV 305-002, 13.2.5 note: replaced at 10 years from the date of make.
    let (none, leak) = (Ratings::new(), [DefectClass::Leak]);
    let hose = |life| Plate {
        life,
        ..plate(Kind::Hose, &none)
    };
    let fine = good(&needed_for_release(&hose(HoseLife::Unknown), &leak, &[]));
    for (life, expected) in [
        (HoseLife::EndsOn(day("2026-11-29")), vec![]),
        (HoseLife::EndsOn(day("2026-11-28")), vec![(MissingWhat::Retirement, None)]),
        (HoseLife::Unknown, vec![(MissingWhat::DateOfMake, None)]),
    ] {
        assert_eq!(missing(&hose(life), &leak, &fine, Role::Shop), expected, "{life:?}");
    }
}

#[test]
fn a_hose_cut_to_the_braid_is_not_an_officers_matter() {
    let (none, cut) = (Ratings::new(), [DefectClass::CutOrBlister]);
    let hose = plate(Kind::Hose, &none);
    let ok = Evidence {
        note: Some("ok".into()),
        ..Evidence::default()
    };
    let told = missing(&hose, &cut, &ok, Role::Officer);
    for what in [MissingWhat::MakersService, MissingWhat::Signature, MissingWhat::Reading] {
        assert!(told.iter().any(|(told, _)| *told == what), "{what:?} is not among {told:?}");
    }
    let needed = needed_for_release(&hose, &cut, &[]);
    assert_eq!((needed.ending, needed.makers_service()), (Ending::RetiresUnlessMaker, true));
    let mut by_maker = good(&needed);
    assert_eq!(missing(&hose, &cut, &by_maker, Role::Shop), []);
    assert_eq!(
        missing(&hose, &cut, &by_maker, Role::Officer),
        [(MissingWhat::Signature, None)],
        "an officer does not file it"
    );
    by_maker.makers_service = Some(MakersPaper {
        reference: "  ".into(),
        ..paper()
    });
    assert_eq!(
        missing(&hose, &cut, &by_maker, Role::Shop),
        [(MissingWhat::MakersService, None)],
        "a blank is no paper"
    );
}

#[test]
fn a_cutter_and_a_ram_without_a_plate_have_no_limit_on_record_so_the_shop_names_the_manual() {
    // CHECKS A4: limits in 13.3.4 and following, not seen.
    let none = Ratings::new();
    let of_cutter = &[Measure::OpeningTime, Measure::ClosingTime, Measure::TestPieceCut][..];
    for (kind, measure, unlimited) in [
        (Kind::Cutter, Measure::TestPieceCut, of_cutter),
        (Kind::Ram, Measure::PushForce, &[Measure::PushForce]),
    ] {
        let (piece, fell) = (plate(kind, &none), [DefectClass::DropOrOverload]);
        let mut evidence = good(&needed_for_release(&piece, &fell, &[]));
        let cleared = release(&piece, &fell, &evidence, &[], Role::Shop, today()).unwrap();
        assert_eq!(cleared.without_limit, unlimited, "{kind:?}");
        evidence.manual = None;
        assert_eq!(missing(&piece, &fell, &evidence, Role::Shop), [(MissingWhat::Manual, None)]);
        assert!(
            missing(&piece, &fell, &evidence, Role::Coordinator).contains(&(MissingWhat::Signature, None)),
            "the shop's role"
        );
        evidence.readings.retain(|reading| reading.measure != measure);
        assert!(missing(&piece, &fell, &evidence, Role::Shop).contains(&(MissingWhat::Reading, Some(measure))));
    }
}

#[test]
fn what_nobody_found_is_said_by_an_officer() {
    let none = Ratings::new();
    let cutter = plate(Kind::Cutter, &none);
    let charger = plate(Kind::Charger, &none);
    let looked = said(
        Evidence {
            note: Some("nothing found".into()),
            ..Evidence::default()
        },
        Measure::SoundToLook,
        true,
    );
    // What is under pressure and was found wrong somehow is not an officer's.
    assert!(missing(&cutter, &[DefectClass::Other], &looked, Role::Officer).contains(&(MissingWhat::Signature, None)));
    for (cutter, classes) in [(charger, &[DefectClass::Other][..]), (cutter, &[])] {
        assert_eq!(missing(&cutter, classes, &looked, Role::Officer), []);
        assert_eq!(missing(&cutter, classes, &looked, Role::Crew), [(MissingWhat::Signature, None)]);
        let silent = Evidence::default();
        assert_eq!(
            missing(&cutter, classes, &silent, Role::Officer),
            [(MissingWhat::Note, None), (MissingWhat::Reading, Some(Measure::SoundToLook))]
        );
        let unsure = said(looked.clone(), Measure::SoundToLook, false);
        assert_eq!(missing(&cutter, classes, &unsure, Role::Officer), [(OUT, Some(Measure::SoundToLook))]);
    }
}

#[test]
fn several_classes_ask_for_everything_of_all_and_the_worse_of_two_readings_counts() {
    let none = Ratings::new();
    let cutter = plate(Kind::Cutter, &none);
    let both = [DefectClass::Leak, DefectClass::Electrical];
    let needed = needed_for_release(&cutter, &both, &[]);
    for measure in [Measure::LeakAtEndStop, Measure::Insulation] {
        assert!(needed.readings.iter().any(|reading| reading.measure == measure));
    }
    let mut evidence = good(&needed);
    evidence.readings.push(Reading::of(Measure::PressureReached, Quantity::new(7_200.0, Unit::Psi)));
    assert_eq!(missing(&cutter, &both, &evidence, Role::Shop), [(OUT, Some(Measure::PressureReached))]);
}

#[test]
fn a_drowned_battery_tool_and_a_fallen_pack_do_not_come_back_by_the_shop() {
    let none = Ratings::new();
    let tool = Plate {
        on_battery: true,
        ..plate(Kind::Spreader, &none)
    };
    let flood = [DefectClass::Flood];
    let needed = needed_for_release(&tool, &flood, &[]);
    assert_eq!(needed.signs, Signature::MakersService);
    assert!(
        needed.readings.iter().all(|reading| reading.measure != Measure::PressureReached),
        "no gauge in a battery tool"
    );
    let mut evidence = good(&needed);
    assert_eq!(missing(&tool, &flood, &evidence, Role::Shop), []);
    evidence.makers_service = None;
    assert!(missing(&tool, &flood, &evidence, Role::Shop).contains(&(MissingWhat::MakersService, None)));
    let pack = plate(Kind::Battery, &none);
    for class in [DefectClass::DropOrOverload, DefectClass::Fire, DefectClass::Flood] {
        assert_eq!(missing(&pack, &[class], &evidence, Role::Shop), [(MissingWhat::Retirement, None)], "{class:?}");
    }
}

#[test]
fn a_class_that_such_a_piece_cannot_have_is_no_way_round() {
    let none = Ratings::new();
    let pack = plate(Kind::Battery, &none);
    let needed = needed_for_release(&pack, &[DefectClass::Kink], &[]);
    assert_eq!((needed.signs, needed.readings[0].measure), (Signature::Officer, Measure::SoundToLook));
    assert!(may_stay_usable(Kind::Battery, DefectClass::Kink, Role::Officer, &AgencyRules::default()).is_err());
}

#[test]
fn the_annual_service_of_every_kind_can_be_passed_by_the_shop_alone() {
    let none = Ratings::new();
    for kind in Kind::ALL {
        let piece = plate(*kind, &none);
        let needed = needed_for_annual(&piece, &[]);
        assert!(!annual_readings(*kind).is_empty());
        let evidence = good(&needed);
        assert!(needed.met_by(&piece, &evidence, Role::Shop, today()).is_ok(), "{kind:?}");
        assert!(needed.met_by(&piece, &evidence, Role::Officer, today()).is_err(), "{kind:?}");
        assert!(needed.met_by(&piece, &Evidence::default(), Role::Shop, today()).is_err(), "{kind:?}");
    }
}

#[test]
fn what_cannot_be_read_is_said_with_its_place() {
    let bad = [
        Reading::of(Measure::PressureReached, Quantity::new(10.0, Unit::Second)),
        Reading::said(Measure::PressureReached, true),
        Reading::of(Measure::LeakAtEndStop, Quantity::new(1.0, Unit::Bar)),
        Reading::of(Measure::PushForce, Quantity::new(f64::NAN, Unit::Newton)),
        Reading::of(Measure::PushForce, Quantity::new(-1.0, Unit::Newton)),
        Reading::of(Measure::Other, Quantity::new(1.0, Unit::Litre)),
    ];
    let evidence = Evidence {
        readings: bad.to_vec(),
        ..Evidence::default()
    };
    let told: Vec<_> = evidence.faults().into_iter().map(|fault| (fault.index, fault.field)).collect();
    let expected = [
        (Some(0), "value"),
        (Some(1), "value"),
        (Some(2), "yes"),
        (Some(3), "value"),
        (Some(4), "value"),
        (Some(5), "what"),
    ];
    assert_eq!(told, expected);
    let many = Evidence {
        readings: vec![Reading::said(Measure::SoundToLook, true); 41],
        ..Evidence::default()
    };
    assert_eq!(many.faults().len(), 1);
}
