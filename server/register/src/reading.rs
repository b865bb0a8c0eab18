//! How a register is to be read, what the agency has, and what comes of it.

use super::{
    catalogue::{KnownModel, ReadModel},
    cells::RowState,
    columns::{Chosen, ColumnRead},
    dates::DateOrder,
    sheet::{Delimiter, Encoding},
    whereabouts::{CreatePlaces, KnownPlaces, ReadPlace},
};
use chrono::NaiveDate;
use fullset_calc::{hookup::Couplings, plate::MadeOn, ratings::Kind, units::NumberStyle};
use serde::{Deserialize, Serialize};

/// How to read.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Which column holds what, where its name does not say so.
    pub columns: Chosen,
    /// Which order the dates have where their column does not show it; without it they are refused.
    pub date_order: Option<DateOrder>,
    /// How numbers are written, where a number does not show it; without it, what the file's other numbers prove.
    pub number_style: Option<NumberStyle>,
    /// Which new stations and rigs the file may bring in.
    pub create_places: CreatePlaces,
    /// Which sheet of a workbook is read; without it, the first that has a register's headings.
    pub sheet: Option<String>,
    /// The district of new stations for which the file names none.
    pub default_district: Option<String>,
    /// What is done with a tag that is easily taken for another one.
    pub look_alikes: LookAlikes,
}

/// What is done with a tag that is easily taken for another one, `HT-1O01` and `HT-1001`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[serde(rename_all = "snake_case")]
pub enum LookAlikes {
    /// Its row is refused until somebody has looked.
    #[default]
    Ask,
    /// Somebody has looked: they are pieces apart.
    Apart,
}

/// What the agency has.
#[derive(Debug, Clone, Default)]
pub struct KnownRegister {
    /// Its districts, stations, rigs and shops.
    pub places: KnownPlaces,
    /// Its models.
    pub models: Vec<KnownModel>,
    /// Its coupling families.
    pub couplings: Couplings,
    /// Its pieces, as if they were rows of a file, retired ones too.
    pub pieces: Vec<RegisterRow>,
    /// Which order it writes dates in.
    pub date_order: DateOrder,
}

/// Who lends a piece to the agency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadLender {
    /// Who.
    pub name: String,
    /// When it is due back with them.
    pub due_on: Option<NaiveDate>,
}

/// One piece of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisterRow {
    /// The line of the file that it starts on.
    pub line: usize,
    /// Its asset tag.
    pub tag: String,
    /// What it is.
    pub kind: Kind,
    /// The key of its model, under "models".
    pub model_key: String,
    /// The maker's serial number.
    pub serial: Option<String>,
    /// Where it is.
    pub place: ReadPlace,
    /// The name of the station that it belongs to.
    pub station: Option<String>,
    /// The name of that station's district.
    pub district: Option<String>,
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
    pub state_reason: Option<String>,
    /// Free note.
    pub note: Option<String>,
}

/// Why a row was refused.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Refusal {
    /// The line of the file.
    pub line: usize,
    /// Its asset tag, where it has one.
    pub tag: Option<String>,
    /// The heading of the column at fault, where it is one column.
    pub column: Option<String>,
    /// A code that never changes its meaning.
    pub code: &'static str,
    /// What is wrong.
    pub reason: String,
    /// What to write instead, where that is known.
    pub hint: Option<String>,
    /// What else is wrong with the row, each as a sentence.
    pub also: Vec<String>,
}

/// A row of a piece that the agency has as the row says it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unchanged {
    /// The line of the file.
    pub line: usize,
    /// The piece's tag, as the agency writes it.
    pub tag: String,
}

/// A line that is no piece.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PassedOver {
    /// The line of the file.
    pub line: usize,
    /// Why.
    pub why: String,
}

/// Something to know that stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Note {
    /// The line that it is about; nothing where it is about the file.
    pub line: Option<usize>,
    /// What to know.
    pub words: String,
}

/// A district of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadDistrict {
    /// The district's name.
    pub name: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A station of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadStation {
    /// The station's name.
    pub name: String,
    /// Its number.
    pub number: Option<String>,
    /// Its district's name.
    pub district: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A rig of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadRig {
    /// The rig's name.
    pub name: String,
    /// Its station's name.
    pub station: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A shop of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadShop {
    /// The shop's name.
    pub name: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A coupling family that the agency does not have yet.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadCoupling {
    /// Its name, as the file first writes it.
    pub name: String,
}

/// The places that the rows name, in the order in which they name them.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct ReadPlaces {
    /// Districts.
    pub districts: Vec<ReadDistrict>,
    /// Stations.
    pub stations: Vec<ReadStation>,
    /// Rigs.
    pub rigs: Vec<ReadRig>,
    /// Shops.
    pub shops: Vec<ReadShop>,
}

/// A file, read.
#[derive(Debug, Clone, PartialEq)]
pub struct Reading {
    /// How its bytes were read.
    pub encoding: Encoding,
    /// The sign between its cells.
    pub delimiter: Option<Delimiter>,
    /// Which sheet of a workbook it is.
    pub sheet: Option<String>,
    /// The workbook's other sheets that hold anything, by name.
    pub other_sheets: Vec<String>,
    /// The order of its dates, where any needed one.
    pub date_order: Option<DateOrder>,
    /// How its numbers were read, where any showed or needed a style.
    pub number_style: Option<NumberStyle>,
    /// How many dates may be meant in two ways, with nothing to decide it: their rows were refused.
    pub open_dates: usize,
    /// How many numbers may be meant in two ways, with nothing to decide it: their rows were refused.
    pub open_numbers: usize,
    /// Its columns, left to right.
    pub columns: Vec<ColumnRead>,
    /// Its pieces.
    pub rows: Vec<RegisterRow>,
    /// Their models.
    pub models: Vec<ReadModel>,
    /// Coupling families that they bring in.
    pub couplings: Vec<ReadCoupling>,
    /// Their places.
    pub places: ReadPlaces,
    /// Rows of pieces that the agency has already, without a difference.
    pub unchanged: Vec<Unchanged>,
    /// Rows that were refused.
    pub refused: Vec<Refusal>,
    /// Lines that are no pieces.
    pub passed_over: Vec<PassedOver>,
    /// What to know.
    pub notes: Vec<Note>,
}
