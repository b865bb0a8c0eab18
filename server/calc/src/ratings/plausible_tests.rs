//! What is refused, what is asked about, and what passes, at the bounds and beyond. The figures are those of the wrong
//! cases that were seen, and of plates (published unit table); bounds are common practice where the table says so.
#![allow(clippy::unwrap_used)]

use super::*;
use crate::hookup::Hookup;
use Term::{
    CutterOpening, ExtendedLength, Flow, HighestSpreadingForce, HoseLength, LowestSpreadingForce, Mass, MouthDepth, Power, PullForce, PushForce, PushForce2,
    PushForce3, RamStages, RetractedLength, RunTime, SpreadingDistance, Stroke, TankVolume,
};
use Unit::{
    Bar, Centimetre, Foot, Gallon, Hour, Inch, Kilogram, Kilonewton, Kilowatt, LitrePerMinute, Metre, Millimetre, Minute, Newton, Pound, PoundForce, Psi,
    Second, Stage,
};

fn rated(figures: &[(Term, f64, Unit)]) -> Ratings {
    figures.iter().map(|(term, value, unit)| (*term, Rating::plain(*value, *unit))).collect()
}

fn codes(faults: &[RatingFault]) -> Vec<&'static str> {
    faults.iter().map(|f| f.code).collect()
}

#[test]
fn every_term_of_a_size_has_bounds_for_every_kind_with_the_usual_inside_the_possible() {
    for term in Term::ALL.iter().filter(|term| term.dimension().is_some()) {
        for kind in Kind::ALL {
            let Bounds { possible, usual, source } = Bounds::of(*term, *kind).unwrap();
            assert!(
                possible.0 > 0.0 && possible.0 <= usual.0 && usual.0 < usual.1 && usual.1 <= possible.1,
                "{term:?} {kind:?}"
            );
            assert!(!source.is_empty());
        }
    }
}

#[test]
fn a_figure_that_cannot_be_is_refused_and_one_at_the_bound_is_not() {
    use Kind::{Battery, Cutter, Hose, PowerUnit, Ram, Spreader};
    for (kind, term, value, unit) in [
        (Cutter, CutterOpening, 8.0, Foot),
        (Cutter, CutterOpening, 601.0, Millimetre),
        (Cutter, CutterOpening, 8_125.0, Inch),
        (Cutter, CutterOpening, 9.0, Millimetre),
        (Spreader, SpreadingDistance, 8.0, Foot),
        (Spreader, SpreadingDistance, 1_501.0, Millimetre),
        (Spreader, SpreadingDistance, 205.0, Metre),
        (Hose, HoseLength, 0.25, Metre),
        (Hose, HoseLength, 101.0, Metre),
        (Hose, HoseLength, 40.0, Unit::Kilometre),
        (Spreader, LowestSpreadingForce, 999.0, Newton),
        (Spreader, HighestSpreadingForce, 2_501.0, Kilonewton),
        (Ram, PushForce, 60.0, PoundForce),
        (Ram, RetractedLength, 99.0, Millimetre),
        (Ram, ExtendedLength, 3.1, Metre),
        (Ram, Stroke, 2.95, Metre),
        (Ram, RamStages, 4.0, Stage),
        (Ram, RamStages, 1.5, Stage),
        (Cutter, Mass, 101.0, Kilogram),
        (Cutter, Mass, 0.1, Kilogram),
        (Battery, Mass, 0.1, Kilogram),
        (PowerUnit, RunTime, 20.0, Second),
        (PowerUnit, RunTime, 49.0, Hour),
        (PowerUnit, TankVolume, 60.0, Gallon),
        (PowerUnit, Flow, 200.0, LitrePerMinute),
        (PowerUnit, Power, 650.0, Kilowatt),
        (Cutter, MouthDepth, 3.0, Foot),
    ] {
        let faults = rated(&[(term, value, unit)]).faults(kind);
        assert_eq!(codes(&faults), ["not-possible"], "{value} {unit:?} of {term:?}");
        assert!(faults.iter().all(|f| f.term == term && f.hint.is_some()));
    }
    for (kind, term, value, unit) in [
        (Cutter, CutterOpening, 600.0, Millimetre),
        (Cutter, CutterOpening, 60.0, Centimetre),
        (Cutter, CutterOpening, 8.1, Inch),
        (Spreader, SpreadingDistance, 1.5, Metre),
        (Spreader, SpreadingDistance, 28.9, Inch),
        (Hose, HoseLength, 0.3, Metre),
        (Hose, HoseLength, 100.0, Metre),
        (Hose, HoseLength, 3.0, Foot),
        (Spreader, LowestSpreadingForce, 1.0, Kilonewton),
        (Spreader, HighestSpreadingForce, 2_500.0, Kilonewton),
        (Ram, PushForce, 47_500.0, PoundForce),
        (Ram, PullForce, 11.0, Kilonewton),
        (Ram, RetractedLength, 100.0, Millimetre),
        (Ram, ExtendedLength, 3.0, Metre),
        (Ram, RamStages, 1.0, Stage),
        (Ram, RamStages, 3.0, Stage),
        (Cutter, Mass, 100.0, Kilogram),
        (Cutter, Mass, 43.0, Pound),
        (PowerUnit, RunTime, 95.0, Minute),
    ] {
        assert_eq!(rated(&[(term, value, unit)]).faults(kind), [], "{value} {unit:?} of {term:?}");
    }
    let told = rated(&[(HoseLength, 0.2, Metre)]).faults(Hose).remove(0).reason;
    assert_eq!(told, "hose length 0.2 m is not possible for a hose: it lies between 300 mm and 100 m");
    let told = rated(&[(CutterOpening, 8.0, Foot)]).faults(Cutter).remove(0).reason;
    assert_eq!(told, "cutter opening 8 ft is not possible for a cutter: it lies between 0.4 in and 23.6 in");
}

