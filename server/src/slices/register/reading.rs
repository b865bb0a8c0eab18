//! A register as the agency keeps it, read into rows, models and places, and into what was refused and why.
//!
//! Nothing is changed here and nothing is looked up: what the agency has, and the day, are arguments. A row is
//! refused alone; only a file without a tag or a kind column is refused whole. What is no row at all (titles, blank
//! lines, repeated headings, subtotals) is passed over with a reason.

use super::{
    catalogue::{KnownModel, ReadModel},
    cells::{self, Fault, RowState},
    columns::{Chosen, ColumnRead, Columns, Field, Headings},
    dates::{DateOrder, Dates},
    figures,
    gathering::Gathered,
    sheet::{Delimiter, Encoding, Sheet},
    sifting::{Habits, Work},
    whereabouts::{CreatePlaces, KnownPlaces, ReadPlace},
};
use chrono::NaiveDate;
use fullset_calc::{
    hookup::Couplings,
    ratings::Kind,
    units::{NumberStyle, StyleVotes},
};
use serde::Serialize;
use utoipa::ToSchema;

/// How to read.
#[derive(Debug, Clone, Default)]
pub struct Options {
    /// Which column holds what, where its name does not say so.
    pub columns: Chosen,
    /// Which order the dates have where the file does not show it.
    pub default_order: DateOrder,
    /// How numbers are written, where a number does not show it; without it, what the file's other numbers prove.
    pub number_style: Option<NumberStyle>,
    /// Which new stations and rigs the file may bring in.
    pub create_places: CreatePlaces,
    /// The district of new stations for which the file names none.
    pub default_district: Option<String>,
}

/// What the agency has.
#[derive(Debug, Clone, Default)]
pub struct Known {
    /// Its districts, stations, rigs and shops.
    pub places: KnownPlaces,
    /// Its models.
    pub models: Vec<KnownModel>,
    /// Its coupling families.
    pub couplings: Couplings,
    /// Every asset tag that it has or had.
    pub tags: Vec<String>,
    /// The serial numbers of its live pieces.
    pub serials: Vec<KnownSerial>,
}

/// The serial number of a piece that the agency has.
#[derive(Debug, Clone)]
pub struct KnownSerial {
    /// The piece's tag.
    pub tag: String,
    /// The key of its model.
    pub model_key: String,
    /// The number, as written.
    pub serial: String,
}

/// One piece of the file.
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
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
    pub made_on: Option<NaiveDate>,
    /// In service since.
    pub in_service_since: Option<NaiveDate>,
    /// Last annual service.
    pub last_service_on: Option<NaiveDate>,
    /// Whether it may be used.
    pub state: RowState,
    /// Free note.
    pub note: Option<String>,
}

/// Why a row was refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct Refusal {
    /// The line of the file.
    pub line: usize,
    /// Its asset tag, where it has one.
    pub tag: Option<String>,
    /// The heading of the column at fault, where it is one column.
    pub column: Option<String>,
    /// A code that never changes its meaning.
    #[schema(value_type = String)]
    pub code: &'static str,
    /// What is wrong.
    pub reason: String,
    /// What to write instead, where that is known.
    pub hint: Option<String>,
    /// What else is wrong with the row, each as a sentence.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
}

/// A line that is no piece.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct PassedOver {
    /// The line of the file.
    pub line: usize,
    /// Why.
    pub why: String,
}

/// Something to know that stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Serialize, ToSchema)]
pub struct Note {
    /// The line that it is about; nothing where it is about the file.
    pub line: Option<usize>,
    /// What to know.
    pub words: String,
}

