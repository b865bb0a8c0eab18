//! Reserves against `tests/published/data/reliability.json`, and what must hold of any stock.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)]

mod published_data;

use fullset_calc::reserves::{Family, Layers, Target, curve, erlang_b, erlang_c, finite, needed, offered_load, pipeline, stock, two_echelon};
use published_data::{Dice, at, close, data};
use uuid::Uuid;

#[test]
fn fill_rate_ready_rate_and_shortage_are_as_published() {
    let file = data("reliability");
    for case in file["palm_base_stock"].as_array().unwrap() {
        let found = stock(at(case, "pipeline_mean"), at(case, "s") as usize).unwrap();
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-12, "{case}: {a}");
        near(found.fill_rate, at(case, "fill_rate"));
        near(found.ready_rate, at(case, "ready_rate_no_backorder"));
        near(found.shortage, at(case, "ebo"));
    }
    for case in file["poisson_tail"].as_array().unwrap() {
        let found = stock(at(case, "mu"), at(case, "k") as usize).unwrap();
        assert!((1.0 - found.fill_rate - at(case, "sf_ge_k")).abs() < 1e-12);
        assert!((found.ready_rate - at(case, "cdf")).abs() < 1e-12);
    }
}

#[test]
fn reserves_are_sized_as_published() {
    for case in data("reliability")["reserve_sizing"].as_array().unwrap() {
        let mean = pipeline(at(case, "sets"), at(case, "removals_per_set_year"), at(case, "mean_days_out"));
        close(mean, at(case, "pipeline_mean"), 1e-12);
        let target = at(case, "target");
        assert_eq!(needed(mean, target, Target::ReadyRate), Ok(at(case, "s_ready_rate") as usize), "{case}");
        assert_eq!(needed(mean, target, Target::FillRate), Ok(at(case, "s_fill_rate") as usize), "{case}");
    }
    assert_eq!(needed(0.0, 0.99, Target::ReadyRate), Ok(0));
    assert_eq!(needed(1.0, 1.0, Target::ReadyRate).unwrap_err().code, "rate");
    assert_eq!(stock(f64::NAN, 1).unwrap_err().code, "amount");
}

#[test]
fn small_fleets_and_two_layers_are_as_published() {
    let file = data("reliability");
    for case in file["finite_source"].as_array().unwrap() {
        let days = 365.0 / at(case, "mu");
        let found = finite(at(case, "N") as usize, at(case, "s") as usize, at(case, "lam"), days).unwrap();
        close(found.short, at(case, "p_short"), 1e-9);
        close(found.shortage, at(case, "e_short"), 1e-9);
        close(found.away, at(case, "e_down"), 1e-9);
    }
    let inputs = &file["metric"]["inputs"];
    let layers = Layers {
        stations: at(inputs, "bases") as usize,
        per_year: at(inputs, "demand_per_year"),
        own_share: at(inputs, "base_repair_fraction"),
        own_days: at(inputs, "base_repair_years") * 365.0,
        store_days: at(inputs, "depot_repair_years") * 365.0,
        way_days: at(inputs, "order_ship_years") * 365.0,
    };
    for case in file["metric"]["table"].as_array().unwrap() {
        let found = two_echelon(&layers, at(case, "S0") as usize, at(case, "Sj") as usize).unwrap();
        close(found.store_mean, at(case, "mu0"), 1e-12);
        close(found.store_shortage, at(case, "ebo_depot"), 1e-10);
        close(found.store_delay_days / 365.0, at(case, "depot_delay"), 1e-10);
        close(found.station_mean, at(case, "mu_base"), 1e-10);
        close(found.station.shortage, at(case, "ebo_base"), 1e-8);
        assert!((found.station.fill_rate - at(case, "fill_base")).abs() < 1e-10);
    }
}

#[test]
fn waiting_for_a_bench_is_as_published() {
    let file = data("reliability");
    for case in file["erlang"]["B_of_A_c"].as_array().unwrap() {
        let (load, servers) = (at(case, "A"), at(case, "c") as u32);
        close(erlang_b(load, servers), at(case, "B"), 1e-12);
        if let Some(c) = case["C"].as_f64() {
            close(erlang_c(load, servers), c, 1e-12);
        }
    }
    for (blocking, table) in file["erlang"]["offered_load_for_blocking"].as_object().unwrap() {
        for (servers, load) in table.as_object().unwrap() {
            close(offered_load(blocking.parse().unwrap(), servers.parse().unwrap()), load.as_f64().unwrap(), 1e-9);
        }
    }
}

