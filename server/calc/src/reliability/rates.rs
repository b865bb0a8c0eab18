//! Failures per piece-year and mean time between failures.

use super::special::chi_square_quantile;
use super::{DAYS_IN_YEAR, Ends, Watched, check};
use crate::amount::count;
use crate::amount::percent;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// How often pieces fail.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Rates {
    /// Failures while pieces were watched; planned services are not among them.
    pub failures: usize,
    /// Planned services seen; they are no failures.
    pub planned: usize,
    /// Piece-years of 365 days on which pieces could be used.
    pub piece_years: f64,
    /// Failures per piece-year; `None` without any time.
    pub per_piece_year: Option<f64>,
    /// At least that many, at the confidence.
    pub per_piece_year_lower: Option<f64>,
    /// At most that many, at the confidence.
    pub per_piece_year_upper: Option<f64>,
    /// Mean days between failures; `None` without a failure.
    pub mtbf_days: Option<f64>,
    /// At least that many days, at the confidence.
    pub mtbf_days_lower: Option<f64>,
    /// At most that many days; `None` without a failure: nothing bounds it from above.
    pub mtbf_days_upper: Option<f64>,
    /// Of the two bounds together.
    pub confidence: f64,
    /// The answer in words.
    pub words: String,
}

/// Failure rate and mean time between failures, with exact two-sided bounds for a constant rate.
///
/// # Errors
/// A confidence outside of 0 to 1, or a stop outside of its watch.
pub fn rates(watched: &[Watched], ends: Ends, confidence: f64) -> Result<Rates, Unfit> {
    check(watched, confidence)?;
    let failures = watched.iter().flat_map(|piece| &piece.stops).filter(|stop| !stop.planned).count();
    let planned = watched.iter().flat_map(|piece| &piece.stops).filter(|stop| stop.planned).count();
    let days: f64 = watched.iter().map(Watched::up).sum();
    let (r, tail) = (count(failures), (1.0 - confidence) / 2.0);
    let timed = days > 0.0;
    let lower_degrees = match ends {
        Ends::AtTime => 2.0 * r + 2.0,
        Ends::AtFailure => 2.0 * r,
    };
    let mtbf_days = (timed && failures > 0).then(|| days / r);
    let mtbf_days_lower = (timed && lower_degrees > 0.0).then(|| 2.0 * days / chi_square_quantile(1.0 - tail, lower_degrees));
    let mtbf_days_upper = (timed && failures > 0).then(|| 2.0 * days / chi_square_quantile(tail, 2.0 * r));
    let years = days / DAYS_IN_YEAR;
    let words = match (mtbf_days, mtbf_days_lower) {
        (None, None) => "Nothing was in use yet: there is nothing to judge by.".to_owned(),
        (None, Some(lower)) => format!(
            "No failure in {years:.1} piece-years. That is too few data for a time between failures; it is at least {lower:.0} days with {} confidence.",
            percent(1.0 - tail)
        ),
        (Some(mean), lower) => {
            let few = if failures < 5 { " Few data: read the bounds, not the mean." } else { "" };
            let s = if failures == 1 { "" } else { "s" };
            format!(
                "{failures} failure{s} in {years:.1} piece-years: one in {mean:.0} days on average, between {:.0} and {:.0} days with {} confidence.{few}",
                lower.unwrap_or_default(),
                mtbf_days_upper.unwrap_or_default(),
                percent(confidence)
            )
        }
    };
    Ok(Rates {
        failures,
        planned,
        piece_years: years,
        per_piece_year: timed.then(|| r / years),
        per_piece_year_lower: timed.then(|| mtbf_days_upper.map_or(0.0, |days| DAYS_IN_YEAR / days)),
        per_piece_year_upper: mtbf_days_lower.map(|days| DAYS_IN_YEAR / days),
        mtbf_days,
        mtbf_days_lower,
        mtbf_days_upper,
        confidence,
        words,
    })
}
