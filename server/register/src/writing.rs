//! The register as a file that reads back without difference.
//!
//! The columns are those that [`RegisterFile`](super::file::RegisterFile) knows; the usual ones always stand there, others only
//! where a row needs them. A figure keeps the unit it was typed in, and its standard behind it in brackets. A place
//! whose bare name would be read as something else gets a label: `Rig: Big Bertha`. Text that a spreadsheet would
//! take for a formula gets an apostrophe, which reading takes back.

use super::{
    catalogue::ReadModel,
    cells::{RowState, guarded},
    columns::Field,
    figures::escaped,
    places::{CreatePlaces, KnownPlaces, PlaceCells, Places, ReadPlace},
    reading::{ReadLender, Reading, RegisterRow},
    spots::station_number,
};
use chrono::NaiveDate;
use fullset_calc::{
    hookup::Hookup,
    plate::MadeOn,
    ratings::{Figure, Kind, Rating, Ratings, Term},
    units::Quantity,
};
use std::collections::BTreeMap;

/// One piece as it is written.
#[derive(Debug, Clone)]
pub struct ExportRow<'a> {
    /// Its asset tag.
    pub tag: &'a str,
    /// What it is.
    pub kind: Kind,
    /// Its model's name.
    pub model: &'a str,
    /// What its model connects to.
    pub hookup: &'a Hookup,
    /// What its model is rated for.
    pub ratings: &'a Ratings,
    /// The maker's serial number.
    pub serial: Option<&'a str>,
    /// Where it is, by names.
    pub place: &'a ReadPlace,
    /// The name of the station that it belongs to.
    pub station: Option<&'a str>,
    /// The name of that station's district.
    pub district: Option<&'a str>,
    /// Date of make.
    pub made_on: Option<MadeOn>,
    /// In service since.
    pub in_service_since: Option<NaiveDate>,
    /// Last annual service.
    pub last_service_on: Option<NaiveDate>,
    /// Who lends it, where it is not the agency's own.
    pub lent_by: Option<ReadLender>,
    /// Whether it may be used.
    pub state: RowState,
    /// Why it is out of service.
    pub state_reason: Option<&'a str>,
    /// Free note.
    pub note: Option<&'a str>,
}

impl Reading {
    /// Its rows as they are written.
    #[must_use]
    pub fn to_write(&self) -> Vec<ExportRow<'_>> {
        let models: BTreeMap<&str, &ReadModel> = self.models.iter().map(|model| (model.key.as_str(), model)).collect();
        let rows = self.rows.iter();
        rows.filter_map(|row| models.get(row.model_key.as_str()).map(|model| ExportRow::of(row, model)))
            .collect()
    }
}

impl<'a> ExportRow<'a> {
    fn of(row: &'a RegisterRow, model: &'a ReadModel) -> Self {
        Self {
            tag: &row.tag,
            kind: row.kind,
            model: &model.name,
            hookup: &model.hookup,
            ratings: &model.ratings,
            serial: row.serial.as_deref(),
            place: &row.place,
            station: row.station.as_deref(),
            district: row.district.as_deref(),
            made_on: row.made_on,
            in_service_since: row.in_service_since,
            last_service_on: row.last_service_on,
            lent_by: row.lent_by.clone(),
            state: row.state,
            state_reason: row.state_reason.as_deref(),
            note: row.note.as_deref(),
        }
    }
}

/// The columns that always stand there.
const USUAL: &[Field] = &[
    Field::Tag,
    Field::Kind,
    Field::Model,
    Field::Serial,
    Field::Place,
    Field::Station,
    Field::District,
    Field::InServiceSince,
    Field::LastServiceOn,
    Field::State,
    Field::Length,
    Field::Opening,
    Field::Rated(Term::RetractedLength),
    Field::Rated(Term::ExtendedLength),
    Field::Force,
    Field::Rated(Term::CuttingLevels),
    Field::Pressure,
    Field::Fluid,
    Field::Coupling,
    Field::Circuits,
    Field::Battery,
];

type Cells = BTreeMap<Field, String>;

/// The file: UTF-8 with a byte order mark, without which spreadsheets read it as something else, commas, CRLF.
#[must_use]
pub fn write(rows: &[ExportRow]) -> String {
    let spots = place_cells(rows);
    let lines: Vec<Cells> = rows.iter().zip(&spots).map(|(row, spot)| cells(row, spot)).collect();
    let mut columns = USUAL.to_vec();
    let mut more: Vec<Field> = lines.iter().flat_map(BTreeMap::keys).copied().filter(|field| !USUAL.contains(field)).collect();
    more.sort_unstable();
    more.dedup();
    columns.extend(more);
    let mut out = String::from("\u{feff}");
    line(&mut out, columns.iter().map(|field| field.export_name()));
    for cells in &lines {
        line(&mut out, columns.iter().map(|field| cells.get(field).cloned().unwrap_or_default()));
    }
    out
}

