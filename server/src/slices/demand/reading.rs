//! Files of demand zones: a table with a column for each of name, latitude, longitude and weight, or GeoJSON (RFC 7946:
//! longitude first, WGS 84). Nothing is guessed: a line that cannot be read is refused with the reason, the others are read.

use std::collections::HashMap;

use fullset_register::{Delimiter, Sheet, unguarded};
use serde::Serialize;
use serde_json::Value;
use utoipa::ToSchema;

use super::feed::{DemandZone, MOST_ZONES};
use crate::platform::{
    door::own_id,
    error::{self, Fault},
    ids::AgencyId,
};

/// A line that was not read.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Refused {
    /// The line of a table, or the place of a feature in its file, from 1.
    pub line: usize,
    /// Why, and what to do.
    pub words: String,
}

/// The most lines of a file that are told of; of more, the number.
const MOST_REFUSED: usize = 1000;

/// What was not read.
#[derive(Default)]
pub(super) struct Refusals {
    pub told: Vec<Refused>,
    pub all: usize,
}

impl Refusals {
    pub fn add(&mut self, line: usize, words: impl Into<String>) {
        self.all += 1;
        if self.told.len() < MOST_REFUSED {
            self.told.push(Refused { line, words: words.into() });
        }
    }
}

/// What a file of zones holds.
#[derive(Debug, PartialEq, Serialize, ToSchema)]
pub struct ZonesRead {
    /// The zones that were read. One of the same name as today's keeps its id.
    pub zones: Vec<DemandZone>,
    /// The lines that were not; the first 1,000.
    pub refused: Vec<Refused>,
    /// The same in a sentence for people.
    pub words: String,
}

/// What a zone is made of, as it stands in the file.
struct ZoneCells<'a> {
    name: &'a str,
    lat: Result<f64, String>,
    lon: Result<f64, String>,
    weight: Result<f64, String>,
}

const NAMES: [&str; 5] = ["name", "zone", "zonename", "id", "zoneid"];
const LATS: [&str; 3] = ["lat", "latitude", "y"];
const LONS: [&str; 5] = ["lon", "lng", "long", "longitude", "x"];
const WEIGHTS: [&str; 8] = ["weight", "crashes", "crashesayear", "demand", "count", "calls", "incidents", "crashesperyear"];

