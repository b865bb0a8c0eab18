//! The power law process: expected failures by day t are `lambda * t ^ beta`.

use super::special::{chi_square_quantile, normal_quantile};
use super::{Ends, Watched, check};
use crate::amount::count;
use crate::amount::percent;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// A fit of the power law.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct PowerLaw {
    /// Failures after day 0.
    pub failures: usize,
    /// Shape, by maximum likelihood: below 1 improving, above 1 worsening. `None`: too few failures.
    pub beta: Option<f64>,
    /// Shape without its bias.
    pub beta_unbiased: Option<f64>,
    /// Bounds of the shape at the confidence; only for watches of the same length.
    pub beta_lower: Option<f64>,
    /// Upper bound of the shape at the confidence; null where there is no lower one.
    pub beta_upper: Option<f64>,
    /// Scale that belongs to `beta`, failures of one piece per day to the power of `beta`.
    pub lambda: Option<f64>,
    /// Scale that belongs to `beta_unbiased`.
    pub lambda_unbiased: Option<f64>,
    /// Failures of one piece per day at the end of the longest watch, by `beta`.
    pub intensity: Option<f64>,
    /// Days between failures then: one by `intensity`.
    pub mtbf_days: Option<f64>,
    /// Days between failures then, by `beta_unbiased`.
    pub mtbf_days_unbiased: Option<f64>,
    /// Lower bound of `mtbf_days_unbiased`, for one watch that ended at a time (NIST/SEMATECH e-Handbook, 8.4.5.2; approximate).
    pub mtbf_days_lower: Option<f64>,
    /// Upper bound; `None` as well where the data leave none.
    pub mtbf_days_upper: Option<f64>,
    /// Cramer-von Mises distance of the data from the fit: above about 0.17 to 0.22 the power law does not describe them (10 to 5 % chance).
    pub cramer_von_mises: Option<f64>,
    /// Of each pair of bounds.
    pub confidence: f64,
    /// The answer in words.
    pub words: String,
}

