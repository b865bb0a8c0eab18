//! How often pieces fail, how long they are away, whether it gets worse; each figure with the bounds that the data allow.
//!
//! Time is in days, counted from the start of the watch of each piece; a piece-year is 365 days.
//!
//! - [`rates`]: failures per piece-year and mean time between failures. Bounds are exact chi-square bounds for a constant rate
//!   (NIST/SEMATECH e-Handbook, 8.4.5.1): `2T / chi2(1 - a/2; 2r + 2)` and `2T / chi2(a/2; 2r)` when the watch ended at a time,
//!   `2r` in both when it ended at a failure. Without a failure there is a lower bound only, and no estimate.
//! - [`repairs`]: mean time away with Cox's bounds for lognormal times; availability `MTBF / (MTBF + MTTR)` with bounds from the
//!   F distribution, exact for exponential times up and down over complete cycles.
//! - [`trend`]: Laplace's test, the Military Handbook test (MIL-HDBK-189, exact under a constant rate) and reverse arrangements.
//! - [`power_law`]: the power law process (Crow-AMSAA, MIL-HDBK-189): maximum likelihood and unbiased shape, bounds, goodness of fit.
//! - [`share`]: bounds of a share, Wilson's and the exact ones of Clopper and Pearson.
//!
//! Planned service is no failure: it takes a piece out of the time up, and counts nowhere else. "Too few" is an answer, in words.

mod power_law;
mod rates;
mod repairs;
mod share;
mod special;
mod trend;

pub use power_law::{PowerLaw, power_law};
pub use rates::{Rates, rates};
pub use repairs::{Repairs, repairs};
pub use share::{Share, share};
pub use trend::{Direction, Trend, trend};

use crate::unfit::Unfit;

/// Days in a piece-year.
pub const DAYS_IN_YEAR: f64 = 365.0;

/// How a watch ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum Ends {
    /// At a time chosen beforehand, or now.
    #[default]
    AtTime,
    /// At the last failure.
    AtFailure,
}

/// A time when a piece could not be used.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stop {
    /// When it began, in days since the watch of this piece began.
    pub day: f64,
    /// Planned service: no failure.
    pub planned: bool,
    /// How long it lasted; `None`: it still lasts.
    pub days_out: Option<f64>,
}

/// One piece under watch.
#[derive(Debug, Clone, PartialEq)]
pub struct Watched {
    /// For how many days.
    pub days: f64,
    /// When it could not be used, in any order.
    pub stops: Vec<Stop>,
}

impl Watched {
    /// Days of failures, in order.
    fn failures(&self) -> Vec<f64> {
        let mut days: Vec<f64> = self.stops.iter().filter(|stop| !stop.planned).map(|stop| stop.day).collect();
        days.sort_by(f64::total_cmp);
        days
    }

    /// Days on which it could be used; stops that overlap count once.
    fn up(&self) -> f64 {
        let mut spans: Vec<(f64, f64)> = self
            .stops
            .iter()
            .map(|stop| (stop.day, stop.days_out.map_or(self.days, |days| (stop.day + days).min(self.days))))
            .collect();
        spans.sort_by(|a, b| a.0.total_cmp(&b.0));
        let (mut out, mut until) = (0.0, 0.0_f64);
        for (from, to) in spans {
            out += (to - from.max(until)).max(0.0);
            until = until.max(to);
        }
        (self.days - out).max(0.0)
    }
}

fn check(watched: &[Watched], confidence: f64) -> Result<(), Unfit> {
    if !(confidence > 0.0 && confidence < 1.0) {
        return Err(Unfit::new(
            "confidence",
            format!("a confidence of {confidence} means nothing: give one between 0 and 1, such as 0.9"),
        ));
    }
    for piece in watched {
        if !piece.days.is_finite() || piece.days < 0.0 {
            return Err(Unfit::new("time", format!("a watch of {} days cannot be", piece.days)));
        }
        for stop in &piece.stops {
            let within = stop.day >= 0.0 && stop.day <= piece.days;
            if !within || stop.days_out.is_some_and(|days| !days.is_finite() || days < 0.0) {
                return Err(Unfit::new(
                    "time",
                    format!("a stop on day {} lies outside of a watch of {} days", stop.day, piece.days),
                ));
            }
        }
    }
    Ok(())
}
