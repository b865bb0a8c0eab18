//! How long a rig takes, where nobody measured it.
//!
//! The square-root and linear law of fire-engine travel: short runs are spent on speeding up, so time grows with the root of the
//! distance; long ones at a steady speed. Form and fit: Kolesar, Walker and Hausner, Operations Research 23 (1975), after RAND R-1449 on
//! some 2000 responses of 1971; the linear part, 0.65 + 1.70 D minutes for D road miles, is also the one that a national rating office
//! states for 0.5 to 8 miles. The published coefficients are rounded: time steps up by 0.0015 minutes at 0.38 miles, which belongs to the root.

use super::distance::{MILE_M, Point, great_circle_m};
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};

/// Minutes for road miles: `root * sqrt(D)` up to `switch_miles`, then `base + per_mile * D`.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct TravelCurve {
    /// Minutes for the root of a mile.
    pub root: f64,
    /// Where the straight part would begin at no distance, in minutes.
    pub base: f64,
    /// Minutes for a mile of the straight part.
    pub per_mile: f64,
    /// The last distance of the root, in miles.
    pub switch_miles: f64,
}

impl TravelCurve {
    /// The published one.
    pub const PUBLISHED: Self = Self {
        root: 2.10,
        base: 0.65,
        per_mile: 1.70,
        switch_miles: 0.38,
    };

    /// Minutes for a run of so many road miles.
    #[must_use]
    pub fn minutes(&self, miles: f64) -> f64 {
        if miles <= self.switch_miles {
            self.root * miles.max(0.0).sqrt()
        } else {
            self.base + self.per_mile * miles
        }
    }

    /// The longest run in road miles that takes at most so many minutes.
    #[must_use]
    pub fn reach_miles(&self, minutes: f64) -> f64 {
        let straight = (minutes - self.base) / self.per_mile;
        if straight > self.switch_miles {
            return straight;
        }
        let bent = (minutes.max(0.0) / self.root).powi(2);
        bent.min(self.switch_miles)
    }

    /// Where the two parts have the same slope, in miles.
    #[must_use]
    pub fn equal_slope_miles(&self) -> f64 {
        (self.root / (2.0 * self.per_mile)).powi(2)
    }
}

/// Travel from point to point.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Travel {
    /// Time for a distance.
    pub curve: TravelCurve,
    /// Road distance over straight distance; at least 1, in many towns about 1.3.
    pub detour: f64,
}

impl Travel {
    /// The published curve over great circles times a detour factor.
    ///
    /// # Errors
    /// A factor below 1: no road is shorter than the straight line.
    pub fn published(detour: f64) -> Result<Self, Unfit> {
        if !(1.0..=10.0).contains(&detour) {
            return Err(Unfit::new(
                "detour",
                format!("a detour factor of {detour} cannot be: give 1 to 10, such as 1.3"),
            ));
        }
        Ok(Self {
            curve: TravelCurve::PUBLISHED,
            detour,
        })
    }

    /// Minutes from one point to another.
    #[must_use]
    pub fn minutes(&self, from: Point, to: Point) -> f64 {
        self.curve.minutes(great_circle_m(from, to) * self.detour / MILE_M)
    }

    /// Minutes from each place (columns) to each zone (rows), as [`super::coverage`] and [`super::places`] take them.
    #[must_use]
    pub fn matrix(&self, zones: &[Point], places: &[Point]) -> Vec<Vec<f64>> {
        zones
            .iter()
            .map(|zone| places.iter().map(|place| self.minutes(*place, *zone)).collect())
            .collect()
    }
}

/// Square-root law (Kolesar and Blum 1973): mean distance to the nearest of `places` in an area, `k * sqrt(area / places)`. `k` is 0.6267 for right-angle
/// streets and places anywhere, 0.4714 for right-angle streets and places in a diamond lattice, 0.5 for straight lines and places anywhere.
#[must_use]
pub fn mean_distance(area: f64, places: f64, k: f64) -> f64 {
    k * (area / places).sqrt()
}
