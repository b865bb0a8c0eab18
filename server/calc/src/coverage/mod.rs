//! Which zones a full rig reaches in time, what is lost when one drops, and where reserve sets bring most.
//!
//! Zones have a weight (yearly crashes, say); the minutes from each rig or place (columns) to each zone (rows) are handed in: measured, from
//! a road network, or from [`Travel`]. A zone is reached when the minutes are at most the target. `f64::INFINITY` means "cannot get there".
//!
//! - [`coverage`]: first-due and second reach by full rigs; for each full rig what is lost when it drops, for each other one what is
//!   gained when it is made full.
//! - [`places`]: the best places for 1, 2, ... k reserve sets beside the full rigs (maximal covering). Exact: own branch and bound with a Lagrangean
//!   bound (see `search`), which for covering nearly always meets the optimum at once; beyond the budget the answer says how far it may be from the best.
//! - [`medians`]: the k places with the least weighted travel (p-median), by the same search.
//!
//! The nearest rig is not always the best one to send, and straight-line distance is not road distance: this is for planning.

mod distance;
mod median;
mod places;
mod reach;
mod savings;
mod search;
mod travel;

pub use distance::{EARTH_RADIUS_M, MILE_M, Point, central_angle, geodesic_m, great_circle_m};
pub use median::{Median, medians};
pub use places::{BestPlaces, Place, Places, places};
pub use reach::{Coverage, Rig, RigReach, ZoneReach, coverage};
pub use travel::{Travel, TravelCurve, mean_distance};

use crate::amount::whole;
use crate::unfit::Unfit;
use uuid::Uuid;

/// A part of the area with its demand.
#[derive(Debug, Clone, PartialEq)]
pub struct Zone {
    /// Id of the zone.
    pub id: Uuid,
    /// Its demand in any one unit, such as yearly crashes.
    pub weight: f64,
}

/// The weights made whole, after the shape of the matrix was looked at.
fn weigh(zones: &[Zone], minutes: &[Vec<f64>], columns: usize, target: f64) -> Result<Vec<i64>, Unfit> {
    if !target.is_finite() || target < 0.0 {
        return Err(Unfit::new("target", format!("a target of {target} minutes cannot be")));
    }
    if minutes.len() != zones.len() {
        return Err(Unfit::new("matrix", format!("{} zones but {} rows of minutes", zones.len(), minutes.len())));
    }
    for row in minutes {
        if row.len() != columns {
            return Err(Unfit::new(
                "matrix",
                format!("a row holds {} times where there are {columns} places", row.len()),
            ));
        }
        if row.iter().any(|m| m.is_nan() || *m < 0.0) {
            return Err(Unfit::new(
                "matrix",
                "a time is no number or below 0: give minutes, or infinity where nobody gets through".to_owned(),
            ));
        }
    }
    zones.iter().map(|zone| whole(zone.weight, "the weight of a zone")).collect()
}
