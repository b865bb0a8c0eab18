//! Weights, minutes and hours as whole millionths.
//!
//! Searches compare sums. Sums of floats depend on their order, and a plan must not take one more move for the last bit of a
//! weight, so what is typed is made whole once and stays exact from there.

use crate::unfit::Unfit;

const PER_UNIT: f64 = 1e6;
/// More than any weight, time or count of hours that means something; a thousand of them still add up exactly.
const MOST: f64 = 1e9;

/// A typed amount as whole millionths; refused when it is not a number, below nothing or beyond a thousand million.
pub(crate) fn whole(value: f64, what: &str) -> Result<i64, Unfit> {
    if !value.is_finite() || value < 0.0 {
        return Err(Unfit::new("amount", format!("{what} is {value}: give a number that is not below 0")));
    }
    if value > MOST {
        return Err(Unfit::new("amount", format!("{what} is {value}: give at most {MOST}")));
    }
    // Between 0 and 1e15: no digit is lost.
    #[allow(clippy::cast_possible_truncation)]
    Ok((value * PER_UNIT).round() as i64)
}

/// The amount as a number again.
pub(crate) fn real(whole: i64) -> f64 {
    float(whole) / PER_UNIT
}

/// A wide sum as a number; the seventeenth digit may be rounded.
pub(crate) const fn float(whole: i64) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let value = whole as f64;
    value
}

/// A count as a number.
pub(crate) const fn count(n: usize) -> f64 {
    #[allow(clippy::cast_precision_loss)]
    let value = n as f64;
    value
}

/// A share of 1 in words, to a tenth of a percent: "12.5 %", "100 %".
#[must_use]
pub fn percent(share: f64) -> String {
    let text = format!("{:.1}", share * 100.0);
    format!("{} %", text.strip_suffix(".0").unwrap_or(&text))
}

/// A number as the nearest whole one, for steps of a search that need not be exact.
pub(crate) const fn nearest(value: f64) -> i64 {
    #[allow(clippy::cast_possible_truncation)]
    let value = value.round() as i64;
    value
}

/// The largest amount of which all are multiples: two different sums differ by at least that much. One when all are nothing.
pub(crate) fn grain(amounts: impl IntoIterator<Item = i64>) -> i64 {
    let common = amounts.into_iter().fold(0_i64, |a, b| {
        let (mut a, mut b) = (a, b);
        while b != 0 {
            (a, b) = (b, a % b);
        }
        a
    });
    common.abs().max(1)
}
