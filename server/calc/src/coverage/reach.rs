//! Reach as it is.

use super::savings::part;
use super::{Zone, weigh};
use crate::amount::{percent, real};
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

/// A rig; its minutes to the zones are a column of the matrix.
#[derive(Debug, Clone, PartialEq)]
pub struct Rig {
    /// UUID that the rig was made with; it never changes.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Whether it is full.
    pub full: bool,
}

/// A zone and the full rigs that reach it in time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ZoneReach {
    /// The demand zone that this is about.
    pub zone: Uuid,
    /// The full rig that is there first, if any is within the target.
    pub first: Option<Uuid>,
    /// Minutes that it takes to the zone; null where no full rig is within the target.
    pub first_minutes: Option<f64>,
    /// The second one within the target.
    pub second: Option<Uuid>,
    /// Minutes that the second one takes; null where fewer than two are within the target.
    pub second_minutes: Option<f64>,
}

/// What changes with one rig.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct RigReach {
    /// The rig that drops, or that is made full.
    pub rig: Uuid,
    /// Demand of the zones whose first reach is lost or gained.
    pub weight: f64,
    /// Weight of the zones whose second reach changes while the first stays.
    pub second_weight: f64,
    /// The zones whose first reach is lost or gained.
    pub zones: Vec<Uuid>,
    /// The same in a sentence for people.
    pub words: String,
}

/// Reach of all full rigs.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Coverage {
    /// Weight of all zones.
    pub total: f64,
    /// Weight that a full rig reaches within the target.
    pub first: f64,
    /// The same as a share of the total.
    pub first_share: f64,
    /// Weight that two full rigs reach.
    pub second: f64,
    /// The same as a share of the total.
    pub second_share: f64,
    /// Each zone, in the order handed in.
    pub zones: Vec<ZoneReach>,
    /// For each full rig what is lost when it drops, most first.
    pub losses: Vec<RigReach>,
    /// For each other rig what is gained when it is made full, most first.
    pub gains: Vec<RigReach>,
}

/// First-due and second reach, and what hangs on each rig. Of rigs as fast the one handed in first is first.
///
/// # Errors
/// A matrix that does not fit the zones and rigs, or a weight that is no number.
pub fn coverage(zones: &[Zone], rigs: &[Rig], minutes: &[Vec<f64>], target: f64) -> Result<Coverage, Unfit> {
    let weights = weigh(zones, minutes, rigs.len(), target)?;
    let total: i64 = weights.iter().sum();
    let (mut first, mut second) = (0, 0);
    let mut reached = Vec::with_capacity(zones.len());
    let mut changes: Vec<(i64, i64, Vec<Uuid>)> = vec![(0, 0, Vec::new()); rigs.len()];
    for ((zone, weight), row) in zones.iter().zip(&weights).zip(minutes) {
        let mut within: Vec<(f64, &Rig)> = row
            .iter()
            .copied()
            .zip(rigs)
            .filter(|(minutes, rig)| rig.full && *minutes <= target && minutes.is_finite())
            .collect();
        within.sort_by(|a, b| a.0.total_cmp(&b.0));
        first += if within.is_empty() { 0 } else { *weight };
        second += if within.len() > 1 { *weight } else { 0 };
        for ((rig, change), time) in rigs.iter().zip(&mut changes).zip(row) {
            if *time > target || time.is_infinite() {
                continue;
            }
            // How many others reach it decides what this rig is to the zone.
            match within.len() - usize::from(rig.full) {
                0 => {
                    change.0 += weight;
                    change.2.push(zone.id);
                }
                1 => change.1 += weight,
                _ => {}
            }
        }
        let at = |n: usize| within.get(n);
        reached.push(ZoneReach {
            zone: zone.id,
            first: at(0).map(|w| w.1.id),
            first_minutes: at(0).map(|w| w.0),
            second: at(1).map(|w| w.1.id),
            second_minutes: at(1).map(|w| w.0),
        });
    }
    let told = |full: bool| {
        let mut all: Vec<(i64, RigReach)> = rigs
            .iter()
            .zip(&changes)
            .filter(|(rig, _)| rig.full == full)
            .map(|(rig, (weight, second_weight, zones))| {
                let share = percent(part(*weight, total.max(1)));
                let zones_word = if zones.len() == 1 { "zone" } else { "zones" };
                let words = match (full, zones.len()) {
                    (true, 0) => format!("{} reaches no zone that no other full rig reaches.", rig.name),
                    (true, n) => format!("Without {} no full rig reaches {n} {zones_word} in time: {share} of the demand.", rig.name),
                    (false, 0) => format!("{} would add no zone that a full rig does not reach already.", rig.name),
                    (false, n) => format!("{} made full would reach {n} more {zones_word} in time: {share} of the demand.", rig.name),
                };
                let change = RigReach {
                    rig: rig.id,
                    weight: real(*weight),
                    second_weight: real(*second_weight),
                    zones: zones.clone(),
                    words,
                };
                (*weight, change)
            })
            .collect();
        all.sort_by_key(|(weight, _)| std::cmp::Reverse(*weight));
        all.into_iter().map(|(_, change)| change).collect()
    };
    Ok(Coverage {
        total: real(total),
        first: real(first),
        first_share: part(first, total),
        second: real(second),
        second_share: part(second, total),
        zones: reached,
        losses: told(true),
        gains: told(false),
    })
}
