//! Bounds of a share: so many of so many.

use super::special::{beta_quantile, normal_quantile};
use crate::amount::count;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// A share with its bounds.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Share {
    /// The share that was seen, 0 to 1.
    pub share: f64,
    /// Wilson's lower bound: close to the stated confidence on average.
    pub wilson_lower: f64,
    /// Wilson's upper bound: close to the stated confidence on average, 1 at most.
    pub wilson_upper: f64,
    /// The exact lower bound of Clopper and Pearson: never less than the stated confidence.
    pub exact_lower: f64,
    /// The exact upper bound.
    pub exact_upper: f64,
}

/// `hits` of `of`; `None` of none.
///
/// # Errors
/// More hits than tries, or a confidence outside of 0 to 1.
pub fn share(hits: usize, of: usize, confidence: f64) -> Result<Option<Share>, Unfit> {
    super::check(&[], confidence)?;
    if hits > of {
        return Err(Unfit::new("amount", format!("{hits} of {of} cannot be")));
    }
    if of == 0 {
        return Ok(None);
    }
    let (k, n, tail) = (count(hits), count(of), (1.0 - confidence) / 2.0);
    let (p, z) = (k / n, normal_quantile(1.0 - tail));
    let (centre, scale) = (p + z * z / (2.0 * n), 1.0 + z * z / n);
    let reach = z * (p * (1.0 - p) / n + z * z / (4.0 * n * n)).sqrt();
    Ok(Some(Share {
        share: p,
        wilson_lower: if hits == 0 { 0.0 } else { (centre - reach) / scale },
        wilson_upper: if hits == of { 1.0 } else { (centre + reach) / scale },
        exact_lower: if hits == 0 { 0.0 } else { beta_quantile(tail, k, n - k + 1.0) },
        exact_upper: if hits == of { 1.0 } else { beta_quantile(1.0 - tail, k + 1.0, n - k) },
    }))
}
