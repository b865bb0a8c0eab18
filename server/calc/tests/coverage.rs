//! Distances, travel times, coverage and places against `tests/published/data` and against every choice tried.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)]

mod published_data;

use fullset_calc::Unwatched;
use fullset_calc::coverage::{
    Place, Point, Rig, Travel, TravelCurve, Zone, central_angle, coverage, geodesic_m, great_circle_m, mean_distance, medians, places,
};
use published_data::{Dice, at, close, data, numbers, text};
use uuid::Uuid;

const AMPLE: u64 = 5_000_000_000;

fn id(n: usize) -> Uuid {
    Uuid::from_u128(n as u128)
}

fn zones(weights: &[f64]) -> Vec<Zone> {
    weights.iter().enumerate().map(|(n, weight)| Zone { id: id(n), weight: *weight }).collect()
}

fn spots(n: usize, full: &[usize]) -> Vec<Place> {
    (0..n)
        .map(|n| Place {
            id: id(n),
            full: full.contains(&n),
        })
        .collect()
}

#[test]
fn distances_are_as_published() {
    let file = data("geodesy");
    for case in file["inverse"].as_array().unwrap() {
        let point = |n: &str| Point {
            lat: at(case, &format!("lat{n}")),
            lon: at(case, &format!("lon{n}")),
        };
        let (a, b) = (point("1").check().unwrap(), point("2").check().unwrap());
        let near = |x: f64, y: f64, by: f64| assert!((x - y).abs() <= by, "{}: {x} for {y}", case["name"]);
        near(geodesic_m(a, b), at(case, "geodesic_m"), 1e-6);
        for (name, radius) in [
            ("haversine_m_R6371008_8", 6_371_008.8),
            ("haversine_m_R6371000", 6_371_000.0),
            ("haversine_m_R6372800", 6_372_800.0),
        ] {
            near(central_angle(a, b) * radius, at(case, name), 1e-3);
        }
        assert!((great_circle_m(a, b) - geodesic_m(a, b)).abs() <= 0.006 * geodesic_m(a, b));
        near(great_circle_m(b, a), great_circle_m(a, b), 1e-6);
    }
    assert_eq!(Point { lat: -104.9, lon: 39.7 }.check().unwrap_err().code, "point");
}

#[test]
fn travel_times_follow_the_published_curve() {
    let file = data("travel_time");
    let curve = TravelCurve::PUBLISHED;
    for case in file["piecewise"].as_array().unwrap() {
        let (found, expected) = (curve.minutes(at(case, "miles")), at(case, "minutes"));
        assert!((found - expected).abs() < 1e-9, "{case}: {found}");
    }
    for case in file["inverse"].as_array().unwrap() {
        let miles = curve.reach_miles(at(case, "minutes"));
        assert!((miles - at(case, "max_miles")).abs() < 1e-9, "{case}: {miles}");
        assert!(curve.minutes(miles) <= at(case, "minutes") + 1e-9);
    }
    close(curve.equal_slope_miles(), at(&file, "equal_slope_distance"), 1e-12);
    let law = &file["kolesar_blum"];
    close(mean_distance(4.0, 1.0, at(law, "k_straight_line_random")), 1.0, 1e-12);
    // In the step of the rounded coefficients the last root distance is still reached.
    close(curve.reach_miles(1.295), 0.38, 1e-12);
    let mut last = 0.0;
    for n in 0..4000 {
        let now = curve.minutes(f64::from(n) / 1000.0);
        assert!(now >= last);
        last = now;
    }
    let (a, b) = (Point { lat: 39.7392, lon: -104.9903 }, Point { lat: 39.76, lon: -104.985 });
    let straight = Travel::published(1.0).unwrap();
    let around = Travel::published(1.3).unwrap();
    assert!(around.minutes(a, b) > straight.minutes(a, b));
    assert_eq!(straight.matrix(&[a, b], &[a])[1][0], straight.minutes(a, b));
    assert_eq!(Travel::published(0.9).unwrap_err().code, "detour");
}

