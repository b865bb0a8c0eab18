//! The k places with the least weighted travel.

use super::savings::{Savings, gap};
use super::search;
use crate::amount::{real, whole};
use crate::unfit::Unfit;
use crate::watch::{Watch, Work};
use serde::{Deserialize, Serialize};

/// The best k places.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Median {
    /// How many places were looked for, from 1 on.
    pub k: usize,
    /// Which columns of the matrix, ascending; fewer than `k` where more bring nothing.
    pub places: Vec<usize>,
    /// Weight times distance to the nearest of them, summed over all zones.
    pub cost: f64,
    /// No k places cost less.
    pub bound: f64,
    /// How much the cost may lie above the least, as a share of what the best places save against the worst.
    pub gap: f64,
    /// True: no k places cost less than `cost`.
    pub proved: bool,
}

/// Least weighted distance for 1 to `most` places. `distance` has a row for each weight and a column for each place.
///
/// # Errors
/// Rows of different lengths, a distance or weight that is no finite number, or below 0.
pub fn medians(weights: &[f64], distance: &[Vec<f64>], most: usize, budget: u64, watch: &mut dyn Watch) -> Result<Vec<Median>, Unfit> {
    let columns = distance.first().map_or(0, Vec::len);
    if distance.len() != weights.len() || distance.iter().any(|row| row.len() != columns) {
        return Err(Unfit::new("matrix", "the rows of distances do not fit the weights or each other".to_owned()));
    }
    if columns == 0 {
        return Ok(Vec::new());
    }
    let mut worst_of_all = 0_i64;
    let mut of: Vec<Vec<(usize, i64)>> = vec![Vec::new(); columns];
    for (zone, (weight, row)) in weights.iter().zip(distance).enumerate() {
        whole(*weight, "a weight")?;
        let costs = row
            .iter()
            .map(|d| whole(weight * d, "a weight times a distance"))
            .collect::<Result<Vec<i64>, Unfit>>()?;
        // Any one place costs at most the worst; what the others save against it is searched for.
        let worst = costs.iter().copied().max().unwrap_or_default();
        worst_of_all += worst;
        for (list, cost) in of.iter_mut().zip(costs) {
            if cost < worst {
                list.push((zone, worst - cost));
            }
        }
    }
    let savings = Savings::new(weights.len(), of);
    let mut work = Work::new(budget, watch);
    let found = search::best(&savings, most, &mut work);
    Ok((1..)
        .zip(found)
        .map(|(k, found)| Median {
            k,
            cost: real(worst_of_all - found.value),
            bound: real(worst_of_all - found.bound),
            gap: gap(found.value, found.bound),
            proved: found.bound <= found.value,
            places: if found.sites.is_empty() { vec![0] } else { found.sites },
        })
        .collect())
}
