//! Limits at the bound and one unit beyond it: CHECKS A4 (DGUV Grundsatz 305-002, 13.2.1 and 13.3).

use super::kit::{number, plan, ratings, read, unknown};
use fullset_calc::{
    ratings::Term,
    release::{DefectClass, Measure},
    units::{Quantity, Unit},
};
use fullset_care::{
    check::{Facts, KnownReading, MakersBound, Outcome, Sort, StepResult, judge},
    plan::{Bound, Drift, Limit, RatedFigure, Rhythm},
};
use proptest::prelude::*;

fn share(percent: u32, of: RatedFigure) -> Limit {
    let bound = Bound::AtLeast;
    Limit::ShareOfRating { bound, percent, of }
}

fn result(measure: Measure, limits: Vec<Limit>, value: f64, unit: Unit, facts: &Facts<'_>) -> StepResult {
    let asked = plan(Rhythm::Use, vec![number("n", measure, limits)]).asked();
    judge(&asked, &[read("n", value, unit)], facts).steps.remove(0).result
}

fn passes(result: &StepResult) -> bool {
    *result == StepResult::Passed
}

#[test]
fn the_published_limits_hold_at_the_bound_and_one_unit_beyond_they_do_not() {
    use Measure::{ClosingTime, HoldSeconds, OpeningTime, PullingForce, ReliefOpensAt, SpreadingForce};
    let plate = ratings(&[
        (Term::RatedSpreadingForce, 47.0, Unit::Kilonewton),
        (Term::HighestPullingForce, 10_000.0, Unit::PoundForce),
    ]);
    let facts = |nominal: f64, unit: Unit| Facts {
        ratings: &plate,
        nominal: Some(Quantity::new(nominal, unit)),
        ..unknown()
    };
    let relief = Limit::ShareOfRating {
        bound: Bound::AtMost,
        percent: 110,
        of: RatedFigure::NominalPressure,
    };
    let least = |value: f64| Limit::Fixed {
        min: Some(Quantity::new(value, Unit::Second)),
        max: None,
    };
    let psi = facts(10_500.0, Unit::Psi);
    let bar = facts(720.0, Unit::Bar);
    for (measure, limit, facts, unit, at, beyond) in [
        (SpreadingForce, share(90, RatedFigure::SpreadingForce), &psi, Unit::Kilonewton, 42.3, 42.29),
        (SpreadingForce, share(90, RatedFigure::SpreadingForce), &psi, Unit::Newton, 42_300.0, 42_299.0),
        (PullingForce, share(90, RatedFigure::PullingForce), &psi, Unit::PoundForce, 9_000.0, 8_999.0),
        (ReliefOpensAt, relief.clone(), &psi, Unit::Psi, 11_550.0, 11_551.0),
        (ReliefOpensAt, relief, &bar, Unit::Bar, 792.0, 792.1),
        (OpeningTime, least(2.0), &psi, Unit::Second, 2.0, 1.99),
        (ClosingTime, least(2.0), &psi, Unit::Second, 2.0, 1.99),
        (HoldSeconds, least(10.0), &psi, Unit::Second, 10.0, 9.9),
    ] {
        assert!(passes(&result(measure, vec![limit.clone()], at, unit, facts)), "{measure:?} {at}");
        let found = result(measure, vec![limit], beyond, unit, facts);
        assert!(
            matches!(
                found,
                StepResult::Failed {
                    class: DefectClass::Pressure,
                    ..
                }
            ),
            "{measure:?} {beyond}: {found:?}"
        );
    }
}

#[test]
fn a_plate_that_names_a_range_says_nothing_of_the_measuring_point_but_gives_a_floor() {
    // CHECKS A1: an NFPA lowest spreading force is no rated one.
    let plate = ratings(&[
        (Term::LowestSpreadingForce, 8_000.0, Unit::PoundForce),
        (Term::HighestSpreadingForce, 40_000.0, Unit::PoundForce),
    ]);
    let facts = Facts { ratings: &plate, ..unknown() };
    let limit = || vec![share(90, RatedFigure::SpreadingForce)];
    let force = |value: f64, facts: &Facts<'_>| result(Measure::SpreadingForce, limit(), value, Unit::PoundForce, facts);
    assert!(matches!(force(7_199.0, &facts), StepResult::Failed { .. }), "below 90 % of the lowest");
    let found = force(20_000.0, &facts);
    assert!(
        matches!(&found, StepResult::Unknown { why } if why.contains("enter it from its plate")),
        "{found:?}"
    );
    // With an acceptance test it is compared with that.
    let baseline = [KnownReading {
        sort: Sort::of(Measure::SpreadingForce, "n"),
        value: Quantity::new(20_000.0, Unit::PoundForce),
    }];
    let facts = Facts { baseline: &baseline, ..facts };
    assert!(passes(&force(18_000.0, &facts)));
    assert!(matches!(force(17_999.0, &facts), StepResult::Failed { .. }));
}

