//! Whether failures come more often or more seldom as time goes on.

use super::special::{chi_square_above, gamma_shares, normal_above};
use super::{Ends, Watched, check};
use crate::amount::count;
use crate::amount::percent;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// Fewer failures than that say nothing about a trend.
const ENOUGH: usize = 4;

/// What the tests say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Direction {
    /// Failures come more seldom.
    Improving,
    /// Failures come more often.
    Worsening,
    /// No trend can be told from chance.
    NoTrend,
    /// Too few failures to tell.
    TooFew,
}

/// Tests for a trend, over one piece or several alike.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Trend {
    /// Failures that count: all, but not the one that ended a watch at a failure.
    pub failures: usize,
    /// Laplace's U: below 0 improving, above 0 worsening; normal under a constant rate.
    pub laplace: Option<f64>,
    /// Chance of a U as far from 0 under a constant rate.
    pub laplace_p: Option<f64>,
    /// Military Handbook statistic: chi-square with `degrees` under a constant rate; large is improving.
    pub military_handbook: Option<f64>,
    /// Its degrees of freedom.
    pub degrees: usize,
    /// Chance of one as large under a constant rate: small speaks for improving.
    pub p_improving: Option<f64>,
    /// Chance of one as small under a constant rate: small speaks for worsening.
    pub p_worsening: Option<f64>,
    /// Times between failures that are followed later by a longer one, of one piece; `None` for several.
    pub reversals: Option<usize>,
    /// Chance of as many under no trend, when no two times are the same: small speaks for improving.
    pub reversals_p: Option<f64>,
    /// By the Military Handbook test, two-sided, at the confidence.
    pub verdict: Direction,
    /// The answer in words.
    pub words: String,
}

/// Tests for a trend. Several pieces are pooled, each over its own watch.
///
/// # Errors
/// A confidence outside of 0 to 1, or a stop outside of its watch.
pub fn trend(watched: &[Watched], ends: Ends, confidence: f64) -> Result<Trend, Unfit> {
    check(watched, confidence)?;
    // How far each failure is into its watch, 0 to 1; what happens on day 0 is nowhere into it and is left out.
    let (mut centred, mut variance, mut logs, mut n) = (0.0, 0.0, 0.0, 0_usize);
    for piece in watched {
        let mut days: Vec<f64> = piece.failures().into_iter().filter(|day| *day > 0.0).collect();
        let end = match ends {
            Ends::AtTime => piece.days,
            Ends::AtFailure => days.pop().unwrap_or(piece.days),
        };
        for day in &days {
            centred += day - end / 2.0;
            variance += end * end / 12.0;
            logs += 2.0 * (end / day).ln();
        }
        n += days.len();
    }
    let laplace = (variance > 0.0).then(|| centred / variance.sqrt());
    let military_handbook = (n > 0).then_some(logs);
    let half = count(n);
    let p_improving = military_handbook.map(|chi| chi_square_above(chi, 2.0 * half));
    let p_worsening = military_handbook.map(|chi| gamma_shares(half, chi / 2.0).0);
    let alone = match watched {
        [piece] => Some(arrangements(piece)),
        _ => None,
    };
    let tail = (1.0 - confidence) / 2.0;
    let verdict = match (p_improving, p_worsening) {
        _ if n < ENOUGH => Direction::TooFew,
        (Some(p), _) if p <= tail => Direction::Improving,
        (_, Some(p)) if p <= tail => Direction::Worsening,
        _ => Direction::NoTrend,
    };
    let laplace_p = laplace.map(|u| 2.0 * normal_above(u.abs()));
    let agrees = if laplace_p.is_some_and(|p| p <= 1.0 - confidence) {
        " Laplace's test sees it too."
    } else {
        " Laplace's test alone would not see it."
    };
    let words = match verdict {
        Direction::TooFew => format!("{n} failures: too few data for a trend, at least {ENOUGH} are needed."),
        Direction::NoTrend => format!("No trend that could not be chance ({} confidence).", percent(confidence)),
        Direction::Improving => format!("Failures come more seldom as time goes on ({} confidence).{agrees}", percent(confidence)),
        Direction::Worsening => format!("Failures come more often as time goes on ({} confidence).{agrees}", percent(confidence)),
    };
    Ok(Trend {
        failures: n,
        laplace,
        laplace_p,
        military_handbook,
        degrees: 2 * n,
        p_improving,
        p_worsening,
        reversals: alone.map(|a| a.0),
        reversals_p: alone.and_then(|a| a.1),
        verdict,
        words,
    })
}

/// Reverse arrangements of the times between failures, and the chance of at least as many.
fn arrangements(piece: &Watched) -> (usize, Option<f64>) {
    let mut last = 0.0;
    let mut gaps = Vec::new();
    for day in piece.failures() {
        gaps.push(day - last);
        last = day;
    }
    let reversals = gaps
        .iter()
        .enumerate()
        .map(|(i, gap)| gaps.iter().skip(i + 1).filter(|later| *later > gap).count())
        .sum();
    // Shares of the orders of n things by their number of arrangements: the n-th thing adds 0 to n - 1, each as likely.
    // Beyond a hundred the normal law would do as well; nobody has a hundred failures of one piece.
    if gaps.is_empty() || gaps.len() > 100 {
        return (reversals, None);
    }
    let mut shares = vec![1.0];
    for n in 2..=gaps.len() {
        let mut next = vec![0.0; shares.len() + n - 1];
        for (at, share) in shares.iter().enumerate() {
            next.iter_mut().skip(at).take(n).for_each(|s| *s += share / count(n));
        }
        shares = next;
    }
    (reversals, Some(shares.iter().skip(reversals).sum::<f64>().min(1.0)))
}