/// Fits the power law to one piece or several alike, each over its own watch.
///
/// # Errors
/// A confidence outside of 0 to 1, or a stop outside of its watch.
pub fn power_law(watched: &[Watched], ends: Ends, confidence: f64) -> Result<PowerLaw, Unfit> {
    check(watched, confidence)?;
    let pieces: Vec<(f64, Vec<f64>)> = watched
        .iter()
        .map(|piece| {
            let days: Vec<f64> = piece.failures().into_iter().filter(|day| *day > 0.0).collect();
            let end = match ends {
                Ends::AtTime => piece.days,
                Ends::AtFailure => days.last().copied().unwrap_or(piece.days),
            };
            (end, days)
        })
        .filter(|(end, _)| *end > 0.0)
        .collect();
    let failures: usize = pieces.iter().map(|(_, days)| days.len()).sum();
    // A watch that ends at a failure spends that failure on its own length.
    let spent = if ends == Ends::AtFailure {
        pieces.iter().filter(|(_, days)| !days.is_empty()).count()
    } else {
        0
    };
    let free = failures - spent;
    let longest = pieces.iter().map(|(end, _)| *end).fold(0.0, f64::max);
    let alike = pieces.iter().all(|(end, _)| (end - longest).abs() <= longest * 1e-9);
    let beta = shape(&pieces, failures).filter(|_| free > 1);
    let n = count(failures);
    let unbiased = beta.map(|beta| beta * (count(free) - 1.0) / n);
    let scale = |beta: f64| n / pieces.iter().map(|(end, _)| end.powf(beta)).sum::<f64>();
    let rate = |beta: f64| scale(beta) * beta * longest.powf(beta - 1.0);
    let tail = (1.0 - confidence) / 2.0;
    let at = |share: f64| {
        beta.filter(|_| alike)
            .map(|beta| beta * chi_square_quantile(share, 2.0 * count(free)) / (2.0 * n))
    };
    let mtbf = unbiased.map(|beta| 1.0 / rate(beta));
    let one = pieces.len() == 1 && ends == Ends::AtTime;
    let z = normal_quantile(1.0 - tail);
    let lower = mtbf
        .filter(|_| one)
        .map(|m| m * n * (n - 1.0) / (n + z * z / 4.0 + (n * z * z / 2.0 + z.powi(4) / 16.0).sqrt()).powi(2));
    let room = n - z * (n / 2.0).sqrt();
    let upper = mtbf.filter(|_| one && room > 0.0).map(|m| m * n * (n - 1.0) / room.powi(2));
    let (beta_lower, beta_upper) = (at(tail), at(1.0 - tail));
    let words = match (beta, beta_lower, beta_upper) {
        (Some(_), Some(low), Some(high)) if low > 1.0 => format!(
            "Failures come more often as the pieces age: shape between {low:.2} and {high:.2} with {} confidence.",
            percent(confidence)
        ),
        (Some(_), Some(low), Some(high)) if high < 1.0 => format!(
            "Failures come more seldom as time goes on: shape between {low:.2} and {high:.2} with {} confidence.",
            percent(confidence)
        ),
        (Some(beta), ..) => format!("Shape {beta:.2}: a constant rate cannot be ruled out by it."),
        _ => format!("{failures} failures: too few data for a fit."),
    };
    Ok(PowerLaw {
        failures,
        beta,
        beta_unbiased: unbiased,
        beta_lower,
        beta_upper,
        lambda: beta.map(scale),
        lambda_unbiased: unbiased.map(scale),
        intensity: beta.map(rate),
        mtbf_days: beta.map(|beta| 1.0 / rate(beta)),
        mtbf_days_unbiased: mtbf,
        mtbf_days_lower: lower,
        mtbf_days_upper: upper,
        cramer_von_mises: unbiased.map(|beta| distance(&pieces, ends, beta)),
        confidence,
        words,
    })
}

/// The shape of greatest likelihood: where `n / b + sum ln t = n * sum(T^b ln T) / sum T^b`; the left falls and the right rises with b.
fn shape(pieces: &[(f64, Vec<f64>)], failures: usize) -> Option<f64> {
    let longest = pieces.iter().map(|(end, _)| *end).fold(0.0, f64::max);
    // Scaled to the longest watch, so that no power overflows.
    let logs: f64 = pieces.iter().flat_map(|(_, days)| days).map(|day| (day / longest).ln()).sum();
    if failures == 0 || logs >= 0.0 {
        return None;
    }
    let n = count(failures);
    let excess = |beta: f64| {
        let (weighted, total) = pieces.iter().fold((0.0, 0.0), |(w, t), (end, _)| {
            let power = (end / longest).powf(beta);
            (w + power * (end / longest).ln(), t + power)
        });
        n / beta + logs - n * weighted / total
    };
    // With watches of one length the closed form n / -logs; shorter ones only raise it.
    let (mut low, mut high) = (n / -logs / 2.0, n / -logs);
    while excess(high) > 0.0 && high < 1e6 {
        low = high;
        high *= 2.0;
    }
    for _ in 0..200 {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if excess(middle) > 0.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(f64::midpoint(low, high))
}

fn distance(pieces: &[(f64, Vec<f64>)], ends: Ends, beta: f64) -> f64 {
    let mut into: Vec<f64> = Vec::new();
    for (end, days) in pieces {
        let counted = days.len() - usize::from(ends == Ends::AtFailure && !days.is_empty());
        into.extend(days.iter().take(counted).map(|day| (day / end).powf(beta)));
    }
    into.sort_by(f64::total_cmp);
    let m = count(into.len());
    let gaps = into.iter().enumerate().map(|(i, share)| (share - (2.0 * count(i) + 1.0) / (2.0 * m)).powi(2));
    1.0 / (12.0 * m) + gaps.sum::<f64>()
}
