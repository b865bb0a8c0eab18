//! Workbooks as spreadsheet programs save them, read into the records that a plain file gives.
//!
//! A cell of a workbook says what it is: a number is exact and shows no style, a date is a day. Only text is read as a plain file's.
//! Formulas count by the value that was saved with them, cells merged downwards hold their value in each line, and hidden sheets are
//! not read.

mod ods;
mod xlsx;

use std::io::{self, Cursor, Read as _};

use fullset_calc::units::EXACT;
use zip::ZipArchive;

use super::{
    cells::Fault,
    sheet::{Encoding, Record, Sheet},
};

/// The most that a workbook may hold unpacked, in bytes.
const MOST_UNPACKED: u64 = 64 * 1024 * 1024;
/// The most files that are packed in one.
const MOST_FILES: usize = 2_000;
/// The most sheets that are looked at.
const MOST_SHEETS: usize = 60;
/// The most lines of a sheet, counted to the last that holds anything.
const MOST_LINES: usize = 60_000;
/// The most columns of a sheet.
const MOST_COLUMNS: usize = 400;
/// The most that the cells of all sheets may hold in memory, in bytes: one text may stand in a million cells, and fill a file with none.
const MOST_HELD: usize = 96 * 1024 * 1024;
/// What a cell holds beside its text, in bytes.
const CELL: usize = size_of::<String>();
/// The most lines that merged cells cover in a sheet, all together.
const MOST_COVERED: usize = 1_000_000;

/// A sheet that was not read, though it may hold pieces too.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OtherSheet {
    /// Its name.
    pub name: String,
    /// Whether it has headings as a register has them.
    pub register: bool,
}

/// What kind of workbook the bytes are.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Book {
    Xlsx,
    Ods,
    /// Packed, and neither.
    Other,
    /// The binary form of older programs, or a workbook under a password.
    Old,
}

impl Book {
    /// By the first bytes, whatever the file is called. `None`: this is no workbook.
    #[must_use]
    pub fn of(bytes: &[u8]) -> Option<Self> {
        if bytes.starts_with(&[0xD0, 0xCF, 0x11, 0xE0]) {
            return Some(Self::Old);
        }
        if !bytes.starts_with(b"PK\x03\x04") {
            return None;
        }
        let archive = ZipArchive::new(Cursor::new(bytes)).ok();
        let has = |name: &str| archive.as_ref().is_some_and(|archive| archive.index_for_name(name).is_some());
        Some(if has("[Content_Types].xml") {
            Self::Xlsx
        } else if has("content.xml") {
            Self::Ods
        } else {
            Self::Other
        })
    }

    /// Reads the sheet that is named, or the first that `is_register` by its records; without one, the first that holds anything.
    ///
    /// # Errors
    /// `old-workbook`, `no-workbook`, `workbook-too-large`, `workbook-unreadable`, `no-such-sheet`, `empty-file`.
    pub fn read(self, bytes: &[u8], wanted: Option<&str>, is_register: impl Fn(&[Record]) -> bool) -> Result<Sheet, Fault> {
        let encoding = match self {
            Self::Xlsx => Encoding::Xlsx,
            Self::Ods => Encoding::Ods,
            Self::Old => {
                return Err(fault(
                    "old-workbook",
                    "this is a workbook of an older form, or one under a password",
                    "save it as .xlsx without a password, or as CSV",
                ));
            }
            Self::Other => {
                return Err(fault(
                    "no-workbook",
                    "this packed file is no workbook",
                    "save the register as .xlsx, .ods or CSV",
                ));
            }
        };
        hold_size(bytes)?;
        let sheets = if self == Self::Xlsx { xlsx::sheets(bytes) } else { ods::sheets(bytes) }?;
        choose(sheets, encoding, wanted, is_register)
    }
}

/// A sheet with its records.
struct Page {
    name: String,
    records: Vec<Record>,
}

fn choose(pages: Vec<Page>, encoding: Encoding, wanted: Option<&str>, is_register: impl Fn(&[Record]) -> bool) -> Result<Sheet, Fault> {
    let registers: Vec<bool> = pages.iter().map(|page| is_register(&page.records)).collect();
    let at = match wanted {
        Some(name) => pages.iter().position(|page| page.name == name).ok_or_else(|| {
            let names = pages.iter().map(|page| format!("\"{}\"", page.name)).collect::<Vec<_>>().join(", ");
            fault(
                "no-such-sheet",
                &format!("the workbook has no sheet \"{name}\" that is not hidden"),
                &format!("choose one of: {names}"),
            )
        })?,
        None => registers
            .iter()
            .position(|register| *register)
            .or_else(|| pages.iter().position(|page| !page.records.is_empty()))
            .ok_or_else(|| fault("empty-file", "the workbook holds nothing", "export the register again"))?,
    };
    let (mut read, mut others) = (None, Vec::new());
    for (n, (page, register)) in pages.into_iter().zip(registers).enumerate() {
        if n == at {
            read = Some(page);
        } else if !page.records.is_empty() {
            others.push(OtherSheet { name: page.name, register });
        }
    }
    let Page { name, records } = read.ok_or_else(|| fault("empty-file", "the workbook holds nothing", "export the register again"))?;
    Ok(Sheet {
        encoding,
        delimiter: None,
        declared: false,
        records,
        stray_quotes: Vec::new(),
        name: Some(name),
        others,
    })
}

