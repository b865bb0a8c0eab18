//! Where reserve sets bring most.

use super::savings::{Savings, gap, part};
use super::search;
use super::{Zone, weigh};
use crate::amount::{percent, real};
use crate::unfit::Unfit;
use crate::watch::{Watch, Work};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use uuid::Uuid;

/// A station or another place where a full set could stand; its minutes to the zones are a column of the matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Place {
    /// Id by which the caller names the place; the answer names it by the same.
    pub id: Uuid,
    /// True: a full rig stands there already.
    pub full: bool,
}

/// The best places for so many sets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct BestPlaces {
    /// How many reserve sets there are to place beside the full rigs.
    pub sets: usize,
    /// Where, in the order of the places handed in; fewer than `sets` where more bring nothing.
    pub places: Vec<Uuid>,
    /// Weight that is reached with them, the full rigs' included.
    pub value: f64,
    /// The same as a share of all weight.
    pub share: f64,
    /// No places reach more.
    pub bound: f64,
    /// How much of the bound may be missing: 0 when proved.
    pub gap: f64,
    /// True: no places reach more than `value`.
    pub proved: bool,
}

/// Places for reserve sets.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Places {
    /// Weight of all zones.
    pub total: f64,
    /// Weight that the full rigs reach.
    pub already: f64,
    /// Weight that any place or full rig at all reaches.
    pub coverable: f64,
    /// What a set at each place alone would add, in the order of the places; 0 where a full rig stands.
    pub gains: Vec<f64>,
    /// The best places for 1, 2, ... sets.
    pub best: Vec<BestPlaces>,
    /// With that many sets everything that can be reached is; `None`: not with so few, or not known.
    pub enough: Option<usize>,
    /// The same in a sentence for people.
    pub words: String,
}

/// The best places for 1 to `most` sets beside the full rigs.
///
/// # Errors
/// A matrix that does not fit the zones and places, or a weight that is no number.
pub fn places(zones: &[Zone], places: &[Place], minutes: &[Vec<f64>], target: f64, most: usize, budget: u64, watch: &mut dyn Watch) -> Result<Places, Unfit> {
    let weights = weigh(zones, minutes, places.len(), target)?;
    let total: i64 = weights.iter().sum();
    let (mut already, mut coverable) = (0, 0);
    let mut gains = vec![0; places.len()];
    // Zones that the same places reach are one zone to the search.
    let mut merged: BTreeMap<Vec<usize>, i64> = BTreeMap::new();
    for (weight, row) in weights.iter().zip(minutes) {
        let within: Vec<usize> = (0_usize..)
            .zip(row)
            .filter(|(_, minutes)| **minutes <= target && minutes.is_finite())
            .map(|(at, _)| at)
            .collect();
        let full = within.iter().any(|at| places.get(*at).is_some_and(|place| place.full));
        coverable += if within.is_empty() { 0 } else { *weight };
        if full {
            already += weight;
            continue;
        }
        for at in &within {
            if let Some(gain) = gains.get_mut(*at) {
                *gain += weight;
            }
        }
        if !within.is_empty() && *weight > 0 {
            *merged.entry(within).or_default() += weight;
        }
    }
    let mut of: Vec<Vec<(usize, i64)>> = vec![Vec::new(); places.len()];
    for (zone, (within, weight)) in merged.iter().enumerate() {
        for at in within {
            if let Some(list) = of.get_mut(*at) {
                list.push((zone, *weight));
            }
        }
    }
    let savings = Savings::new(merged.len(), of);
    let mut work = Work::new(budget, watch);
    let found = search::best(&savings, most, &mut work);
    let best: Vec<BestPlaces> = (1..)
        .zip(&found)
        .map(|(sets, found)| BestPlaces {
            sets,
            places: found.sites.iter().filter_map(|at| places.get(*at)).map(|place| place.id).collect(),
            value: real(already + found.value),
            share: part(already + found.value, total),
            bound: real(already + found.bound),
            gap: gap(already + found.value, already + found.bound),
            proved: found.bound <= found.value,
        })
        .collect();
    let enough = if already == coverable {
        Some(0)
    } else {
        // Only when one fewer is proved not to be enough.
        let at = found.iter().position(|found| already + found.value == coverable);
        at.filter(|at| found.iter().take(*at).all(|f| f.bound < coverable - already || f.bound <= f.value))
            .map(|at| at + 1)
    };
    let now = percent(part(already, total));
    let words = match (best.last(), enough) {
        (_, Some(0)) => format!("Full rigs reach {now} of the demand: all that can be reached from these places."),
        (Some(last), Some(n)) => format!(
            "Full rigs reach {now} of the demand; {n} more set{} reach {}: all that can be reached from these places.",
            if n == 1 { "" } else { "s" },
            percent(last.share)
        ),
        (Some(last), None) => format!("Full rigs reach {now} of the demand; {} more sets {}.", last.sets, percent(last.share)),
        (None, _) => format!("Full rigs reach {now} of the demand."),
    };
    Ok(Places {
        total: real(total),
        already: real(already),
        coverable: real(coverable),
        gains: gains.into_iter().map(real).collect(),
        best,
        enough,
        words,
    })
}
