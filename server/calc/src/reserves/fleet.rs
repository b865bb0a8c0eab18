//! Small fleets, and reserves kept in two layers.

use super::pipeline::{check, stock};
use crate::amount::count;
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// What spares do in a fleet of a known size.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Finite {
    /// The number of spares that these figures hold for.
    pub spares: usize,
    /// Share of the time in which at least one slot waits.
    pub short: f64,
    /// Mean number of slots that wait.
    pub shortage: f64,
    /// Mean number of pieces away.
    pub away: f64,
}

/// A fleet of `slots` that need a piece each and `spares` more; only pieces in a slot fail (rate per year), each is away
/// `days_away / 365` of a year on average. The steady state of the machine-repair model with as many repairers as pieces.
///
/// # Errors
/// A rate or time that is no number or below 0.
pub fn finite(slots: usize, spares: usize, per_piece_year: f64, days_away: f64) -> Result<Finite, Unfit> {
    let each = super::pipeline(1.0, per_piece_year, days_away);
    check(each * count(slots))?;
    let pieces = slots + spares;
    // Shares of the time with d pieces away, up to a factor; rescaled on the way so that none overflows.
    let (mut share, mut all, mut short, mut shortage, mut away) = (1.0, 0.0, 0.0, 0.0, 0.0);
    for d in 0..=pieces {
        all += share;
        away += share * count(d);
        if d > spares {
            short += share;
            shortage += share * count(d - spares);
        }
        share *= each * count(slots.min(pieces - d)) / count(d + 1);
        if all > 1e200 {
            for value in [&mut share, &mut all, &mut short, &mut shortage, &mut away] {
                *value /= 1e200;
            }
        }
    }
    Ok(Finite {
        spares,
        short: short / all,
        shortage: shortage / all,
        away: away / all,
    })
}

/// Reserves at the stations and behind them at one store.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct TwoEchelon {
    /// Mean pieces in the pipeline of the store.
    pub store_mean: f64,
    /// Mean demands that wait at the store.
    pub store_shortage: f64,
    /// Mean days that a station waits because the store is out.
    pub store_delay_days: f64,
    /// Mean pieces on the way to one station.
    pub station_mean: f64,
    /// What the spares of one station do.
    pub station: super::Stock,
}

/// Where and how fast the pieces of [`two_echelon`] are repaired.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layers {
    /// How many stations there are, all alike.
    pub stations: usize,
    /// Failures per year at one station.
    pub per_year: f64,
    /// Share that the station repairs itself.
    pub own_share: f64,
    /// Days that a repair at the station itself takes.
    pub own_days: f64,
    /// Days of a repair behind the store.
    pub store_days: f64,
    /// Days from the store to the station.
    pub way_days: f64,
}

/// The METRIC model: the store's shortage becomes a delay of the stations, whose pipelines are then taken as Poisson (an approximation: their spread is a little wider).
///
/// # Errors
/// A rate or time that is no number or below 0.
pub fn two_echelon(layers: &Layers, store_spares: usize, station_spares: usize) -> Result<TwoEchelon, Unfit> {
    let passed_on = count(layers.stations) * layers.per_year * (1.0 - layers.own_share);
    let store_mean = super::pipeline(1.0, passed_on, layers.store_days);
    let store_shortage = stock(store_mean, store_spares)?.shortage;
    let store_delay_days = if passed_on > 0.0 {
        store_shortage / passed_on * crate::reliability::DAYS_IN_YEAR
    } else {
        0.0
    };
    let days = layers.own_share * layers.own_days + (1.0 - layers.own_share) * (layers.way_days + store_delay_days);
    let station_mean = super::pipeline(1.0, layers.per_year, days);
    Ok(TwoEchelon {
        store_mean,
        store_shortage,
        store_delay_days,
        station_mean,
        station: stock(station_mean, station_spares)?,
    })
}
