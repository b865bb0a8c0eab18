//! Reliability against `tests/published/data/reliability.json`, and what must hold of any history.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)]

mod published_data;

use fullset_calc::reliability::{DAYS_IN_YEAR, Direction, Ends, Stop, Watched, power_law, rates, repairs, share, trend};
use published_data::{Dice, at, close, data, numbers};

fn failing(days: f64, at: &[f64]) -> Watched {
    let stop = |day: &f64| Stop {
        day: *day,
        planned: false,
        days_out: Some(0.0),
    };
    Watched {
        days,
        stops: at.iter().map(stop).collect(),
    }
}

#[test]
fn time_between_failures_is_bounded_as_published() {
    let file = data("reliability");
    let ci = &file["mtbf_ci"];
    let found = rates(&[failing(800.0, &[100.0, 700.0])], Ends::AtTime, 0.9).unwrap();
    close(found.mtbf_days.unwrap(), at(ci, "mtbf"), 1e-12);
    close(found.mtbf_days_lower.unwrap(), at(ci, "lower"), 1e-10);
    close(found.mtbf_days_upper.unwrap(), at(ci, "upper"), 1e-10);
    let mut met = 0;
    for (confidence, by_failures) in ci["factors"].as_object().unwrap() {
        for (r, factors) in by_failures.as_object().unwrap() {
            let r: usize = r.parse().unwrap();
            let days: Vec<f64> = (0..r).map(|n| n as f64).collect();
            let found = rates(&[failing(1000.0, &days)], Ends::AtTime, confidence.parse().unwrap()).unwrap();
            let mean = found.mtbf_days.unwrap();
            close(found.mtbf_days_lower.unwrap() / mean, at(factors, "lower"), 1e-10);
            close(found.mtbf_days_upper.unwrap() / mean, at(factors, "upper"), 1e-10);
            close(found.per_piece_year_upper.unwrap(), DAYS_IN_YEAR / found.mtbf_days_lower.unwrap(), 1e-12);
            met += 1;
        }
    }
    assert_eq!(met, 68);
}

#[test]
fn without_a_failure_there_is_a_lower_bound_and_nothing_else() {
    let file = data("reliability");
    for (alpha, name) in [(0.05, "alpha_05"), (0.10, "alpha_10")] {
        let found = rates(&[failing(800.0, &[])], Ends::AtTime, 1.0 - 2.0 * alpha).unwrap();
        close(found.mtbf_days_lower.unwrap(), at(&file["mtbf_ci"]["zero_fail"], name), 1e-10);
        assert_eq!((found.mtbf_days, found.mtbf_days_upper, found.per_piece_year_lower), (None, None, Some(0.0)));
        assert!(found.words.contains("too few data"), "{}", found.words);
    }
    let nothing = rates(&[], Ends::AtTime, 0.9).unwrap();
    assert_eq!((nothing.mtbf_days_lower, nothing.per_piece_year), (None, None));
    let words = nothing.words;
    assert!(words.contains("nothing to judge by"), "{words}");
}

#[test]
fn a_watch_that_ended_at_a_failure_has_fewer_degrees() {
    let found = rates(&[failing(800.0, &[100.0, 800.0])], Ends::AtFailure, 0.9).unwrap();
    // 2 T / chi2(0.95; 4) and 2 T / chi2(0.05; 4), from the tables.
    close(found.mtbf_days_lower.unwrap(), 1600.0 / 9.487_729_036_781_154, 1e-10);
    close(found.mtbf_days_upper.unwrap(), 1600.0 / 0.710_723_021_397_324_4, 1e-10);
}

#[test]
fn planned_service_is_no_failure_and_no_time_up() {
    let mut piece = failing(400.0, &[100.0]);
    let without = rates(std::slice::from_ref(&piece), Ends::AtTime, 0.9).unwrap();
    let service = |day: f64| Stop {
        day,
        planned: true,
        days_out: Some(10.0),
    };
    // The second overlaps the first: eleven days away, not twenty.
    piece.stops.extend([service(200.0), service(201.0)]);
    let with = rates(std::slice::from_ref(&piece), Ends::AtTime, 0.9).unwrap();
    assert_eq!((with.failures, with.planned, without.planned), (1, 2, 0));
    close(with.piece_years * DAYS_IN_YEAR, 389.0, 1e-12);
    close(without.piece_years * DAYS_IN_YEAR, 400.0, 1e-12);
    let repairs = repairs(&[piece], 0.9).unwrap();
    assert_eq!((repairs.ended, repairs.open), (1, 0));
}