fn families(dice: &mut Dice, whole: bool) -> Vec<Family> {
    (0..1 + dice.below(4))
        .map(|n| Family {
            id: Uuid::from_u128(n as u128),
            name: format!("family {n}"),
            mean_away: if dice.below(8) == 0 { 0.0 } else { dice.real() * 4.0 },
            spares: dice.below(3),
            price: if whole {
                (1 + dice.below(9)) as f64
            } else {
                (50 + dice.below(900)) as f64 / 100.0
            },
            weight: if dice.below(8) == 0 { 0.0 } else { 0.2 + dice.real() * 3.0 },
        })
        .collect()
}

/// Every stock for the budget is tried.
fn least(families: &[Family], budget: f64, at: usize) -> f64 {
    let Some(family) = families.get(at) else { return 0.0 };
    let mut best = f64::INFINITY;
    for more in 0.. {
        let spent = more as f64 * family.price;
        if spent > budget + 1e-9 || more > 40 {
            return best;
        }
        let own = stock(family.mean_away, family.spares + more).unwrap().shortage * family.weight;
        best = best.min(own + least(families, budget - spent, at + 1));
    }
    best
}

#[test]
fn no_stock_for_the_money_of_a_point_of_the_curve_is_better() {
    let mut dice = Dice(11);
    let (mut best_points, mut other_points) = (0, 0);
    for round in 0..60 {
        let families = families(&mut dice, round % 2 == 0);
        let budget = dice.real() * 25.0;
        let found = curve(&families, budget).unwrap();
        let (mut spent, mut shortage) = (0.0, found.before);
        for bought in &found.buy {
            assert!(bought.spent > spent && bought.spent <= budget + 1e-6);
            close(bought.shortage + bought.takes_away, shortage, 1e-9);
            (spent, shortage) = (bought.spent, bought.shortage);
            let exact = least(&families, bought.spent, 0);
            if bought.is_best {
                assert!((bought.shortage - exact).abs() < 1e-9, "{} for {exact}", bought.shortage);
                best_points += 1;
            } else {
                other_points += 1;
            }
        }
        let exact = least(&families, budget, 0);
        assert!(found.shortage_bound <= exact + 1e-9 && exact <= found.shortage + 1e-9);
        if found.proved {
            assert!((found.shortage - exact).abs() < 1e-9);
        }
        assert_eq!(curve(&families, budget).unwrap(), found);
    }
    assert!(best_points > 100 && other_points > 5, "{best_points} {other_points}");
}

#[test]
fn every_spare_helps_and_the_next_helps_less() {
    for mean in [0.0, 0.01, 0.7, 3.0, 19.5, 400.0] {
        let stocks: Vec<_> = (0..900).map(|s| stock(mean, s).unwrap()).collect();
        for three in stocks.windows(3) {
            let (first, last) = (three[0].shortage - three[1].shortage, three[1].shortage - three[2].shortage);
            assert!(last >= -1e-12 && first >= last - 1e-9, "{mean}: {three:?}");
            assert!(three[1].fill_rate >= three[0].fill_rate && three[1].ready_rate >= three[1].fill_rate);
            assert!((three[1].fill_rate - three[0].ready_rate).abs() < 1e-9);
        }
        close(stocks[0].shortage.max(1e-300), mean.max(1e-300), 1e-12);
    }
    let mut last = 2.0;
    for spares in 0..30 {
        let found = finite(200, spares, 3.0, 20.0).unwrap();
        let endless = stock(pipeline(200.0, 3.0, 20.0), spares).unwrap();
        assert!(
            found.short < last && found.shortage <= endless.shortage + 1e-9,
            "a fleet of a known size fares no worse"
        );
        last = found.short;
    }
    assert!(finite(100_000, 5, 2.0, 30.0).unwrap().short <= 1.0);
}

#[test]
fn a_price_of_nothing_and_a_budget_of_nothing() {
    let mut dice = Dice(5);
    let mut some = families(&mut dice, true);
    let none = curve(&some, 0.0).unwrap();
    assert!(none.buy.is_empty() && none.spent == 0.0);
    some[0].price = 0.0;
    assert_eq!(curve(&some, 1.0).unwrap_err().code, "price");
    assert!(curve(&[], 100.0).unwrap().proved);
}