#[test]
fn a_limit_that_cannot_be_read_is_unknown_and_says_what_to_enter() {
    let drift = Limit::Drift { percent: 50, way: Drift::Up };
    let nominal = Limit::ShareOfRating {
        bound: Bound::AtMost,
        percent: 110,
        of: RatedFigure::NominalPressure,
    };
    for (measure, limit, unit, says) in [
        (
            Measure::PullingForce,
            share(90, RatedFigure::PullingForce),
            Unit::Kilonewton,
            "rated pulling force is not on record",
        ),
        (
            Measure::PushForce,
            share(90, RatedFigure::PushForce),
            Unit::Kilonewton,
            "rated pushing force is not on record",
        ),
        (Measure::PushForce, Limit::MakersBound, Unit::Kilonewton, "take it from the manual"),
        (Measure::OpeningTime, drift, Unit::Second, "enter the reading of a good day"),
        (Measure::ReliefOpensAt, nominal, Unit::Bar, "nominal pressure is not on record"),
    ] {
        let asked = plan(Rhythm::Use, vec![number("n", measure, vec![limit])]).asked();
        let verdict = judge(&asked, &[read("n", 100.0, unit)], &unknown());
        assert_eq!(verdict.outcome, Outcome::Unknown, "{measure:?}");
        assert!(verdict.words.contains(says), "{}", verdict.words);
    }
}

#[test]
fn one_limit_that_is_broken_fails_though_another_cannot_be_read() {
    let limits = vec![
        Limit::MakersBound,
        Limit::Fixed {
            min: Some(Quantity::new(2.0, Unit::Second)),
            max: None,
        },
    ];
    assert!(matches!(
        result(Measure::OpeningTime, limits.clone(), 1.5, Unit::Second, &unknown()),
        StepResult::Failed { .. }
    ));
    assert!(matches!(
        result(Measure::OpeningTime, limits, 2.5, Unit::Second, &unknown()),
        StepResult::Unknown { .. }
    ));
}

#[test]
fn the_makers_bound_holds_both_ways_and_in_its_own_unit_of_measure_only() {
    let bound = |min: Option<Quantity>, max: Option<Quantity>| {
        [MakersBound {
            sort: Sort::of(Measure::PushForce, "n"),
            min,
            max,
        }]
    };
    let kn = |value: f64| Some(Quantity::new(value, Unit::Kilonewton));
    let force = |bounds: &[MakersBound], value: f64| {
        let facts = Facts {
            makers_bounds: bounds,
            ..unknown()
        };
        result(Measure::PushForce, vec![Limit::MakersBound], value, Unit::Kilonewton, &facts)
    };
    let both = bound(kn(100.0), kn(150.0));
    for (value, wanted) in [(99.9, false), (100.0, true), (150.0, true), (150.1, false)] {
        assert_eq!(passes(&force(&both, value)), wanted, "{value}");
    }
    assert!(matches!(force(&bound(None, None), 100.0), StepResult::Unknown { .. }));
    assert!(matches!(
        force(&bound(Some(Quantity::new(1.0, Unit::Bar)), None), 100.0),
        StepResult::Unknown { .. }
    ));
}

#[test]
fn drift_is_counted_from_the_acceptance_test_of_this_very_piece() {
    let baseline = [KnownReading {
        sort: Sort::of(Measure::OpeningTime, "n"),
        value: Quantity::new(4.0, Unit::Second),
    }];
    let facts = Facts {
        baseline: &baseline,
        ..unknown()
    };
    let time = |way: Drift, value: f64| {
        passes(&result(
            Measure::OpeningTime,
            vec![Limit::Drift { percent: 50, way }],
            value,
            Unit::Second,
            &facts,
        ))
    };
    assert!(time(Drift::Up, 6.0) && !time(Drift::Up, 6.01) && time(Drift::Up, 1.0));
    assert!(time(Drift::Down, 2.0) && !time(Drift::Down, 1.99) && time(Drift::Down, 60.0));
    assert!(time(Drift::Either, 6.0) && time(Drift::Either, 2.0) && !time(Drift::Either, 6.01) && !time(Drift::Either, 1.99));
}

proptest! {
    #[test]
    fn at_the_bound_it_passes_and_one_hundredth_below_it_fails(rated in 3_000_u32..150_000, percent in 50_u32..=100) {
        let plate = ratings(&[(Term::RatedSpreadingForce, f64::from(rated), Unit::PoundForce)]);
        let facts = Facts { ratings: &plate, ..unknown() };
        // What a person types: the share to two decimals, exact.
        let hundredths = u64::from(rated) * u64::from(percent);
        let typed = |hundredths: u64| format!("{}.{:02}", hundredths / 100, hundredths % 100).parse::<f64>().unwrap();
        let force = |hundredths: u64| result(Measure::SpreadingForce, vec![share(percent, RatedFigure::SpreadingForce)], typed(hundredths), Unit::PoundForce, &facts);
        prop_assert!(passes(&force(hundredths)));
        prop_assert!(passes(&force(hundredths + 1)));
        let below = force(hundredths - 1);
        let failed = matches!(below, StepResult::Failed { .. });
        prop_assert!(failed);
    }

    #[test]
    fn a_lower_force_never_passes_where_a_higher_one_fails(rated in 10.0_f64..500.0, a in 1.0_f64..600.0, b in 1.0_f64..600.0) {
        let plate = ratings(&[(Term::RatedSpreadingForce, rated, Unit::Kilonewton)]);
        let facts = Facts { ratings: &plate, ..unknown() };
        let force = |value: f64| passes(&result(Measure::SpreadingForce, vec![share(90, RatedFigure::SpreadingForce)], value, Unit::Kilonewton, &facts));
        prop_assert!(!force(a.min(b)) || force(a.max(b)));
    }
}
