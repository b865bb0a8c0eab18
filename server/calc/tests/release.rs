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
fn the_relief_of_a_pump_opens_at_110_percent_of_nominal_at_the_latest() {
    // DGUV 305-002, 13.3.1. 110 % of 10,500 psi is 11,550 psi.
    let (none, leak) = (Ratings::new(), [DefectClass::Leak]);
    let pump = plate(Kind::PowerUnit, &none);
    let fine = good(&needed_for_release(&pump, &leak, &[]));
    for (value, held) in [
        (10_500.0, true),
        (11_550.0, true),
        (11_551.0, false),
        (12_600.0, false),
        (10_290.0, true),
        (10_280.0, false),
    ] {
        let evidence = with(fine.clone(), Measure::ReliefOpensAt, Quantity::new(value, Unit::Psi));
        let expected = if held { vec![] } else { vec![(OUT, Some(Measure::ReliefOpensAt))] };
        assert_eq!(missing(&pump, &leak, &evidence, Role::Shop), expected, "{value} psi");
    }
    let in_bar = with(fine, Measure::ReliefOpensAt, Quantity::new(796.344, Unit::Bar));
    assert_eq!(missing(&pump, &leak, &in_bar, Role::Shop), [], "the unit does not matter");
}

#[test]
fn a_test_at_ten_psi_is_no_test() {
    // Nominal pressure within 2 %: common practice, no source.
    let (none, leak) = (Ratings::new(), [DefectClass::Leak]);
    for kind in [
        Kind::PowerUnit,
        Kind::HandPump,
        Kind::Cutter,
        Kind::Spreader,
        Kind::CombinationTool,
        Kind::Ram,
        Kind::Hose,
    ] {
        let piece = plate(kind, &none);
        let fine = good(&needed_for_release(&piece, &leak, &[]));
        assert_eq!(missing(&piece, &leak, &fine, Role::Shop), [], "{kind:?}");
        let low = with(fine, Measure::PressureReached, Quantity::new(10.0, Unit::Psi));
        assert_eq!(missing(&piece, &leak, &low, Role::Shop), [(OUT, Some(Measure::PressureReached))], "{kind:?}");
    }
}

#[test]
fn a_spreader_reaches_90_percent_of_its_rated_spreading_and_pulling_force() {
    // DGUV 305-002, 13.3.3.
    let rated = ratings(&[
        (Term::RatedSpreadingForce, 50.0, Unit::Kilonewton),
        (Term::HighestPullingForce, 40.0, Unit::Kilonewton),
    ]);
    let (spreader, fell) = (plate(Kind::Spreader, &rated), [DefectClass::DropOrOverload]);
    let fine = good(&needed_for_release(&spreader, &fell, &[]));
    for (measure, bound, beyond) in [(Measure::SpreadingForce, 45.0, 44.99), (Measure::PullingForce, 36.0, 35.99)] {
        let at = with(fine.clone(), measure, Quantity::new(bound, Unit::Kilonewton));
        assert_eq!(missing(&spreader, &fell, &at, Role::Shop), []);
        let below = with(fine.clone(), measure, Quantity::new(beyond, Unit::Kilonewton));
        assert_eq!(missing(&spreader, &fell, &below, Role::Shop), [(OUT, Some(measure))]);
    }
}

#[test]
fn a_lowest_and_a_highest_force_are_no_rated_one_until_there_is_a_baseline() {
    // NFPA 1936 names the least and the greatest of ten forces; which the gauge meets is not on the plate.
    let rated = ratings(&[
        (Term::LowestSpreadingForce, 10_000.0, Unit::PoundForce),
        (Term::HighestSpreadingForce, 60_000.0, Unit::PoundForce),
        (Term::LowestPullingForce, 9_000.0, Unit::PoundForce),
    ]);
    let (spreader, fell) = (plate(Kind::Spreader, &rated), [DefectClass::DropOrOverload]);
    let asked = needed_for_release(&spreader, &fell, &[]);
    let spreading = |asked: &Needed| {
        asked
            .readings
            .iter()
            .find(|reading| reading.measure == Measure::SpreadingForce)
            .unwrap()
            .clone()
    };
    assert_eq!(
        (spreading(&asked).limit_on_record, spreading(&asked).low.unwrap().value, asked.manual),
        (false, 9_000.0, true)
    );
    let cleared = release(&spreader, &fell, &good(&asked), &[], Role::Shop, today()).unwrap();
    assert_eq!(
        cleared.without_limit,
        [Measure::SpreadingForce, Measure::OpeningTime, Measure::ClosingTime],
        "the piece says so"
    );
    let times = [Measure::OpeningTime, Measure::ClosingTime].map(|measure| Baseline {
        measure,
        value: Quantity::new(4.0, Unit::Second),
    });
    let force = Baseline {
        measure: Measure::SpreadingForce,
        value: Quantity::new(40_000.0, Unit::PoundForce),
    };
    let baseline = [force, times[0], times[1]];
    let asked = needed_for_release(&spreader, &fell, &baseline);
    assert_eq!(
        (spreading(&asked).limit_on_record, spreading(&asked).low.unwrap().value, asked.manual),
        (true, 36_000.0, false)
    );
}