#[test]
fn trends_are_told_as_published() {
    let file = data("reliability");
    let case = &file["trend"];
    let days = numbers(&case["times"]);
    let found = trend(&[failing(at(case, "T_end"), &days)], Ends::AtTime, 0.9).unwrap();
    close(found.military_handbook.unwrap(), at(case, "milhdbk_chi2"), 1e-12);
    assert_eq!(found.degrees, 20);
    close(found.p_improving.unwrap(), at(case, "milhdbk_p_improvement"), 1e-9);
    close(found.p_worsening.unwrap(), at(case, "milhdbk_p_degradation"), 1e-12);
    close(found.laplace.unwrap(), at(case, "laplace_U"), 1e-12);
    close(found.laplace_p.unwrap(), at(case, "laplace_p_two_sided"), 1e-10);
    assert_eq!(found.reversals, Some(at(case, "reversals") as usize));
    close(found.reversals_p.unwrap(), at(case, "p_upper_exact_no_ties"), 1e-12);
    assert_eq!(found.verdict, Direction::Improving);
    let cut = trend(&[failing(1478.0, &days)], Ends::AtFailure, 0.9).unwrap();
    close(cut.military_handbook.unwrap(), at(&file["trend_failure_truncated"], "milhdbk_chi2"), 1e-12);
    close(cut.laplace.unwrap(), at(&file["trend_failure_truncated"], "laplace_U"), 1e-12);
    assert_eq!(cut.degrees, 18);
    let case = &file["milhdbk189"];
    let found = trend(&[failing(at(case, "T"), &numbers(&case["times"]))], Ends::AtTime, 0.9).unwrap();
    close(found.military_handbook.unwrap(), at(case, "milhdbk_chi2"), 1e-12);
    close(2.0 * found.p_improving.unwrap(), at(case, "p_two_sided"), 1e-9);
    close(found.laplace.unwrap(), at(case, "laplace_U"), 1e-12);
}

#[test]
fn a_trend_needs_failures_and_sees_both_directions() {
    let few = trend(&[failing(100.0, &[1.0, 2.0, 3.0])], Ends::AtTime, 0.9).unwrap();
    assert_eq!(few.verdict, Direction::TooFew);
    assert!(few.words.contains("too few data"));
    let late: Vec<f64> = (0..20).map(|n| 80.0 + f64::from(n)).collect();
    let worse = trend(&[failing(100.0, &late)], Ends::AtTime, 0.9).unwrap();
    assert_eq!(worse.verdict, Direction::Worsening);
    assert!(worse.laplace.unwrap() > 0.0);
    let even: Vec<f64> = (0..20).map(|n| 2.5 + 5.0 * f64::from(n)).collect();
    let even = trend(&[failing(100.0, &even), failing(100.0, &even)], Ends::AtTime, 0.9).unwrap();
    assert_eq!((even.verdict, even.degrees, even.reversals), (Direction::NoTrend, 80, None));
}

#[test]
fn the_power_law_is_fitted_as_published() {
    let file = data("reliability");
    let (case, trend) = (&file["powerlaw_nist"], &file["trend"]);
    let found = power_law(&[failing(1500.0, &numbers(&trend["times"]))], Ends::AtTime, 0.8).unwrap();
    close(found.beta.unwrap(), at(case, "b_mle"), 1e-12);
    close(found.beta_unbiased.unwrap(), at(case, "b_modified"), 1e-12);
    close(found.lambda_unbiased.unwrap(), at(case, "a"), 1e-12);
    close(found.mtbf_days_unbiased.unwrap(), at(case, "mtbf_end"), 1e-12);
    let ci = numbers(&case["ci80"]);
    close(found.mtbf_days_lower.unwrap(), ci[0], 1e-10);
    close(found.mtbf_days_upper.unwrap(), ci[1], 1e-10);
    let case = &file["milhdbk189"];
    let found = power_law(&[failing(300.0, &numbers(&case["times"]))], Ends::AtTime, 0.9).unwrap();
    close(found.beta.unwrap(), at(case, "beta"), 1e-12);
    close(found.beta_unbiased.unwrap(), at(case, "beta_unbiased"), 1e-12);
    close(found.lambda.unwrap(), at(case, "lam"), 1e-12);
    close(found.intensity.unwrap(), at(case, "intensity_T"), 1e-12);
    close(found.mtbf_days.unwrap(), at(case, "mtbf_T"), 1e-12);
    close(found.cramer_von_mises.unwrap(), at(case, "cramer_von_mises"), 1e-10);
}