/// A district of the rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ReadDistrict {
    /// Its name.
    pub name: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A station of the rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ReadStation {
    /// Its name.
    pub name: String,
    /// Its number.
    pub number: Option<String>,
    /// Its district's name.
    pub district: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A rig of the rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ReadRig {
    /// Its name.
    pub name: String,
    /// Its station's name.
    pub station: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A shop of the rows.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ReadShop {
    /// Its name.
    pub name: String,
    /// Whether the agency does not have it yet.
    pub new: bool,
}

/// A coupling family that the agency does not have yet.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, ToSchema)]
pub struct ReadCoupling {
    /// Its name, as the file first writes it.
    pub name: String,
}

/// The places that the rows name, in the order in which they name them.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize, ToSchema)]
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
#[derive(Debug, Clone, PartialEq, Serialize, ToSchema)]
pub struct Reading {
    /// How its bytes were read.
    pub encoding: Encoding,
    /// The sign between its cells.
    pub delimiter: Delimiter,
    /// The order of its dates, where any needed one.
    pub date_order: Option<DateOrder>,
    /// How its numbers were read, where any showed or needed a style.
    pub number_style: Option<NumberStyle>,
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
    /// Rows that were refused.
    pub refused: Vec<Refusal>,
    /// Lines that are no pieces.
    pub passed_over: Vec<PassedOver>,
    /// What to know.
    pub notes: Vec<Note>,
}

/// Reads a register.
///
/// # Errors
/// `empty-file`, `no-heading`, and the faults of [`Columns::read`] and [`Headings::new`]: the file is refused whole.
pub fn read(bytes: &[u8], options: &Options, known: &Known, today: NaiveDate) -> Result<Reading, Fault> {
    let headings = Headings::new(&options.columns)?;
    let sheet = Sheet::read(bytes, |cell| headings.knows(cell));
    let Some(first) = sheet.records.iter().find(|record| !record.is_blank()) else {
        return Err(Fault::new(
            "empty-file",
            "the file holds nothing".into(),
            Some("export the register again".into()),
        ));
    };
    let Some(at) = headings.find(&sheet.records) else {
        let seen = first
            .cells
            .iter()
            .take(30)
            .map(|cell| format!("\"{}\"", cells::line(cell)))
            .collect::<Vec<_>>()
            .join(", ");
        let hint = "head the columns, for example Asset tag, Kind, Model, Serial, Assigned to, Station, District";
        return Err(Fault::new(
            "no-heading",
            format!("no line was found that heads the columns; line {} reads {seen}", first.line),
            Some(hint.into()),
        ));
    };
    let (before, rest) = sheet.records.split_at_checked(at).unwrap_or_default();
    let Some((header, rest)) = rest.split_first() else {
        return Err(Fault::new("empty-file", "the file holds nothing".into(), None));
    };
    let columns = Columns::read(header, &headings)?;
    let mut work = Work::new(&columns);
    if sheet.declared {
        work.pass(1, "names the delimiter");
    }
    for record in before {
        work.pass(record.line, if record.is_blank() { "blank" } else { "stands before the headings" });
    }
    let mut data = Vec::new();
    for record in rest {
        match work.no_piece(record, header) {
            Some(why) => work.pass(record.line, why),
            None => data.push(record),
        }
    }
    let date_fields = [Field::MadeOn, Field::InServiceSince, Field::LastServiceOn];
    let date_cells = data.iter().flat_map(|record| date_fields.iter().map(|field| columns.cell(record, *field)));
    let (dates, date_order, mut file_notes) = Dates::find(date_cells, options.default_order, today);
    let mut votes = StyleVotes::default();
    data.iter().for_each(|record| figures::count_styles(&columns, record, &mut votes));
    let style = options.number_style.or(votes.proven());
    file_notes.extend(style_note(votes, options.number_style));
    work.file_notes(&sheet, file_notes);
    let habits = Habits { dates, style, today };
    let Gathered {
        rows,
        models,
        couplings,
        places,
        refused,
        passed_over,
        notes,
    } = work.rows(&data, header.cells.len(), &habits, options, known);
    Ok(Reading {
        encoding: sheet.encoding,
        delimiter: sheet.delimiter,
        date_order,
        number_style: style.filter(|_| votes != StyleVotes::default()),
        open_numbers: if style.is_none() { votes.open } else { 0 },
        columns: columns.list,
        rows,
        models,
        couplings,
        places,
        refused,
        passed_over,
        notes,
    })
}

/// What is to be said of how the numbers are written.
fn style_note(votes: StyleVotes, chosen: Option<NumberStyle>) -> Option<String> {
    let (point, comma) = (NumberStyle::Point.example(), NumberStyle::Comma.example());
    let StyleVotes {
        point: points,
        comma: commas,
        open,
    } = votes;
    match chosen {
        None if votes.contradicts() && open > 0 => Some(format!(
            "the numbers contradict each other ({points} can only be meant as in {point}, {commas} only as in {comma}); the rows of the {open} that may be meant in both ways were refused: choose the number style"
        )),
        None if votes.proven().is_none() && open > 0 => Some(format!(
            "{open} numbers may be meant as in {point} or as in {comma}, and nothing in the file shows which; their rows were refused: choose the number style"
        )),
        Some(NumberStyle::Point) if commas > 0 => Some(odd(commas, comma, point)),
        Some(NumberStyle::Comma) if points > 0 => Some(odd(points, point, comma)),
        _ => None,
    }
}

fn odd(count: usize, other: &str, chosen: &str) -> String {
    format!("{count} numbers can only be meant as in {other} and were read so, though the style chosen is that of {chosen}")
}