#[test]
fn opening_and_closing_take_two_seconds_at_least() {
    // DGUV 305-002, 13.3.3.
    let rated = ratings(&[
        (Term::RatedSpreadingForce, 50.0, Unit::Kilonewton),
        (Term::HighestPullingForce, 40.0, Unit::Kilonewton),
    ]);
    let (spreader, fell) = (plate(Kind::Spreader, &rated), [DefectClass::DropOrOverload]);
    let fine = good(&needed_for_release(&spreader, &fell, &[]));
    for measure in [Measure::OpeningTime, Measure::ClosingTime] {
        let at = with(fine.clone(), measure, Quantity::new(2.0, Unit::Second));
        assert_eq!(missing(&spreader, &fell, &at, Role::Shop), []);
        let below = with(fine.clone(), measure, Quantity::new(1.99, Unit::Second));
        assert_eq!(missing(&spreader, &fell, &below, Role::Shop), [(OUT, Some(measure))]);
    }
}

#[test]
fn opening_and_closing_take_half_as_long_again_as_at_first_at_most() {
    // Common practice, no source: no standard names a longest time (CHECKS A4).
    let (none, slow) = (Ratings::new(), [DefectClass::Pressure]);
    let spreader = plate(Kind::Spreader, &none);
    let baseline = [Measure::OpeningTime, Measure::ClosingTime].map(|measure| Baseline {
        measure,
        value: Quantity::new(4.0, Unit::Second),
    });
    let fine = good(&needed_for_release(&spreader, &slow, &baseline));
    for (value, held) in [(6.0, true), (6.01, false), (900.0, false)] {
        let evidence = with(fine.clone(), Measure::OpeningTime, Quantity::new(value, Unit::Second));
        let judged = release(&spreader, &slow, &evidence, &baseline, Role::Shop, today());
        assert_eq!(judged.is_ok(), held, "{value} s");
    }
    // Without a baseline the longest time stands in the manual alone; but 900 s stands in none.
    let evidence = good(&needed_for_release(&spreader, &slow, &[]));
    let cleared = release(&spreader, &slow, &evidence, &[], Role::Shop, today()).unwrap();
    assert!(cleared.without_limit.contains(&Measure::OpeningTime));
    let late = with(evidence, Measure::OpeningTime, Quantity::new(900.0, Unit::Second));
    assert_eq!(missing(&spreader, &slow, &late, Role::Shop), [(OUT, Some(Measure::OpeningTime))]);
}

#[test]
fn a_ram_pushes_90_percent_of_its_plate() {
    // The passage on rams was not seen (CHECKS A4); the share of the spreader's load test is asked of it.
    let rated = ratings(&[(Term::PushForce, 30_200.0, Unit::PoundForce)]);
    let (ram, fell) = (plate(Kind::Ram, &rated), [DefectClass::DropOrOverload]);
    let fine = good(&needed_for_release(&ram, &fell, &[]));
    for (value, held) in [(27_180.0, true), (27_179.0, false), (1.0, false)] {
        let evidence = with(fine.clone(), Measure::PushForce, Quantity::new(value, Unit::PoundForce));
        let expected = if held { vec![] } else { vec![(OUT, Some(Measure::PushForce))] };
        assert_eq!(missing(&ram, &fell, &evidence, Role::Shop), expected, "{value} lbf");
    }
    let cleared = release(&ram, &fell, &fine, &[], Role::Shop, today()).unwrap();
    assert!(cleared.without_limit.is_empty(), "{cleared:?}");
}

#[test]
fn what_nobody_asked_for_is_held_to_its_limits_too() {
    let none = Ratings::new();
    let hose = plate(Kind::Battery, &none);
    let looked = said(good(&needed_for_release(&hose, &[], &[])), Measure::LeakAtEndStop, true);
    assert_eq!(missing(&hose, &[], &looked, Role::Officer), [(OUT, Some(Measure::LeakAtEndStop))]);
}

#[test]
fn the_makers_paper_is_whole_and_neither_of_tomorrow_nor_of_before_the_damage() {
    let (found, today) = (Some(day("2026-11-20")), day("2026-11-28"));
    for (on, sound) in [("2026-11-20", true), ("2026-11-28", true), ("2026-11-19", false), ("2026-11-29", false)] {
        let paper = MakersPaper { on: day(on), ..paper() };
        assert_eq!(paper.fault(found, today).is_none(), sound, "{on}");
    }
    assert!(paper().fault(None, today).is_none());
    for blank in [
        MakersPaper { by: " ".into(), ..paper() },
        MakersPaper {
            reference: String::new(),
            ..paper()
        },
    ] {
        assert!(blank.fault(None, today).is_some());
    }
}

#[test]
fn the_end_stop_is_held_for_ten_seconds_without_a_leak() {
    // DGUV 305-002, 13.2.1: about 10 s.
    let (none, leak) = (Ratings::new(), [DefectClass::Leak]);
    let ram = plate(Kind::Ram, &none);
    let fine = good(&needed_for_release(&ram, &leak, &[]));
    let at = with(fine.clone(), Measure::HoldSeconds, Quantity::new(10.0, Unit::Second));
    assert_eq!(missing(&ram, &leak, &at, Role::Shop), []);
    let below = with(fine.clone(), Measure::HoldSeconds, Quantity::new(9.9, Unit::Second));
    assert_eq!(missing(&ram, &leak, &below, Role::Shop), [(OUT, Some(Measure::HoldSeconds))]);
    let wet = said(fine, Measure::LeakAtEndStop, true);
    assert_eq!(missing(&ram, &leak, &wet, Role::Shop), [(OUT, Some(Measure::LeakAtEndStop))]);
}
