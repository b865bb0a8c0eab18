use chrono::{DateTime, Utc};
use fullset_calc::units::NumberStyle;
use fullset_register::{ColumnRead, DateOrder, Delimiter, Encoding, Reading, RowState};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::{
    person::Person,
    record::{Index, Record},
};

crate::id!(
    /// An import.
    ImportId
);

/// A row that was refused.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RefusedRow {
    /// The line of the file.
    pub line: usize,
    /// The piece's tag, where the row has one.
    pub tag: Option<String>,
    /// The heading of the column at fault, where it is one column.
    pub column: Option<String>,
    /// A code that never changes its meaning.
    pub code: String,
    /// What is wrong with the row, in words for people.
    pub reason: String,
    /// What to write instead.
    pub hint: Option<String>,
    /// What else is wrong with the row.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub also: Vec<String>,
}

/// A line that is no piece, or something to know that stops nothing.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Remark {
    /// The line of the file; absent where it is about the file.
    pub line: Option<usize>,
    /// Why the line is no piece, or what to know of it, in words for people.
    pub words: String,
}

/// How many of each the file brings in.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Creates {
    /// How many districts the agency did not have.
    pub districts: usize,
    /// How many stations the agency did not have.
    pub stations: usize,
    /// How many rigs the agency did not have.
    pub rigs: usize,
    /// How many shops the agency did not have.
    pub shops: usize,
    /// How many coupling families the agency did not have.
    #[serde(default)]
    #[schema(required)]
    pub couplings: usize,
    /// How many models the agency did not have.
    pub models: usize,
    /// How many pieces, as many as were accepted.
    pub pieces: usize,
}

/// How a file was read.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Report {
    /// How its bytes were read as text.
    pub encoding: Encoding,
    /// The sign between its cells.
    pub delimiter: Option<Delimiter>,
    /// Which sheet of a workbook was read.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sheet: Option<String>,
    /// The workbook's other sheets that hold anything.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub other_sheets: Vec<String>,
    /// The order of its dates, where any needed one.
    pub date_order: Option<DateOrder>,
    /// How its numbers were read, where any showed or needed a style.
    #[serde(default)]
    pub number_style: Option<NumberStyle>,
    /// How many dates may be meant in two ways, with nothing in their column to decide it: choose an order when it is not 0.
    #[serde(default)]
    #[schema(required)]
    pub open_dates: usize,
    /// How many numbers may be meant in two ways, with nothing to decide it: choose a style when it is not 0.
    #[serde(default)]
    #[schema(required)]
    pub open_numbers: usize,
    /// Its columns, left to right, each with what it was read as.
    pub columns: Vec<ColumnRead>,
    /// How many rows become pieces of the register.
    pub accepted: usize,
    /// Of those, out of service.
    pub out_of_service: usize,
    /// Rows of pieces that the agency has already, without a difference.
    #[serde(default)]
    #[schema(required)]
    pub unchanged: usize,
    /// Rows that are not read in, by line, each with its reason.
    pub refused: Vec<RefusedRow>,
    /// Lines that are no pieces.
    pub passed_over: Vec<Remark>,
    /// What to know that stops nothing: first about the file, then by line.
    pub notes: Vec<Remark>,
    /// What it brings in.
    pub creates: Creates,
}

impl From<&Reading> for Report {
    fn from(reading: &Reading) -> Self {
        let refused = reading.refused.iter().map(|row| RefusedRow {
            line: row.line,
            tag: row.tag.clone(),
            column: row.column.clone(),
            code: row.code.to_owned(),
            reason: row.reason.clone(),
            hint: row.hint.clone(),
            also: row.also.clone(),
        });
        let places = &reading.places;
        Self {
            encoding: reading.encoding,
            delimiter: reading.delimiter,
            sheet: reading.sheet.clone(),
            other_sheets: reading.other_sheets.clone(),
            date_order: reading.date_order,
            number_style: reading.number_style,
            open_dates: reading.open_dates,
            open_numbers: reading.open_numbers,
            columns: reading.columns.clone(),
            accepted: reading.rows.len(),
            out_of_service: reading.rows.iter().filter(|row| row.state == RowState::OutOfService).count(),
            unchanged: reading.unchanged.len(),
            refused: refused.collect(),
            passed_over: reading
                .passed_over
                .iter()
                .map(|line| Remark {
                    line: Some(line.line),
                    words: line.why.clone(),
                })
                .collect(),
            notes: reading
                .notes
                .iter()
                .map(|note| Remark {
                    line: note.line,
                    words: note.words.clone(),
                })
                .collect(),
            creates: Creates {
                districts: places.districts.iter().filter(|place| place.new).count(),
                stations: places.stations.iter().filter(|place| place.new).count(),
                rigs: places.rigs.iter().filter(|place| place.new).count(),
                shops: places.shops.iter().filter(|place| place.new).count(),
                couplings: reading.couplings.len(),
                models: reading.models.iter().filter(|model| model.new).count(),
                pieces: reading.rows.len(),
            },
        }
    }
}

/// A file that was read into the register.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Import {
    /// UUID that the import was made with; it never changes.
    pub id: ImportId,
    /// Name of the file that was sent, 1 to 200 characters.
    pub file_name: String,
    /// UTC instant at which the file was read in, by the server's clock.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    pub at: DateTime<Utc>,
    /// Who had the file read in.
    pub by: Person,
    /// How it was read.
    #[serde(flatten)]
    pub report: Report,
    /// The revision that brought its records in.
    pub made_rev: i64,
    /// When it was undone.
    #[serde(serialize_with = "fullset_calc::instant::option")]
    pub undone_at: Option<DateTime<Utc>>,
    /// By whom it was undone.
    pub undone_by: Option<Person>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Import {
    const KIND: &'static str = "import";

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        vec!["done", "undone"]
    }

    fn index(&self) -> Index {
        Index {
            label: self.at.format("%Y-%m-%dT%H:%M:%S%.6fZ").to_string(),
            uniq: None,
            mark: None,
            state: if self.undone_at.is_some() { "undone" } else { "done" }.into(),
            parent: None,
        }
    }
}