#[test]
fn what_is_possible_and_unusual_is_asked_about() {
    let warned = |term, value, unit, kind| codes(&rated(&[(term, value, unit)]).warnings(kind));
    assert_eq!(warned(CutterOpening, 500.0, Millimetre, Kind::Cutter), ["unusual"]);
    assert_eq!(warned(HoseLength, 200.0, Foot, Kind::Hose), ["unusual"]);
    assert_eq!(warned(Mass, 90.0, Kilogram, Kind::Cutter), ["unusual"]);
    assert_eq!(warned(Mass, 90.0, Kilogram, Kind::PowerUnit), Vec::<&str>::new());
    assert_eq!(warned(CutterOpening, 8.1, Inch, Kind::Cutter), Vec::<&str>::new());
    // What is refused is not asked about as well.
    assert_eq!(warned(CutterOpening, 8.0, Foot, Kind::Cutter), Vec::<&str>::new());
}

#[test]
fn a_pressure_in_the_other_units_digits_cannot_pass() {
    let hookup = |value, unit| Hookup {
        pressure: Some(Quantity::new(value, unit)),
        ..Hookup::default()
    };
    for (value, unit) in [
        (105_000.0, Psi),
        (10_500.0, Bar),
        (10.5, Psi),
        (10.4, Bar),
        (720.0, Psi),
        (1_501.0, Bar),
        (49.0, Bar),
        (724.0, Unit::Megapascal),
    ] {
        for kind in [Kind::PowerUnit, Kind::Hose, Kind::Cutter, Kind::HandPump] {
            let faults = hookup(value, unit).faults(kind);
            assert_eq!(faults.iter().map(|f| f.code).collect::<Vec<_>>(), ["not-possible"], "{value} {unit:?}");
        }
    }
    for (value, unit) in [
        (720.0, Bar),
        (10_500.0, Psi),
        (350.0, Bar),
        (5_000.0, Psi),
        (72.0, Unit::Megapascal),
        (630.0, Bar),
    ] {
        assert_eq!(hookup(value, unit).faults(Kind::Hose), [], "{value} {unit:?}");
        assert_eq!(hookup(value, unit).warnings(Kind::Hose), [], "{value} {unit:?}");
    }
    for (value, unit) in [(50.0, Bar), (1_500.0, Bar), (1_050.0, Psi)] {
        assert_eq!(hookup(value, unit).faults(Kind::Hose), []);
        assert_eq!(hookup(value, unit).warnings(Kind::Hose).len(), 1, "{value} {unit:?}");
    }
}