#[test]
fn every_published_covering_and_median_optimum_is_met() {
    let mut met = 0;
    for case in data("mclp_instances")["instances"].as_array().unwrap() {
        let weights: Vec<f64> = case["demand"].as_array().unwrap().iter().map(|d| at(d, "w")).collect();
        let minutes: Vec<Vec<f64>> = case["travel_minutes"].as_array().unwrap().iter().map(numbers).collect();
        let sites = minutes[0].len();
        let results = case["results"].as_array().unwrap();
        let found = places(
            &zones(&weights),
            &spots(sites, &[]),
            &minutes,
            at(case, "limit_minutes"),
            results.len(),
            AMPLE,
            &mut Unwatched,
        )
        .unwrap();
        assert_eq!(found.total, at(case, "total_weight"));
        assert_eq!(found.coverable, at(case, "coverable_weight"));
        for (best, result) in found.best.iter().zip(results) {
            assert_eq!(best.value, at(result, "mclp_optimum"), "seed {} p {}", case["seed"], best.sets);
            assert!(best.proved && best.gap == 0.0 && best.places.len() <= best.sets);
            assert!((best.share - at(result, "fraction")).abs() < 1e-6);
            met += 1;
        }
        let lscp = at(case, "lscp_min_sites_for_coverable") as usize;
        assert_eq!(found.enough, (lscp <= results.len()).then_some(lscp));
        let medians = medians(&weights, &minutes, 3, AMPLE, &mut Unwatched).unwrap();
        assert!((medians[2].cost - at(case, "pmedian3_weighted_minutes")).abs() < 1e-4 && medians[2].proved);
    }
    assert!(met >= 24, "{met}");
}

#[test]
fn the_library_median_is_met() {
    let file = text("orlib_pmed1.txt");
    let mut numbers = file.split_whitespace().map(|n| n.parse::<usize>().unwrap());
    let (n, edges, p) = (numbers.next().unwrap(), numbers.next().unwrap(), numbers.next().unwrap());
    let mut distance = vec![vec![1e9; n]; n];
    for _ in 0..edges {
        let (a, b, d) = (numbers.next().unwrap() - 1, numbers.next().unwrap() - 1, numbers.next().unwrap() as f64);
        (distance[a][b], distance[b][a]) = (d, d);
    }
    for k in 0..n {
        distance[k][k] = 0.0;
        for i in 0..n {
            for j in 0..n {
                distance[i][j] = distance[i][j].min(distance[i][k] + distance[k][j]);
            }
        }
    }
    let found = medians(&vec![1.0; n], &distance, p, AMPLE, &mut Unwatched).unwrap();
    assert_eq!((found[p - 1].cost, found[p - 1].proved), (at(&data("orlib_pmed1_result"), "optimum"), true));
}

/// The best k by trying all.
fn best_of_all(value: &dyn Fn(&[usize]) -> f64, sites: usize, k: usize) -> f64 {
    let mut best = f64::NEG_INFINITY;
    for set in 0_u32..1 << sites {
        if set.count_ones() as usize <= k {
            let chosen: Vec<usize> = (0..sites).filter(|s| set >> s & 1 == 1).collect();
            best = best.max(value(&chosen));
        }
    }
    best
}

#[test]
fn random_covers_and_medians_are_as_good_as_the_best_of_all_choices() {
    let mut dice = Dice(17);
    for round in 0..400 {
        let (n, sites) = (1 + dice.below(25), 1 + dice.below(9));
        let weights: Vec<f64> = (0..n)
            .map(|_| match round % 3 {
                0 => dice.below(4) as f64,
                1 => dice.below(1000) as f64 / 100.0,
                _ => 1.0,
            })
            .collect();
        let minutes: Vec<Vec<f64>> = (0..n).map(|_| (0..sites).map(|_| dice.below(13) as f64).collect()).collect();
        let target = dice.below(8) as f64;
        let full: Vec<usize> = (0..sites).filter(|_| dice.below(6) == 0).collect();
        let reached = |chosen: &[usize]| -> f64 {
            let within = |row: &Vec<f64>| chosen.iter().chain(&full).any(|s| row[*s] <= target);
            weights.iter().zip(&minutes).filter(|(_, row)| within(row)).map(|(w, _)| w).sum()
        };
        let found = places(&zones(&weights), &spots(sites, &full), &minutes, target, sites, AMPLE, &mut Unwatched).unwrap();
        close(found.already.max(1e-9), reached(&[]).max(1e-9), 1e-9);
        let mut last = found.already;
        for best in &found.best {
            let exact = best_of_all(&reached, sites, best.sets);
            assert!(
                (best.value - exact).abs() < 1e-6 && best.proved,
                "round {round} k {}: {} for {exact}",
                best.sets,
                best.value
            );
            let chosen: Vec<usize> = best.places.iter().map(|p| p.as_u128() as usize).collect();
            assert!((reached(&chosen) - best.value).abs() < 1e-6, "the places named reach what is said");
            assert!(best.value >= last, "coverage never falls as more sets are placed");
            last = best.value;
        }
        for (site, gain) in found.gains.iter().enumerate() {
            assert!((reached(&[site]) - found.already - gain).abs() < 1e-6);
        }
        let wider = places(&zones(&weights), &spots(sites, &full), &minutes, target + 1.0, sites, AMPLE, &mut Unwatched).unwrap();
        assert!(
            wider.best.iter().zip(&found.best).all(|(wide, best)| wide.value >= best.value),
            "a longer target never reaches less"
        );
        let travel = |chosen: &[usize]| -> f64 {
            if chosen.is_empty() {
                return f64::NEG_INFINITY;
            }
            let nearest = |row: &Vec<f64>| chosen.iter().map(|s| row[*s]).fold(f64::INFINITY, f64::min);
            -weights.iter().zip(&minutes).map(|(w, row)| w * nearest(row)).sum::<f64>()
        };
        for median in medians(&weights, &minutes, sites, AMPLE, &mut Unwatched).unwrap() {
            let exact = -best_of_all(&travel, sites, median.k);
            assert!((median.cost - exact).abs() < 1e-6 && median.proved, "{} for {exact}", median.cost);
            assert!((median.cost + travel(&median.places)).abs() < 1e-6);
        }
    }
}

