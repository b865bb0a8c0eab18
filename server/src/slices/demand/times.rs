//! A table of travel times: zones down the first column, stations along the first line, minutes in between.

use std::collections::HashMap;

use fullset_register::{Delimiter, Sheet, unguarded};
use serde::Serialize;
use utoipa::ToSchema;

use super::{
    Demand,
    feed::{MOST_MINUTES, TravelTimes},
    reading::{Refusals, Refused, number},
};
use crate::{
    platform::error::{self, Fault},
    slices::stations::Station,
};

/// What a file of travel times holds.
#[derive(Debug, PartialEq, Serialize, ToSchema)]
pub struct TimesRead {
    /// The times, in the order of the agency's zones.
    pub times: TravelTimes,
    /// The lines and columns that were not read; the first 1,000.
    pub refused: Vec<Refused>,
    /// The same in a sentence for people.
    pub words: String,
}

/// Minutes as people write them: 7, 7.5 or 7:30.
fn minutes(text: &str, comma_parts: bool) -> Option<f64> {
    let time = match text.split_once(':') {
        Some((whole, seconds)) => {
            let seconds: u32 = seconds.trim().parse().ok().filter(|seconds| *seconds < 60)?;
            f64::from(whole.trim().parse::<u32>().ok()?) + f64::from(seconds) / 60.0
        }
        None => number(text, comma_parts)?,
    };
    (0.0..=MOST_MINUTES).contains(&time).then_some(time)
}

/// Reads a file of travel times for the zones and stations that are on record.
pub fn times(demand: &Demand, stations: &[Station], bytes: &[u8]) -> Result<TimesRead, Fault> {
    let unreadable = |words: &str| Fault::new(error::ZONES_UNREADABLE, words);
    let mut by_name: HashMap<String, &Station> = HashMap::new();
    for station in stations {
        for name in [Some(&station.name), station.number.as_ref()].into_iter().flatten() {
            by_name.entry(name.trim().to_lowercase()).or_insert(station);
        }
    }
    let station_of = |cell: &str| by_name.get(&unguarded(cell.trim()).to_lowercase()).copied();
    let sheet = Sheet::read(bytes, |cell| station_of(cell).is_some());
    let comma_parts = sheet.delimiter == Some(Delimiter::Comma);
    let mut records = sheet.records.iter().filter(|record| !record.is_blank());
    let heading = records.next().ok_or_else(|| unreadable("The file is empty"))?;
    let mut refused = Refusals::default();
    let mut refuse = |line: usize, words: String| refused.add(line, words);
    let mut columns: Vec<(usize, &Station)> = Vec::new();
    for (at, cell) in heading.cells.iter().enumerate().skip(1).filter(|(_, cell)| !cell.trim().is_empty()) {
        match station_of(cell) {
            Some(station) if columns.iter().any(|(_, known)| known.id == station.id) => {
                refuse(heading.line, format!("{cell}: this station has a column already"))
            }
            Some(station) => columns.push((at, station)),
            None => refuse(heading.line, format!("{cell}: no station has this name or number; its column is passed over")),
        }
    }
    if columns.is_empty() {
        return Err(unreadable(
            "No column is a station: write stations' names or numbers along the first line, zones down the first column",
        ));
    }
    let rows: HashMap<String, usize> = demand.zones.iter().map(|zone| zone.name.trim().to_lowercase()).zip(0..).collect();
    let mut table = vec![vec![None; columns.len()]; demand.zones.len()];
    let mut filled = vec![false; demand.zones.len()];
    for record in records {
        let name = record.cells.first().map_or("", |cell| unguarded(cell.trim()));
        let Some(row) = rows.get(&name.to_lowercase()) else {
            refuse(record.line, format!("{name}: no zone has this name"));
            continue;
        };
        let (Some(row), Some(filled)) = (table.get_mut(*row), filled.get_mut(*row)) else {
            continue;
        };
        if std::mem::replace(filled, true) {
            refuse(record.line, format!("{name}: this zone has a line already"));
            continue;
        }
        for ((at, station), place) in columns.iter().zip(row) {
            let cell = record.cells.get(*at).map_or("", |cell| cell.trim());
            if cell.is_empty() {
                continue;
            }
            *place = minutes(cell, comma_parts);
            if place.is_none() {
                refuse(record.line, format!("{}: '{cell}' is no number of minutes", station.name));
            }
        }
    }
    let known = table.iter().flatten().flatten().count();
    let of = demand.zones.len() * stations.len();
    Ok(TimesRead {
        times: TravelTimes {
            source: "not said".into(),
            stations: columns.iter().map(|(_, station)| station.id).collect(),
            minutes: table,
        },
        words: format!("{known} of {of} times read; the others stay by the curve."),
        refused: refused.told,
    })
}