#[test]
fn figures_that_contradict_each_other_are_refused() {
    for (figures, code) in [
        (&[(PushForce, 100.0, Kilonewton), (PushForce2, 101.0, Kilonewton)][..], "stages-out-of-order"),
        (&[(PushForce2, 60.0, Kilonewton), (PushForce3, 61.0, Kilonewton)], "stages-out-of-order"),
        (&[(PushForce, 60.0, Kilonewton), (PushForce3, 61.0, Kilonewton)], "stages-out-of-order"),
        (
            &[(RamStages, 1.0, Stage), (PushForce, 60.0, Kilonewton), (PushForce2, 30.0, Kilonewton)],
            "stages-contradict",
        ),
        (&[(RamStages, 2.0, Stage), (PushForce3, 30.0, Kilonewton)], "stages-contradict"),
        (
            &[(RetractedLength, 600.0, Millimetre), (ExtendedLength, 600.0, Millimetre)],
            "lowest-above-highest",
        ),
        (
            &[(RetractedLength, 900.0, Millimetre), (ExtendedLength, 600.0, Millimetre)],
            "lowest-above-highest",
        ),
        (&[(Stroke, 600.0, Millimetre), (ExtendedLength, 600.0, Millimetre)], "stroke-too-long"),
        (
            &[
                (RetractedLength, 500.0, Millimetre),
                (ExtendedLength, 1_000.0, Millimetre),
                (Stroke, 521.0, Millimetre),
            ],
            "stroke-differs",
        ),
        (
            &[(LowestSpreadingForce, 50.0, Kilonewton), (HighestSpreadingForce, 49.0, Kilonewton)],
            "lowest-above-highest",
        ),
    ] {
        assert_eq!(codes(&rated(figures).faults(Kind::Ram)), [code], "{figures:?}");
        // What a slot asks for is a bound on each figure by itself.
        assert_eq!(rated(figures).minimum_faults(&[Kind::Ram]), [], "{figures:?}");
    }
    for figures in [
        &[(PushForce, 100.0, Kilonewton), (PushForce2, 100.0, Kilonewton)][..],
        &[(RamStages, 1.0, Stage), (PushForce, 60.0, Kilonewton)],
        &[
            (RetractedLength, 500.0, Millimetre),
            (ExtendedLength, 1_000.0, Millimetre),
            (Stroke, 520.0, Millimetre),
        ],
        // As plates print them: 23.6 in, 63 in, 39.4 in.
        &[(RetractedLength, 23.6, Inch), (ExtendedLength, 63.0, Inch), (Stroke, 39.4, Inch)],
    ] {
        assert_eq!(rated(figures).faults(Kind::Ram), [], "{figures:?}");
    }
}

#[test]
fn a_minimum_is_refused_where_no_kind_of_the_slot_can_meet_it() {
    let kinds = [Kind::Cutter, Kind::PowerUnit];
    assert_eq!(rated(&[(Mass, 250.0, Kilogram)]).minimum_faults(&kinds), []);
    assert_eq!(codes(&rated(&[(Mass, 301.0, Kilogram)]).minimum_faults(&kinds)), ["not-possible"]);
    assert_eq!(codes(&rated(&[(CutterOpening, 8.0, Foot)]).minimum_faults(&[Kind::Cutter])), ["not-possible"]);
    assert_eq!(codes(&rated(&[(PushForce, 9.0, Psi)]).minimum_faults(&[Kind::Ram])), ["wrong-dimension"]);
}
