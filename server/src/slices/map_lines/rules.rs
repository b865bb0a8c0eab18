//! What boundaries and roads may be: how many, how long, and on earth.

use serde::{Deserialize, Serialize};

use super::feed::MapLinesBounds;
use crate::platform::{door::at_most, error::Fault};

/// The most areas and lines of an agency, together: a station's old computer still draws them.
pub const MOST_LINES: usize = 5_000;
/// The most places along all of them. At five decimals they weigh 1.4 MB, which a body holds.
pub const MOST_POINTS: usize = 60_000;
/// What a degree is kept in: hundred-thousandths, about a metre on the ground.
const PARTS_OF_A_DEGREE: f64 = 1e5;

/// Longitude, then latitude, as GeoJSON has them (RFC 7946, section 3.1.1). A height is refused in words, not passed over: it would be kept with
/// the command and shown nowhere.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "Vec<f64>", into = "[f64; 2]")]
pub struct Place(pub [f64; 2]);

impl TryFrom<Vec<f64>> for Place {
    type Error = String;

    fn try_from(numbers: Vec<f64>) -> Result<Self, String> {
        let count = numbers.len();
        let two = numbers.try_into().map(Self);
        two.map_err(|_| format!("A point is two numbers, its longitude and its latitude, and no height; this one has {count}"))
    }
}

impl From<Place> for [f64; 2] {
    fn from(place: Place) -> Self {
        place.0
    }
}

/// Places along a road, or around an area.
pub type Line = Vec<Place>;
/// An outline, then the holes in it.
pub type Area = Vec<Line>;

/// What lines come to.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Measured {
    /// Places along all of them.
    pub points: usize,
    /// Where they lie.
    pub bounds: MapLinesBounds,
}

impl Place {
    /// With no more decimals than are kept.
    #[must_use]
    pub fn rounded(self) -> Self {
        // No zero has a sign.
        Self(self.0.map(|degrees| (degrees * PARTS_OF_A_DEGREE).round() / PARTS_OF_A_DEGREE + 0.0))
    }
}

/// Counts and measures lines, or says why they cannot be kept.
pub fn measured(areas: &[Area], roads: &[Line]) -> Result<Measured, Fault> {
    let count = areas.len() + roads.len();
    if count == 0 {
        return Err(Fault::field(
            "body",
            "There is no area and no line in it. To take the lines off the map, remove them",
        ));
    }
    if count > MOST_LINES {
        let field = match (areas.len() > MOST_LINES, roads.len() > MOST_LINES) {
            (true, _) => "body.areas",
            (_, true) => "body.roads",
            _ => "body",
        };
        return Err(Fault::field(
            field,
            format!("These are {count} areas and lines; {MOST_LINES} is the most. Cut out the area, or leave out the small roads"),
        ));
    }
    for (at, area) in areas.iter().enumerate() {
        at_most(&format!("body.areas[{at}]"), area, MOST_LINES, "line")?;
    }
    let points = areas.iter().flatten().chain(roads).map(Vec::len).sum();
    if points > MOST_POINTS {
        return Err(Fault::field(
            endless(areas, roads).unwrap_or_else(|| "body".into()),
            format!("These lines have {points} points; {MOST_POINTS} is the most. Simplify the lines, or cut out the area"),
        ));
    }
    let mut bounds = NOWHERE;
    for (at, area) in areas.iter().enumerate() {
        if area.is_empty() {
            return Err(Fault::field(format!("body.areas[{at}]"), "An area has an outline; this one has none"));
        }
        for (ring, line) in area.iter().enumerate() {
            take(&mut bounds, line, || format!("body.areas[{at}][{ring}]"))?;
        }
    }
    for (at, line) in roads.iter().enumerate() {
        take(&mut bounds, line, || format!("body.roads[{at}]"))?;
    }
    Ok(Measured { points, bounds })
}

/// The line that has more points alone than all may have together.
fn endless(areas: &[Area], roads: &[Line]) -> Option<String> {
    let long = |line: &Line| line.len() > MOST_POINTS;
    let ring = |(at, area): (usize, &Area)| area.iter().position(long).map(|ring| format!("body.areas[{at}][{ring}]"));
    let road = || roads.iter().position(long).map(|at| format!("body.roads[{at}]"));
    areas.iter().enumerate().find_map(ring).or_else(road)
}

const NOWHERE: MapLinesBounds = MapLinesBounds {
    south: f64::INFINITY,
    west: f64::INFINITY,
    north: f64::NEG_INFINITY,
    east: f64::NEG_INFINITY,
};

