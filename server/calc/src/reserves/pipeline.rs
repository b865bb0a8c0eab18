//! One family: the pieces away, and what a number of spares does about it.

use crate::amount::count;
use crate::reliability::DAYS_IN_YEAR;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// More pieces away than any agency has.
const MOST: f64 = 100_000.0;

/// What a number of spares does.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Stock {
    /// The number of spares that these figures hold for.
    pub spares: usize,
    /// Share of failures that find a spare on the shelf.
    pub fill_rate: f64,
    /// Share of the time in which no slot waits.
    pub ready_rate: f64,
    /// Mean number of slots that wait for a spare.
    pub shortage: f64,
}

/// Which of the two rates is to be reached.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Target {
    /// The share of failures that find a spare on the shelf.
    FillRate,
    /// The share of the time in which no slot waits.
    ReadyRate,
}

/// Mean number of pieces away: pieces times failures per piece-year times days away.
#[must_use]
pub fn pipeline(pieces: f64, per_piece_year: f64, days_away: f64) -> f64 {
    pieces * per_piece_year * days_away / DAYS_IN_YEAR
}

pub(super) fn check(mean: f64) -> Result<(), Unfit> {
    if mean.is_finite() && (0.0..=MOST).contains(&mean) {
        return Ok(());
    }
    Err(Unfit::new("amount", format!("{mean} pieces away on average cannot be: give 0 to {MOST}")))
}

/// What `spares` do against a mean number of pieces away.
///
/// # Errors
/// A mean that is no number, below 0 or beyond any fleet.
pub fn stock(mean: f64, spares: usize) -> Result<Stock, Unfit> {
    check(mean)?;
    Ok(Ladder::new(mean).nth(spares).unwrap_or(Stock {
        spares,
        fill_rate: 1.0,
        ready_rate: 1.0,
        shortage: 0.0,
    }))
}

/// The least number of spares that reaches a rate.
///
/// # Errors
/// A rate that is not between 0 and 1: no stock reaches 1 for certain.
pub fn needed(mean: f64, rate: f64, of: Target) -> Result<usize, Unfit> {
    check(mean)?;
    if !(0.0..1.0).contains(&rate) {
        return Err(Unfit::new(
            "rate",
            format!("a rate of {rate} cannot be promised: give one below 1, such as 0.95"),
        ));
    }
    let reached = |stock: &Stock| match of {
        Target::FillRate => stock.fill_rate >= rate,
        Target::ReadyRate => stock.ready_rate >= rate,
    };
    Ok(Ladder::new(mean).find(reached).map_or(0, |stock| stock.spares))
}

/// Stocks of 0, 1, 2, ... spares of one family; it never ends.
pub(super) struct Ladder {
    mean: f64,
    /// Logarithm of P(X = spares), since the first of them may be too small for a number.
    log: f64,
    below: f64,
    /// Sum of P(X >= j) over j up to `spares`, taken from the mean: the shortage.
    shortage: f64,
    spares: usize,
}

impl Ladder {
    pub(super) const fn new(mean: f64) -> Self {
        Self {
            mean,
            log: -mean,
            below: 0.0,
            shortage: mean,
            spares: 0,
        }
    }

    /// P(X > spares), summed from its own terms so that small tails keep their digits.
    fn above(&self) -> f64 {
        if count(self.spares) < self.mean {
            return (1.0 - self.below - self.log.exp()).max(0.0);
        }
        let (mut term, mut sum, mut n) = (self.log.exp(), 0.0, count(self.spares));
        loop {
            n += 1.0;
            term *= self.mean / n;
            sum += term;
            if term <= sum * 1e-17 {
                return sum;
            }
        }
    }
}

impl Iterator for Ladder {
    type Item = Stock;

    fn next(&mut self) -> Option<Stock> {
        let (chance, above) = (self.log.exp(), self.above());
        // Beyond the mean the shortage is small beside what was taken from it: (mean - s) P(X >= s) + s P(X = s), its closed form, fares no better; the tail does.
        let shortage = if count(self.spares) < self.mean {
            self.shortage
        } else {
            self.tail_shortage(chance)
        };
        let now = Stock {
            spares: self.spares,
            fill_rate: self.below.min(1.0),
            ready_rate: if above < 0.5 { 1.0 - above } else { (self.below + chance).min(1.0) },
            shortage,
        };
        self.shortage = (self.shortage - above).max(0.0);
        self.below = now.ready_rate;
        self.spares += 1;
        self.log += if self.mean > 0.0 { self.mean.ln() } else { f64::NEG_INFINITY } - count(self.spares).ln();
        Some(now)
    }
}

impl Ladder {
    /// The sum of (x - s) P(X = x) over x > s, where its terms fall.
    fn tail_shortage(&self, chance: f64) -> f64 {
        let (mut term, mut sum, mut n, mut over) = (chance, 0.0, count(self.spares), 0.0);
        loop {
            n += 1.0;
            over += 1.0;
            term *= self.mean / n;
            sum += over * term;
            if over * term <= sum * 1e-17 {
                return sum;
            }
        }
    }
}