/// The letters and digits of a heading, in lower case.
pub(super) fn squashed(heading: &str) -> String {
    heading.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

/// A number as people write it: with a decimal comma where the comma does not part the cells.
pub(super) fn number(text: &str, comma_parts: bool) -> Option<f64> {
    let text = text.trim();
    let text = if comma_parts || text.contains('.') {
        text.to_owned()
    } else {
        text.replacen(',', ".", 1)
    };
    text.parse().ok().filter(|number: &f64| number.is_finite())
}

fn unreadable(words: impl Into<String>) -> Fault {
    Fault::new(error::ZONES_UNREADABLE, words)
}

/// Reads a file of zones.
pub fn zones(agency: AgencyId, bytes: &[u8]) -> Result<ZonesRead, Fault> {
    let text = bytes.strip_prefix(b"\xEF\xBB\xBF").unwrap_or(bytes);
    let is_json = text.iter().find(|byte| !byte.is_ascii_whitespace()) == Some(&b'{');
    let mut gathered = Gathered {
        agency,
        zones: Vec::new(),
        refused: Refusals::default(),
        names: HashMap::new(),
    };
    if is_json {
        geojson(text, &mut gathered)?;
    } else {
        table(bytes, &mut gathered)?;
    }
    let Gathered { zones, refused, .. } = gathered;
    if zones.len() > MOST_ZONES {
        return Err(unreadable(format!(
            "The file holds {} zones; {MOST_ZONES} is the most. Put zones beside each other together first",
            zones.len()
        )));
    }
    let words = format!("{} zones read, {} lines refused.", zones.len(), refused.all);
    Ok(ZonesRead {
        zones,
        refused: refused.told,
        words,
    })
}

struct Gathered {
    agency: AgencyId,
    zones: Vec<DemandZone>,
    refused: Refusals,
    names: HashMap<String, usize>,
}

impl Gathered {
    fn refuse(&mut self, line: usize, words: impl Into<String>) {
        self.refused.add(line, words);
    }

    fn take(&mut self, line: usize, found: ZoneCells<'_>) {
        match self.zone(line, found) {
            Ok(zone) => self.zones.push(zone),
            Err(words) => self.refuse(line, words),
        }
    }

    fn zone(&mut self, line: usize, found: ZoneCells<'_>) -> Result<DemandZone, String> {
        let name = found.name.trim();
        if name.is_empty() || name.chars().count() > 200 {
            return Err("a zone has a name of 1 to 200 signs".into());
        }
        let (lat, lon, weight) = (found.lat?, found.lon?, found.weight?);
        if !(-90.0..=90.0).contains(&lat) || !(-180.0..=180.0).contains(&lon) {
            return Err(format!(
                "latitude {lat}, longitude {lon} is nowhere on the globe; are they the wrong way round, or in metres of a map grid? Give WGS 84 degrees"
            ));
        }
        if !(0.0..=1e9).contains(&weight) {
            return Err(format!("a weight of {weight} cannot be: give a number from 0 on"));
        }
        if let Some(before) = self.names.insert(name.to_lowercase(), line) {
            self.names.insert(name.to_lowercase(), before);
            return Err(format!("line {before} is a zone called {name} already"));
        }
        Ok(DemandZone {
            id: own_id(&format!("demand-zone/{}/{}", self.agency, name.to_lowercase())),
            name: name.to_owned(),
            lat,
            lon,
            weight,
        })
    }
}

fn table(bytes: &[u8], gathered: &mut Gathered) -> Result<(), Fault> {
    let known = |cell: &str| [&NAMES[..], &LATS, &LONS, &WEIGHTS].concat().contains(&squashed(cell).as_str());
    let sheet = Sheet::read(bytes, known);
    let comma_parts = sheet.delimiter == Some(Delimiter::Comma);
    let mut records = sheet.records.iter().filter(|record| !record.is_blank());
    let heading = records.next().ok_or_else(|| unreadable("The file is empty"))?;
    let column = |names: &[&str], what: &str| {
        // The first name of the list that a heading bears.
        let at = names.iter().find_map(|name| heading.cells.iter().position(|cell| squashed(cell) == *name));
        at.ok_or_else(|| {
            unreadable(format!(
                "No column holds the {what}: call one of them '{}' in the first line, which reads '{}'",
                names.first().unwrap_or(&what),
                heading.cells.join(", ")
            ))
        })
    };
    let (name, lat, lon, weight) = (
        column(&NAMES, "name")?,
        column(&LATS, "latitude")?,
        column(&LONS, "longitude")?,
        column(&WEIGHTS, "weight")?,
    );
    for record in records {
        let cell = |at: usize| record.cells.get(at).map_or("", |cell| cell.trim());
        let read = |at: usize, what: &str| number(cell(at), comma_parts).ok_or_else(|| format!("'{}' is no number for the {what}", cell(at)));
        gathered.take(
            record.line,
            ZoneCells {
                name: unguarded(cell(name)),
                lat: read(lat, "latitude"),
                lon: read(lon, "longitude"),
                weight: read(weight, "weight"),
            },
        );
    }
    Ok(())
}

fn geojson(text: &[u8], gathered: &mut Gathered) -> Result<(), Fault> {
    let file: Value = serde_json::from_slice(text).map_err(|cause| unreadable(format!("This is not JSON: {cause}")))?;
    let named = file.pointer("/crs/properties/name").and_then(Value::as_str);
    if let Some(other) = named.filter(|name| !name.ends_with("CRS84") && !name.ends_with("EPSG::4326") && !name.ends_with("EPSG:4326")) {
        return Err(unreadable(format!(
            "The coordinates are in {other}; save the file in WGS 84 degrees, as RFC 7946 asks"
        )));
    }
    let features = file
        .get("features")
        .and_then(Value::as_array)
        .ok_or_else(|| unreadable("This JSON is no GeoJSON FeatureCollection: it has no list of `features`"))?;
    for (line, feature) in (1..).zip(features) {
        let empty = serde_json::Map::new();
        let properties = feature.get("properties").and_then(Value::as_object).unwrap_or(&empty);
        let property = |names: &[&str]| {
            names
                .iter()
                .find_map(|name| properties.iter().find(|(key, _)| squashed(key) == *name).map(|(_, value)| value))
        };
        let name = match property(&NAMES) {
            Some(Value::String(text)) => text.clone(),
            Some(Value::Number(number)) => number.to_string(),
            _ => match feature.get("id") {
                Some(Value::String(text)) => text.clone(),
                Some(Value::Number(number)) => number.to_string(),
                _ => format!("Zone {line}"),
            },
        };
        let weight = match property(&WEIGHTS) {
            Some(Value::Number(number)) => number.as_f64().ok_or_else(|| "the weight is no number".to_owned()),
            Some(Value::String(text)) => number(text, true).ok_or_else(|| format!("'{text}' is no number for the weight")),
            _ => Err(format!(
                "no property says the weight: call it `weight`; there {}",
                match properties.len() {
                    0 => "are none".to_owned(),
                    _ => format!("is {}", properties.keys().cloned().collect::<Vec<_>>().join(", ")),
                }
            )),
        };
        match feature.get("geometry").map_or(Err("there is no geometry".to_owned()), middle) {
            Ok((lon, lat)) => gathered.take(
                line,
                ZoneCells {
                    name: &name,
                    lat: Ok(lat),
                    lon: Ok(lon),
                    weight,
                },
            ),
            Err(words) => gathered.refuse(line, words),
        }
    }
    Ok(())
}

/// The point of a geometry: itself, or the centroid of the outer ring of a polygon, of the largest one of several.
fn middle(geometry: &Value) -> Result<(f64, f64), String> {
    let coordinates = geometry.get("coordinates").unwrap_or(&Value::Null);
    let ring = |polygon: &Value| {
        polygon
            .get(0)
            .and_then(Value::as_array)
            .map(|ring| ring.iter().filter_map(position).collect::<Vec<_>>())
    };
    let broken = || "the coordinates cannot be read".to_owned();
    match geometry.get("type").and_then(Value::as_str) {
        Some("Point") => position(coordinates).ok_or_else(broken),
        Some("Polygon") => ring(coordinates).and_then(|ring| centroid(&ring)).map(|(at, _)| at).ok_or_else(broken),
        Some("MultiPolygon") => coordinates
            .as_array()
            .into_iter()
            .flatten()
            .filter_map(|polygon| centroid(&ring(polygon)?))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .map(|(at, _)| at)
            .ok_or_else(broken),
        Some(other) => Err(format!("a {other} is no zone: give points or polygons")),
        None => Err("there is no geometry".into()),
    }
}

fn position(value: &Value) -> Option<(f64, f64)> {
    Some((value.get(0)?.as_f64()?, value.get(1)?.as_f64()?))
}

/// Centroid and area of a closed ring in degrees, by the shoelace formula; close enough for zones of a county.
fn centroid(ring: &[(f64, f64)]) -> Option<((f64, f64), f64)> {
    let first = *ring.first()?;
    let (mut area, mut x, mut y) = (0.0, 0.0, 0.0);
    for (a, b) in ring.iter().zip(ring.iter().skip(1)) {
        // From the first corner on: small differences of large numbers lose digits.
        let (ax, ay, bx, by) = (a.0 - first.0, a.1 - first.1, b.0 - first.0, b.1 - first.1);
        let cross = ax * by - bx * ay;
        area += cross / 2.0;
        x += (ax + bx) * cross;
        y += (ay + by) * cross;
    }
    (area.abs() > 0.0).then(|| ((first.0 + x / (6.0 * area), first.1 + y / (6.0 * area)), area.abs()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> ZonesRead {
        zones(AgencyId(uuid::Uuid::nil()), text.as_bytes()).unwrap()
    }

    #[test]
    fn a_table_is_read_whatever_the_order_of_its_columns_and_lines_that_cannot_be_are_told() {
        let file = "Crashes,Zone,Longitude,Latitude\n12,Mill Road,-105.1,39.7\nmany,Quarry,-105.2,39.8\n3,Mill road,-105.1,39.7\n4,Lake,39.6,-105.3\n";
        let read = read(file);
        assert_eq!(read.zones.len(), 1);
        assert_eq!(
            (read.zones[0].name.as_str(), read.zones[0].weight, read.zones[0].lat),
            ("Mill Road", 12.0, 39.7)
        );
        let lines: Vec<usize> = read.refused.iter().map(|refused| refused.line).collect();
        assert_eq!(lines, [3, 4, 5]);
        assert!(read.refused[2].words.contains("wrong way round"), "{:?}", read.refused);
    }

    #[test]
    fn a_decimal_comma_is_read_where_semicolons_part_the_cells() {
        let read = read("name;lat;lon;weight\nUfer;47,5;9,25;1,5\n");
        assert_eq!((read.zones[0].lat, read.zones[0].lon, read.zones[0].weight), (47.5, 9.25, 1.5));
    }

    #[test]
    fn the_apostrophe_that_an_export_puts_before_a_formula_is_taken_away() {
        let read = read("name,lat,lon,weight\n'=Mill,39.7,-105.1,2\n''Old Mill,39.7,-105.2,1\n'til dawn,39.7,-105.3,1\n");
        let names: Vec<&str> = read.zones.iter().map(|zone| zone.name.as_str()).collect();
        assert_eq!(names, ["=Mill", "'Old Mill", "'til dawn"]);
    }

    /// RFC 7946, section 3.1.1: the first number is the longitude.
    #[test]
    fn geojson_has_the_longitude_first_and_a_polygon_is_its_centroid() {
        let file = r#"{"type":"FeatureCollection","features":[
            {"type":"Feature","geometry":{"type":"Point","coordinates":[-105.1,39.7]},"properties":{"name":"A","weight":4}},
            {"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[0,0],[4,0],[4,2],[0,2],[0,0]]]},"properties":{"name":"B","crashes":"7"}},
            {"type":"Feature","geometry":{"type":"LineString","coordinates":[[0,0],[1,1]]},"properties":{"name":"C","weight":1}},
            {"type":"Feature","geometry":{"type":"Point","coordinates":[1,2]},"properties":{"name":"D","roads":9}}]}"#;
        let read = read(file);
        let at: Vec<(f64, f64)> = read.zones.iter().map(|zone| (zone.lat, zone.lon)).collect();
        assert_eq!(at, [(39.7, -105.1), (1.0, 2.0)]);
        assert_eq!(read.refused.len(), 2);
        assert!(read.refused[1].words.contains("roads"), "{:?}", read.refused);
    }

    #[test]
    fn of_a_file_that_is_no_table_of_zones_a_thousand_lines_are_told_and_all_are_counted() {
        let read = read(&format!("name,lat,lon,weight\n{}", "a\n".repeat(1500)));
        assert_eq!((read.refused.len(), read.words.as_str()), (1000, "0 zones read, 1500 lines refused."));
    }

    #[test]
    fn a_file_without_a_weight_says_what_to_call_it() {
        let fault = zones(AgencyId(uuid::Uuid::nil()), b"name,lat,lon\nA,1,2\n").unwrap_err();
        assert!(fault.detail.contains("call one of them 'weight'"), "{}", fault.detail);
    }
}