#[test]
fn out_of_budget_the_bound_still_holds_and_a_watcher_can_stop() {
    let mut dice = Dice(23);
    let (n, sites) = (200, 30);
    let weights: Vec<f64> = (0..n).map(|_| 1.0 + dice.below(50) as f64).collect();
    let minutes: Vec<Vec<f64>> = (0..n).map(|_| (0..sites).map(|_| dice.below(10) as f64).collect()).collect();
    let ask = |budget, watch: &mut dyn fullset_calc::Watch| places(&zones(&weights), &spots(sites, &[]), &minutes, 1.0, 4, budget, watch).unwrap();
    let whole = ask(AMPLE, &mut Unwatched);
    let cut = ask(1000, &mut Unwatched);
    for (best, cut) in whole.best.iter().zip(&cut.best) {
        assert!(best.proved && cut.value <= best.value && cut.bound >= best.value);
    }
    assert!(cut.best.iter().any(|best| !best.proved && best.gap > 0.0));
    let mut calls = 0;
    let mut stop = |done: u64, bound: f64, best: f64| {
        calls += 1;
        assert!(done > 0 && bound >= best);
        false
    };
    let stopped = ask(AMPLE, &mut stop);
    assert!(stopped.best.iter().all(|b| b.bound >= b.value) && calls == 1);
}

#[test]
fn first_and_second_reach_and_what_hangs_on_each_rig() {
    let mut dice = Dice(29);
    for _ in 0..60 {
        let (n, count) = (dice.below(20), dice.below(7));
        let weights: Vec<f64> = (0..n).map(|_| dice.below(30) as f64).collect();
        let minutes: Vec<Vec<f64>> = (0..n)
            .map(|_| {
                (0..count)
                    .map(|_| if dice.below(9) == 0 { f64::INFINITY } else { dice.below(12) as f64 })
                    .collect()
            })
            .collect();
        let mut rigs: Vec<Rig> = (0..count)
            .map(|n| Rig {
                id: id(n),
                name: format!("R{n}"),
                full: dice.below(3) > 0,
            })
            .collect();
        let ask = |rigs: &[Rig], target: f64| coverage(&zones(&weights), rigs, &minutes, target).unwrap();
        let now = ask(&rigs, 5.0);
        assert!(now.first >= now.second && ask(&rigs, 6.0).first >= now.first);
        for change in now.losses.iter().chain(&now.gains) {
            let at = change.rig.as_u128() as usize;
            rigs[at].full = !rigs[at].full;
            let then = ask(&rigs, 5.0);
            rigs[at].full = !rigs[at].full;
            assert_eq!((then.first - now.first).abs(), change.weight, "{}", change.words);
            assert_eq!((then.second - now.second).abs(), change.second_weight);
            let differ = now.zones.iter().zip(&then.zones).filter(|(a, b)| a.first.is_some() != b.first.is_some());
            assert_eq!(differ.map(|(a, _)| a.zone).collect::<Vec<_>>(), change.zones);
        }
        assert_eq!(now.losses.len() + now.gains.len(), count);
    }
}

#[test]
fn a_matrix_that_does_not_fit_is_refused() {
    let (one, two) = (zones(&[1.0]), spots(2, &[]));
    let ask = |minutes: &[Vec<f64>], target| places(&one, &two, minutes, target, 1, 1, &mut Unwatched).map(|_| ()).map_err(|e| e.code);
    assert_eq!(ask(&[vec![1.0]], 1.0), Err("matrix"));
    assert_eq!(ask(&[], 1.0), Err("matrix"));
    assert_eq!(ask(&[vec![1.0, f64::NAN]], 1.0), Err("matrix"));
    assert_eq!(ask(&[vec![1.0, 2.0]], -1.0), Err("target"));
    let bad = [Zone { id: id(0), weight: -1.0 }];
    assert_eq!(places(&bad, &two, &[vec![1.0, 2.0]], 1.0, 1, 1, &mut Unwatched).unwrap_err().code, "amount");
    assert!(
        places(&[], &[], &[], 1.0, 3, 1, &mut Unwatched)
            .unwrap()
            .best
            .iter()
            .all(|b| b.places.is_empty() && b.proved)
    );
}