#[test]
fn pieces_watched_for_different_times_are_fitted_at_the_greatest_likelihood() {
    let mut dice = Dice(3);
    for _ in 0..50 {
        let pieces: Vec<Watched> = (0..4)
            .map(|_| {
                let days = 50.0 + dice.real() * 500.0;
                let at: Vec<f64> = (0..1 + dice.below(6)).map(|_| days * dice.real().max(0.001)).collect();
                failing(days, &at)
            })
            .collect();
        let fit = power_law(&pieces, Ends::AtTime, 0.9).unwrap();
        let likelihood = |beta: f64| {
            let n: usize = pieces.iter().map(|p| p.stops.len()).sum();
            let lambda = n as f64 / pieces.iter().map(|p| p.days.powf(beta)).sum::<f64>();
            let logs: f64 = pieces.iter().flat_map(|p| &p.stops).map(|s| s.day.ln()).sum();
            n as f64 * (lambda * beta).ln() + (beta - 1.0) * logs - n as f64
        };
        let beta = fit.beta.unwrap();
        assert!(likelihood(beta) >= likelihood(beta * 1.001) && likelihood(beta) >= likelihood(beta * 0.999));
    }
    let alone = power_law(&[failing(10.0, &[4.0])], Ends::AtTime, 0.9).unwrap();
    assert!(alone.beta.is_none() && alone.words.contains("too few"));
}

#[test]
fn availability_and_repair_times_are_bounded_as_published() {
    let file = data("reliability");
    let case = &file["availability"];
    let mut day = 0.0;
    let mut stops = Vec::new();
    for (up, down) in numbers(&case["up_days"]).iter().zip(numbers(&case["down_days"])) {
        day += up;
        stops.push(Stop {
            day,
            planned: false,
            days_out: Some(down),
        });
        day += down;
    }
    let found = repairs(&[Watched { days: day, stops }], 0.9).unwrap();
    close(found.mtbf_days.unwrap(), at(case, "mtbf"), 1e-12);
    close(found.mean_days.unwrap(), at(case, "mttr"), 1e-12);
    close(found.availability.unwrap(), at(case, "A"), 1e-12);
    close(found.availability_lower.unwrap(), at(case, "lower"), 1e-10);
    close(found.availability_upper.unwrap(), at(case, "upper"), 1e-10);
    let case = &file["mttr_lognormal"];
    close(found.median_days.unwrap(), at(case, "median"), 1e-12);
    close(found.lognormal_mean_days.unwrap(), at(case, "lognormal_mean"), 1e-12);
    let cox = numbers(&case["cox90"]);
    close(found.mean_days_lower.unwrap(), cox[0], 1e-10);
    close(found.mean_days_upper.unwrap(), cox[1], 1e-10);
    let none = repairs(&[failing(9.0, &[])], 0.9).unwrap();
    assert!(none.availability.is_none() && none.words.contains("too few"));
}

#[test]
fn shares_are_bounded_as_published() {
    for case in data("reliability")["proportion"].as_array().unwrap() {
        let (k, n) = (at(case, "k") as usize, at(case, "n") as usize);
        let found = share(k, n, 0.95).unwrap().unwrap();
        let (wilson, exact) = (numbers(&case["wilson95"]), numbers(&case["clopper_pearson95"]));
        let near = |a: f64, b: f64| assert!((a - b).abs() < 1e-9, "{k} of {n}: {a} for {b}");
        near(found.wilson_lower, wilson[0]);
        near(found.wilson_upper, wilson[1]);
        near(found.exact_lower, exact[0]);
        near(found.exact_upper, exact[1]);
    }
    assert_eq!(share(0, 0, 0.95), Ok(None));
    assert_eq!(share(2, 1, 0.95).unwrap_err().code, "amount");
}

#[test]
fn what_makes_no_sense_is_refused() {
    for confidence in [0.0, 1.0, -1.0, f64::NAN] {
        assert_eq!(rates(&[], Ends::AtTime, confidence).unwrap_err().code, "confidence");
    }
    for day in [-1.0, 11.0, f64::NAN] {
        assert_eq!(trend(&[failing(10.0, &[day])], Ends::AtTime, 0.9).unwrap_err().code, "time");
    }
    assert_eq!(power_law(&[failing(f64::INFINITY, &[])], Ends::AtTime, 0.9).unwrap_err().code, "time");
}

#[test]
fn more_confidence_never_narrows_and_more_failures_never_raise_the_bounds() {
    let mut last: Option<(f64, f64)> = None;
    for r in 1..40 {
        let days: Vec<f64> = (0..r).map(f64::from).collect();
        let piece = [failing(500.0, &days)];
        let (narrow, wide) = (rates(&piece, Ends::AtTime, 0.8).unwrap(), rates(&piece, Ends::AtTime, 0.95).unwrap());
        assert!(wide.mtbf_days_lower < narrow.mtbf_days_lower && wide.mtbf_days_upper > narrow.mtbf_days_upper);
        let now = (narrow.mtbf_days_lower.unwrap(), narrow.mtbf_days_upper.unwrap());
        assert!(last.is_none_or(|last| now.0 < last.0 && now.1 < last.1));
        last = Some(now);
    }
}
