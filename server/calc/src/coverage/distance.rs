//! Distances on the Earth.

use crate::unfit::Unfit;
use geographiclib_rs::{Geodesic, InverseGeodesic};
use serde::{Deserialize, Serialize};

/// Mean radius of the Earth in metres (IUGG).
pub const EARTH_RADIUS_M: f64 = 6_371_008.8;

/// Metres in a statute mile.
pub const MILE_M: f64 = 1609.344;

/// A point in degrees, WGS 84.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Point {
    /// Degrees north of the equator, -90 to 90.
    pub lat: f64,
    /// Degrees east of the zero meridian, -360 to 360: it may run on beyond 180.
    pub lon: f64,
}

impl Point {
    /// Refuses what lies nowhere on the Earth. Longitudes may run on beyond 180 degrees.
    ///
    /// # Errors
    /// A latitude beyond 90 degrees, a longitude beyond 360, or no number; a point with the two exchanged often is one.
    pub fn check(self) -> Result<Self, Unfit> {
        if self.lat.abs() <= 90.0 && self.lon.abs() <= 360.0 {
            return Ok(self);
        }
        Err(Unfit::new(
            "point",
            format!(
                "latitude {}, longitude {} is nowhere: latitude comes first, -90 to 90 degrees",
                self.lat, self.lon
            ),
        ))
    }
}

/// The angle between two points as seen from the centre of a sphere, in radians. The haversine form keeps its digits near 0.
#[must_use]
pub fn central_angle(a: Point, b: Point) -> f64 {
    let (lat_a, lat_b) = (a.lat.to_radians(), b.lat.to_radians());
    let (north, east) = ((lat_b - lat_a) / 2.0, (b.lon - a.lon).to_radians() / 2.0);
    let h = north.sin().powi(2) + lat_a.cos() * lat_b.cos() * east.sin().powi(2);
    2.0 * h.sqrt().min(1.0).asin()
}

/// Great-circle distance in metres, on a sphere of [`EARTH_RADIUS_M`]. Within 0.6 % of the ellipsoid.
#[must_use]
pub fn great_circle_m(a: Point, b: Point) -> f64 {
    EARTH_RADIUS_M * central_angle(a, b)
}

/// Shortest distance in metres on the WGS 84 ellipsoid, to less than a millimetre.
#[must_use]
pub fn geodesic_m(a: Point, b: Point) -> f64 {
    Geodesic::wgs84().inverse(a.lat, a.lon, b.lat, b.lon)
}