fn take(bounds: &mut MapLinesBounds, line: &[Place], field: impl Fn() -> String) -> Result<(), Fault> {
    if line.len() < 2 {
        return Err(Fault::field(field(), "A line has two points or more"));
    }
    for (at, place) in line.iter().enumerate() {
        let Place([lon, lat]) = place.rounded();
        if !(-180.0..=180.0).contains(&lon) || !(-90.0..=90.0).contains(&lat) {
            return Err(Fault::field(
                format!("{}[{at}]", field()),
                "This is no place on earth. The longitude comes first, from -180 to 180 degrees, then the latitude, from -90 to 90; are they the \
                 wrong way round, or in metres of a map grid? Give WGS 84 degrees",
            ));
        }
        bounds.south = bounds.south.min(lat);
        bounds.north = bounds.north.max(lat);
        bounds.west = bounds.west.min(lon);
        bounds.east = bounds.east.max(lon);
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    fn line(places: &[[f64; 2]]) -> Line {
        places.iter().copied().map(Place).collect()
    }

    fn refused(areas: &[Area], roads: &[Line]) -> (String, String) {
        let fault = measured(areas, roads).unwrap_err();
        (fault.field.unwrap_or_default(), fault.detail)
    }

    #[test]
    fn lines_are_counted_and_their_bounds_are_those_of_all_of_them() {
        let square = line(&[[-105.2, 39.7], [-105.0, 39.7], [-105.0, 39.9], [-105.2, 39.7]]);
        let hole = line(&[[-105.1, 39.75], [-105.05, 39.75], [-105.1, 39.75]]);
        let road = line(&[[-105.300_004, 39.8], [-105.1, 39.65]]);
        let found = measured(&[vec![square, hole]], &[road]).unwrap();
        assert_eq!(found.points, 9);
        let MapLinesBounds { south, west, north, east } = found.bounds;
        assert_eq!([south, west, north, east], [39.65, -105.3, 39.9, -105.0]);
    }

    #[test]
    fn a_place_is_kept_to_a_metre_and_no_zero_has_a_sign() {
        assert_eq!(Place([-105.123_456_7, 39.999_999]).rounded(), Place([-105.123_46, 40.0]));
        assert_eq!(serde_json::to_string(&Place([-0.000_001, 8.5]).rounded()).unwrap(), "[0.0,8.5]");
    }

    #[test]
    fn a_point_is_two_numbers() {
        assert_eq!(serde_json::from_str::<Place>("[8.5, 47]").unwrap(), Place([8.5, 47.0]));
        for (text, count) in [("[]", "has 0"), ("[8.5]", "has 1"), ("[8.5, 47.4, 410]", "has 3")] {
            let told = serde_json::from_str::<Place>(text).unwrap_err().to_string();
            assert!(told.contains(count), "{told}");
        }
    }

    #[test]
    fn as_many_as_there_may_be_are_taken_and_one_more_is_not() {
        let lines = |count: usize| vec![line(&[[8.5, 47.4], [8.6, 47.4]]); count];
        assert!(measured(&[], &lines(MOST_LINES)).is_ok());
        let told = refused(&[], &lines(MOST_LINES + 1)).1;
        assert!(told.starts_with("These are 5001 areas and lines; 5000 is the most"), "{told}");
        let long = |count: usize| vec![Place([8.5, 47.4]); count];
        assert_eq!(measured(&[], &[long(MOST_POINTS)]).unwrap().points, MOST_POINTS);
        assert_eq!(measured(&[vec![long(MOST_POINTS)]], &[]).unwrap().points, MOST_POINTS);
        let told = refused(&[vec![long(MOST_POINTS)]], &[long(1)]).1;
        assert!(told.starts_with("These lines have 60001 points; 60000 is the most"), "{told}");
    }

    #[test]
    fn what_is_no_line_or_not_on_earth_is_refused_by_its_place() {
        let good = line(&[[8.5, 47.4], [8.6, 47.4]]);
        for (areas, roads, field) in [
            (vec![], vec![], "body"),
            (vec![vec![good.clone()], vec![]], vec![], "body.areas[1]"),
            (vec![vec![good.clone(), vec![]]], vec![], "body.areas[0][1]"),
            (vec![], vec![good.clone(), line(&[[8.5, 47.4]])], "body.roads[1]"),
            (vec![], vec![line(&[[8.5, 47.4], [39.7, -105.1]])], "body.roads[0][1]"),
            (vec![vec![line(&[[500_000.0, 4_650_000.0], [8.5, 47.4]])]], vec![], "body.areas[0][0][0]"),
            (vec![], vec![line(&[[180.1, 0.0], [8.5, 47.4]])], "body.roads[0][0]"),
        ] {
            assert_eq!(refused(&areas, &roads).0, field);
        }
        assert!(measured(&[], &[line(&[[-180.0, -90.0], [180.0, 90.0]])]).is_ok());
    }
}