fn line(out: &mut String, cells: impl Iterator<Item = String>) {
    for (i, cell) in cells.enumerate() {
        if i > 0 {
            out.push(',');
        }
        let cell = guarded(&cell);
        // Every delimiter that a spreadsheet may split at, not the comma only.
        if cell.contains([',', ';', '\t', '|', '"', '\n', '\r']) || cell.trim() != cell {
            out.push('"');
            out.push_str(&cell.replace('"', "\"\""));
            out.push('"');
        } else {
            out.push_str(&cell);
        }
    }
    out.push_str("\r\n");
}

fn cells(row: &ExportRow, spot: &PlaceCells) -> Cells {
    let mut cells = figures(row.kind, row.hookup, row.ratings);
    let mut put = |field, text: Option<String>| drop(text.filter(|text| !text.is_empty()).map(|text| cells.insert(field, text)));
    let day = |day: Option<NaiveDate>| day.map(|day| day.to_string());
    put(Field::Tag, Some(row.tag.to_owned()));
    put(Field::Kind, Some(row.kind.word().to_owned()));
    put(Field::Model, Some(row.model.to_owned()));
    put(Field::Serial, row.serial.map(str::to_owned));
    put(Field::Place, Some(spot.place.clone()));
    put(Field::Station, Some(spot.station.clone()));
    put(Field::District, Some(spot.district.clone()));
    put(Field::MadeOn, row.made_on.map(|made| made.to_string()));
    put(Field::InServiceSince, day(row.in_service_since));
    put(Field::LastServiceOn, day(row.last_service_on));
    put(
        Field::LentBy,
        row.lent_by.as_ref().map(|lender| format!("{}{}", lender.name, due(lender.due_on))),
    );
    put(Field::State, Some(row.state.word().to_owned()));
    put(Field::StateReason, row.state_reason.map(str::to_owned));
    put(Field::Note, row.note.map(str::to_owned));
    cells
}

/// The places of all rows, bare where the bare name is read as the same place, else with a label.
fn place_cells(rows: &[ExportRow]) -> Vec<PlaceCells> {
    let bare = |row: &ExportRow| PlaceCells {
        place: place_words(row.place, false),
        station: row.station.map(station_words).unwrap_or_default(),
        district: row.district.map(district_words).unwrap_or_default(),
    };
    let mut spots: Vec<PlaceCells> = rows.iter().map(bare).collect();
    let none = KnownPlaces::default();
    let places = Places::gather(spots.iter(), &none, CreatePlaces::ByEvidence, "District", None);
    let same = |row: &ExportRow, spot: &PlaceCells| places.place(spot).is_ok_and(|placed| placed.place == *row.place);
    let plain: Vec<bool> = rows.iter().zip(&spots).map(|(row, spot)| same(row, spot)).collect();
    for ((row, spot), _) in rows.iter().zip(&mut spots).zip(plain).filter(|(_, plain)| !plain) {
        spot.place = place_words(row.place, true);
    }
    spots
}

/// Behind a name: ` (due 2026-12-01)`.
fn due(day: Option<NaiveDate>) -> String {
    day.map(|day| format!(" (due {day})")).unwrap_or_default()
}

fn place_words(place: &ReadPlace, labelled: bool) -> String {
    match place {
        ReadPlace::Rig { rig } if labelled => format!("Rig: {rig}"),
        ReadPlace::Rig { rig } => rig.clone(),
        ReadPlace::Shelf { station } if labelled => format!("Shelf: {station}"),
        ReadPlace::Shelf { station } => format!("{station} reserve"),
        ReadPlace::Shop { shop } if labelled => format!("Shop: {shop}"),
        ReadPlace::Shop { shop } => shop.clone(),
        ReadPlace::Vendor { name, due_on } => format!("Vendor: {name}{}", due(*due_on)),
        ReadPlace::Loan { name, due_on } => format!("On loan: {name}{}", due(*due_on)),
        ReadPlace::Transit { to } => format!("In transit to {}", place_words(to, labelled)),
        ReadPlace::Retired => "retired".to_owned(),
    }
}

fn station_words(name: &str) -> String {
    station_number(name)
        .filter(|number| name == format!("Station {number}"))
        .unwrap_or_else(|| name.to_owned())
}

