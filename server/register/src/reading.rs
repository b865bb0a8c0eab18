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
    /// The models that the agency has, against which the rows' models are matched.
    pub models: Vec<KnownModel>,
    /// The coupling families that the agency has, with every name for each.
    pub couplings: Couplings,
    /// Its pieces, as if they were rows of a file, retired ones too.
    pub pieces: Vec<RegisterRow>,
    /// Which order it writes dates in.
    pub date_order: DateOrder,
}

/// Who lends a piece to the agency.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadLender {
    /// Name of the lender, as the row writes it.
    pub name: String,
    /// When it is due back with them.
    pub due_on: Option<NaiveDate>,
}

/// One piece of the file.
#[derive(Debug, Clone, PartialEq)]
pub struct RegisterRow {
    /// The line of the file that it starts on.
    pub line: usize,
    /// The asset tag by which the piece is known.
    pub tag: String,
    /// The kind of piece, which its model is of too.
    pub kind: Kind,
    /// The key of its model, under "models".
    pub model_key: String,
    /// The maker's serial number.
    pub serial: Option<String>,
    /// Where the piece is now, by the names of places.
    pub place: ReadPlace,
    /// The name of the station that it belongs to.
    pub station: Option<String>,
    /// The name of that station's district.
    pub district: Option<String>,
    /// Day or month of make; none where the row does not say.
    pub made_on: Option<MadeOn>,
    /// First day on which it was in service; none where the row does not say.
    pub in_service_since: Option<NaiveDate>,
    /// Day of the last annual service; none where the row does not say.
    pub last_service_on: Option<NaiveDate>,
    /// Who lends it, where it is not the agency's own.
    pub lent_by: Option<ReadLender>,
    /// Whether it may be used.
    pub state: RowState,
    /// Why it is out of service.
    pub state_reason: Option<String>,
    /// What else the row says of the piece, in free words; none: nothing.
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
    /// What is wrong with the row, in words for people.
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
    /// Why the line holds no piece: `blank`, for example, or `a subtotal`.
    pub why: String,
}

/// Something to know that stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Note {
    /// The line that it is about; nothing where it is about the file.
    pub line: Option<usize>,
    /// What was left out, read otherwise or looks odd, in words for people.
    pub words: String,
}

/// A district of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadDistrict {
    /// Name of the district, as the agency or the file writes it.
    pub name: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A station of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadStation {
    /// Name of the station, as the agency or the file writes it.
    pub name: String,
    /// Number that the station goes by; none where it has none.
    pub number: Option<String>,
    /// Name of the district that the station is in.
    pub district: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A rig of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadRig {
    /// Name of the rig, as the agency or the file writes it.
    pub name: String,
    /// Name of the station that the rig belongs to.
    pub station: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A shop of the rows.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ReadShop {
    /// Name of the shop, as the agency or the file writes it.
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
    /// The districts that the rows name, each once; those that the agency has among them.
    pub districts: Vec<ReadDistrict>,
    /// The stations that the rows name, each once.
    pub stations: Vec<ReadStation>,
    /// The rigs that the rows name, each once.
    pub rigs: Vec<ReadRig>,
    /// The shops that the rows name, each once.
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
    /// The pieces to bring in, one for each row that was accepted.
    pub rows: Vec<RegisterRow>,
    /// The models of those pieces, those that the agency has among them.
    pub models: Vec<ReadModel>,
    /// Coupling families that they bring in.
    pub couplings: Vec<ReadCoupling>,
    /// The places that the pieces name, known and new ones.
    pub places: ReadPlaces,
    /// Rows of pieces that the agency has already, without a difference.
    pub unchanged: Vec<Unchanged>,
    /// Rows that were refused.
    pub refused: Vec<Refusal>,
    /// Lines that are no pieces.
    pub passed_over: Vec<PassedOver>,
    /// What to know that stops nothing: first about the file, then by line.
    pub notes: Vec<Note>,
}