/// Unpacks everything once and throws it away: what an archive says of its sizes need not be true.
fn hold_size(bytes: &[u8]) -> Result<(), Fault> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(unreadable)?;
    if archive.len() > MOST_FILES {
        return Err(too_large());
    }
    let mut left = MOST_UNPACKED;
    for at in 0..archive.len() {
        let entry = archive.by_index(at).map_err(unreadable)?;
        let unpacked = io::copy(&mut entry.take(left + 1), &mut io::sink()).map_err(unreadable)?;
        left = left.checked_sub(unpacked).ok_or_else(too_large)?;
    }
    Ok(())
}

/// The records of a sheet, built from its cells.
struct Lines {
    records: Vec<Record>,
    /// How many bytes the cells of this sheet and of those after it may still hold.
    left: usize,
    /// How many lines merged cells may still cover.
    covers: usize,
}

impl Lines {
    const fn new(left: usize) -> Self {
        Self {
            records: Vec::new(),
            left,
            covers: MOST_COVERED,
        }
    }

    /// Takes the room of cells with their texts.
    fn hold(&mut self, cells: usize, text: usize) -> Result<(), Fault> {
        let bytes = cells.saturating_mul(CELL).saturating_add(text);
        self.left = self.left.checked_sub(bytes).ok_or_else(too_large)?;
        Ok(())
    }

    /// Puts a text in a cell, lines and columns counted from 0. Cells come line by line and from left to right.
    fn put(&mut self, line: usize, column: usize, text: String) -> Result<(), Fault> {
        if text.is_empty() {
            return Ok(());
        }
        if line >= MOST_LINES || column >= MOST_COLUMNS {
            return Err(too_large());
        }
        if self.records.last().is_none_or(|record| record.line != line + 1) {
            self.records.push(Record {
                line: line + 1,
                cells: Vec::new(),
            });
        }
        let there = self.records.last().map_or(0, |record| record.cells.len());
        self.hold((column + 1).saturating_sub(there), text.len())?;
        if let Some(record) = self.records.last_mut() {
            record.cells.resize(column, String::new());
            record.cells.push(text);
        }
        Ok(())
    }

    /// What stands in a cell.
    fn text(&self, line: usize, column: usize) -> Option<&str> {
        let at = self.records.binary_search_by_key(&(line + 1), |record| record.line).ok()?;
        self.records.get(at)?.cells.get(column).map(String::as_str)
    }

    /// Gives a cell that was merged downwards to the lines that it covers and that hold something.
    fn merged(&mut self, column: usize, from: usize, to: usize) -> Result<(), Fault> {
        let Some(text) = self.text(from, column).filter(|text| !text.is_empty()).map(str::to_owned) else {
            return Ok(());
        };
        let first = self.records.partition_point(|record| record.line <= from + 1);
        let end = self.records.partition_point(|record| record.line <= to + 1);
        let lines = end.saturating_sub(first);
        self.covers = self.covers.checked_sub(lines).ok_or_else(too_large)?;
        self.hold(lines.saturating_mul(column + 1), lines.saturating_mul(text.len()))?;
        for record in self.records.get_mut(first..end).unwrap_or_default() {
            if record.cells.len() <= column {
                record.cells.resize(column + 1, String::new());
            }
            if let Some(cell) = record.cells.get_mut(column).filter(|cell| cell.is_empty()) {
                cell.clone_from(&text);
            }
        }
        Ok(())
    }
}

/// A number with the sign that shows no style, to the 15 digits that spreadsheets keep; beyond these it says that it was shortened.
fn number(value: f64) -> String {
    const KEPT: f64 = 1e15;
    if !value.is_finite() {
        return String::new();
    }
    if value.abs() >= KEPT {
        return format!("{value:E}").replace('E', "E+");
    }
    let kept: f64 = format!("{value:.14e}").parse().unwrap_or(value);
    format!("{kept}").replace('.', EXACT.encode_utf8(&mut [0; 4]))
}

/// A day, as one that was never text: no name or number is read from it.
fn day(year: impl Into<i64>, month: impl Into<i64>, day: impl Into<i64>) -> String {
    format!("{:04}-{:02}-{:02} 00:00:00", year.into(), month.into(), day.into())
}

fn yes_or_no(value: bool) -> String {
    if value { "yes" } else { "no" }.to_owned()
}

fn fault(code: &'static str, reason: &str, hint: &str) -> Fault {
    Fault::new(code, reason.to_owned(), Some(hint.to_owned()))
}

fn too_large() -> Fault {
    fault(
        "workbook-too-large",
        &format!("the workbook holds more than is read at once: {MOST_LINES} lines, {MOST_COLUMNS} columns, 64 MB unpacked"),
        "take out the pictures and the sheets that hold no pieces, or save the sheet as CSV",
    )
}

fn unreadable(why: impl std::fmt::Display) -> Fault {
    let hint = "open it in the spreadsheet, save it once more, or save the sheet as CSV";
    fault("workbook-unreadable", &format!("the workbook cannot be read: {why}"), hint)
}

#[cfg(test)]
#[path = "../workbook_tests.rs"]
mod tests;