fn district_words(name: &str) -> String {
    let number = name
        .strip_prefix("District ")
        .filter(|number| !number.starts_with('0') && number.chars().all(|c| c.is_ascii_digit()));
    number.unwrap_or(name).to_owned()
}

/// Hook-up and ratings, in the columns where reading finds them again.
fn figures(kind: Kind, hookup: &Hookup, ratings: &Ratings) -> Cells {
    let mut cells = Cells::new();
    let mut left: BTreeMap<Term, &Rating> = ratings.iter().collect();
    let mut shared = |field, terms: &[Term], words: &dyn Fn(&[&Rating]) -> Option<String>| {
        let there: Vec<&Rating> = terms.iter().map_while(|term| left.get(term).copied()).collect();
        let Some(first) = there.first() else { return };
        let one_standard = there.iter().all(|rating| rating.standard == first.standard && rating.edition == first.edition);
        if let Some(text) = words(&there).filter(|_| one_standard) {
            let count = there.len();
            left.retain(|term, _| !terms.iter().take(count).any(|shared| shared == term));
            cells.insert(field, text + &standard(first));
        }
    };
    let one = |there: &[&Rating]| there.first().and_then(|rating| rating.quantity()).map(words);
    match kind {
        Kind::Hose => shared(Field::Length, &[Term::HoseLength], &one),
        Kind::Cutter => shared(Field::Opening, &[Term::CutterOpening], &one),
        Kind::Spreader | Kind::CombinationTool => {
            shared(Field::Opening, &[Term::SpreadingDistance], &one);
            shared(Field::Force, &[Term::LowestSpreadingForce, Term::HighestSpreadingForce], &span);
            shared(Field::Pull, &[Term::LowestPullingForce, Term::HighestPullingForce], &span);
        }
        Kind::Ram => {
            shared(Field::Force, &[Term::PushForce, Term::PushForce2, Term::PushForce3], &stages);
            shared(Field::Pull, &[Term::PullForce], &one);
        }
        _ => {}
    }
    for (term, rating) in left {
        let text = match rating.figure {
            Figure::Quantity(q) => words(q),
            Figure::Levels(levels) => levels.to_string(),
            Figure::Letter(letter) => letter.to_string(),
        };
        cells.insert(Field::Rated(term), text + &standard(rating));
    }
    let mut put = |field, text: Option<String>| drop(text.map(|text| cells.insert(field, text)));
    put(Field::Pressure, hookup.pressure.map(words));
    put(Field::Fluid, hookup.fluid.map(|fluid| fluid.name().to_owned()));
    put(Field::Coupling, hookup.coupling.clone());
    put(Field::ToolCoupling, hookup.tool_coupling.clone());
    put(Field::Circuits, hookup.circuits.map(|count| count.to_string()));
    put(Field::Battery, hookup.battery.clone());
    cells
}

/// A number as it was typed. Where three decimals could be taken for thousands a fourth is written, so that the number
/// reads the same in every file.
fn number(value: f64) -> String {
    let text = value.to_string();
    match text.split_once('.') {
        Some((whole, part)) if part.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0') => format!("{text}0"),
        _ => text,
    }
}

/// A number with its unit.
fn words(q: Quantity) -> String {
    format!("{} {}", number(q.value), q.unit.symbol())
}

fn span(there: &[&Rating]) -> Option<String> {
    let [low, high] = there else { return None };
    let (low, high) = (low.quantity()?, high.quantity()?);
    Some(if low.unit == high.unit {
        format!("{}-{}", number(low.value), words(high))
    } else {
        format!("{}-{}", words(low), words(high))
    })
}

fn stages(there: &[&Rating]) -> Option<String> {
    let forces: Vec<Quantity> = there.iter().filter_map(|rating| rating.quantity()).collect();
    let unit = forces.first()?.unit;
    let own = forces.iter().any(|q| q.unit != unit);
    let texts: Vec<String> = forces.iter().map(|q| if own { words(*q) } else { number(q.value) }).collect();
    let joined = texts.join(" / ");
    (forces.len() == there.len()).then(|| if own { joined } else { format!("{joined} {}", unit.symbol()) })
}

/// ` [NFPA 1936; 2015]`, or nothing.
fn standard(rating: &Rating) -> String {
    let plain = |text: &Option<String>| escaped(text.as_deref().unwrap_or_default());
    match (plain(&rating.standard), plain(&rating.edition)) {
        (name, edition) if name.is_empty() && edition.is_empty() => String::new(),
        (name, edition) if edition.is_empty() => format!(" [{name}]"),
        (name, edition) => format!(" [{name}; {edition}]"),
    }
}

#[cfg(test)]
#[path = "writing_tests.rs"]
pub(super) mod tests;
