//! How long pieces are away, and what share of the time they can be used.

use super::special::{chi_square_quantile, f_quantile, normal_quantile};
use super::{Watched, check};
use crate::amount::count;
use crate::amount::percent;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// How long repairs take.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Repairs {
    /// Repairs after which the piece was back in use.
    pub ended: usize,
    /// Repairs that still last, or ended with the piece retired.
    pub open: usize,
    /// Mean days away of those that ended.
    pub mean_days: Option<f64>,
    /// Days away of all repairs so far, for each that ended: what still lasts counts with the days that it has lasted, so a long wait is
    /// not left out until it is over. `None` while none has ended.
    pub exposure_days: Option<f64>,
    /// At most that many, at the confidence, as if the days away were exponential (NIST/SEMATECH e-Handbook, 8.4.5.1, with repairs that
    /// end for failures and days away for time). `None` while none has ended: nothing bounds it from above.
    pub exposure_days_upper: Option<f64>,
    /// The longest that one of those that still last has lasted, in days.
    pub longest_open_days: Option<f64>,
    /// Half of the repairs took at most that many days.
    pub median_days: Option<f64>,
    /// Mean of a lognormal fit, with Cox's bounds at the confidence; `None` with fewer than two repairs or one of no days.
    pub lognormal_mean_days: Option<f64>,
    /// Lower bound of that mean.
    pub mean_days_lower: Option<f64>,
    /// Upper bound of that mean.
    pub mean_days_upper: Option<f64>,
    /// Mean days between the end of a repair and the next failure, over all time up.
    pub mtbf_days: Option<f64>,
    /// Share of the time not away for repair: MTBF / (MTBF + mean days away).
    pub availability: Option<f64>,
    /// Lower bound: exact for exponential times up and down over complete cycles, by the F distribution.
    pub availability_lower: Option<f64>,
    /// Upper bound of the availability, exact in the same way as the lower one.
    pub availability_upper: Option<f64>,
    /// Of each pair of bounds.
    pub confidence: f64,
    /// The answer in words.
    pub words: String,
}

/// Time away for repair and availability. Planned service takes no part: it is neither a repair nor time up.
///
/// # Errors
/// A confidence outside of 0 to 1, or a stop outside of its watch.
pub fn repairs(watched: &[Watched], confidence: f64) -> Result<Repairs, Unfit> {
    check(watched, confidence)?;
    let stops = watched
        .iter()
        .flat_map(|piece| piece.stops.iter().filter(|stop| !stop.planned).map(|stop| (stop, piece.days)));
    let away: Vec<Option<f64>> = stops.clone().map(|(stop, _)| stop.days_out).collect();
    let still: Vec<f64> = stops
        .filter(|(stop, _)| stop.days_out.is_none())
        .map(|(stop, until)| until - stop.day)
        .collect();
    let mut days: Vec<f64> = away.iter().flatten().copied().collect();
    days.sort_by(f64::total_cmp);
    let (failures, ended, n) = (away.len(), days.len(), count(days.len()));
    let tail = (1.0 - confidence) / 2.0;
    let mean = (ended > 0).then(|| days.iter().sum::<f64>() / n);
    let exposure = days.iter().chain(&still).sum::<f64>();
    let middle = |at: usize| days.get(at).copied();
    let median = match (middle(ended.saturating_sub(1) / 2), middle(ended / 2)) {
        (Some(a), Some(b)) => Some(f64::midpoint(a, b)),
        _ => None,
    };
    let cox = (ended > 1 && days.iter().all(|d| *d > 0.0)).then(|| {
        let logs: Vec<f64> = days.iter().map(|d| d.ln()).collect();
        let centre = logs.iter().sum::<f64>() / n;
        let spread = logs.iter().map(|l| (l - centre).powi(2)).sum::<f64>() / (n - 1.0);
        let reach = normal_quantile(1.0 - tail) * (spread / n + spread * spread / (2.0 * (n - 1.0))).sqrt();
        let log_mean = centre + spread / 2.0;
        (log_mean.exp(), (log_mean - reach).exp(), (log_mean + reach).exp())
    });
    let up: f64 = watched.iter().map(Watched::up).sum();
    let mtbf = (failures > 0 && up > 0.0).then(|| up / count(failures));
    let available = match (mtbf, mean) {
        (Some(mtbf), Some(mttr)) => {
            let (up_degrees, down_degrees) = (2.0 * count(failures), 2.0 * n);
            let at = |f: f64| 1.0 / (1.0 + mttr / mtbf * f);
            Some((
                at(1.0),
                at(f_quantile(1.0 - tail, up_degrees, down_degrees)),
                at(f_quantile(tail, up_degrees, down_degrees)),
            ))
        }
        _ => None,
    };
    let words = match (mean, available) {
        (Some(mean), Some((share, lower, upper))) => format!(
            "{ended} repair{} took {mean:.1} days on average; pieces could be used {} of the time, between {} and {} with {} confidence.{}",
            if ended == 1 { "" } else { "s" },
            percent(share),
            percent(lower),
            percent(upper),
            percent(confidence),
            if ended < 5 { " Few data: read the bounds." } else { "" }
        ),
        _ if failures > 0 => "No repair has ended yet: too few data.".to_owned(),
        _ => "No repair yet: too few data.".to_owned(),
    };
    Ok(Repairs {
        ended,
        open: failures - ended,
        mean_days: mean,
        exposure_days: (ended > 0).then(|| exposure / n),
        exposure_days_upper: (ended > 0).then(|| 2.0 * exposure / chi_square_quantile(tail, 2.0 * n)),
        longest_open_days: still.into_iter().reduce(f64::max),
        median_days: median,
        lognormal_mean_days: cox.map(|c| c.0),
        mean_days_lower: cox.map(|c| c.1),
        mean_days_upper: cox.map(|c| c.2),
        mtbf_days: mtbf,
        availability: available.map(|a| a.0),
        availability_lower: available.map(|a| a.1),
        availability_upper: available.map(|a| a.2),
        confidence,
        words,
    })
}
