//! How readings move.

use super::kit::{number, plan, read, unknown};
use fullset_calc::{
    release::Measure,
    units::{Quantity, Unit},
};
use fullset_care::{
    check::{Earlier, Facts, Sort, Trend, Way, judge},
    plan::{Limit, Rhythm},
};

fn told(earlier: &[(&str, f64, Unit)], now: f64) -> Option<Trend> {
    let earlier: Vec<Earlier> = earlier
        .iter()
        .map(|(on, value, unit)| Earlier {
            sort: Sort::of(Measure::PullingForce, "n"),
            on: on.parse().unwrap(),
            value: Quantity::new(*value, *unit),
        })
        .collect();
    let least = Limit::Fixed {
        min: Some(Quantity::new(42.0, Unit::Kilonewton)),
        max: None,
    };
    let asked = plan(Rhythm::Use, vec![number("n", Measure::PullingForce, vec![least])]).asked();
    let facts = Facts {
        earlier: &earlier,
        ..unknown()
    };
    judge(&asked, &[read("n", now, Unit::Kilonewton)], &facts).steps.remove(0).trend
}

#[test]
fn the_last_three_are_told_with_their_days_whatever_order_they_came_in() {
    let kn = Unit::Kilonewton;
    let trend = told(
        &[
            ("2026-03-01", 45.0, kn),
            ("2023-03-01", 60.0, kn),
            ("2024-03-01", 47.0, kn),
            ("2025-03-01", 46.0, kn),
        ],
        41.0,
    )
    .unwrap();
    assert_eq!(trend.words, "47 kN on 2024-03-01, 46 kN on 2025-03-01, 45 kN on 2026-03-01, now 41 kN: falling");
    assert_eq!((trend.way, trend.beyond, trend.earlier.len()), (Way::Falling, 0, 3));
}

#[test]
fn which_way_is_said_only_where_it_is_plain() {
    let kn = Unit::Kilonewton;
    let way = |first: f64, second: f64, now: f64| told(&[("2025-03-01", first, kn), ("2026-03-01", second, kn)], now).unwrap().way;
    assert_eq!(way(45.0, 46.0, 50.0), Way::Rising);
    assert_eq!(way(50.0, 50.9, 49.1), Way::Steady);
    assert_eq!(way(50.0, 40.0, 45.0), Way::Unclear);
    assert_eq!(way(50.0, 50.0, 45.0), Way::Falling);
    assert_eq!(told(&[("2026-03-01", 41.0, kn)], 50.0).unwrap().beyond, 1);
    assert_eq!(told(&[], 50.0), None);
    assert_eq!(told(&[("2026-03-01", 700.0, Unit::Bar)], 50.0), None, "another dimension is no earlier reading");
}
