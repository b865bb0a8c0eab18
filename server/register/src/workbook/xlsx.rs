//! Workbooks of Office Open XML (ISO/IEC 29500).

use std::io::Cursor;

use calamine::{DataRef, ExcelDateTime, Reader as _, SheetType, SheetVisible, Xlsx};

use super::{Lines, MOST_HELD, MOST_LINES, MOST_SHEETS, Page, day, number, unreadable, yes_or_no};
use crate::cells::Fault;

pub fn sheets(bytes: &[u8]) -> Result<Vec<Page>, Fault> {
    let mut book: Xlsx<_> = Xlsx::new(Cursor::new(bytes)).map_err(unreadable)?;
    let shown = |sheet: &&calamine::Sheet| sheet.visible == SheetVisible::Visible && sheet.typ == SheetType::WorkSheet;
    let names: Vec<String> = book
        .sheets_metadata()
        .iter()
        .filter(shown)
        .take(MOST_SHEETS)
        .map(|sheet| sheet.name.clone())
        .collect();
    let mut left = MOST_HELD;
    names.into_iter().map(|name| page(&mut book, name, &mut left)).collect()
}

fn page(book: &mut Xlsx<Cursor<&[u8]>>, name: String, left: &mut usize) -> Result<Page, Fault> {
    let merged = book.merge_cells_by_sheet_name(&name).map_err(unreadable)?;
    let mut lines = Lines::new(*left);
    // One cell at a time: a sheet says itself how large it is, and a single cell in its last corner would be gigabytes of blanks.
    let mut cells = book.worksheet_cells_reader(&name).map_err(unreadable)?;
    while let Some(cell) = cells.next_cell().map_err(unreadable)? {
        let (line, column) = cell.get_position();
        lines.put(at(line), at(column), text(cell.get_value()))?;
    }
    for merged in merged {
        if merged.start.1 == merged.end.1 {
            lines.merged(at(merged.start.1), at(merged.start.0), at(merged.end.0).min(MOST_LINES))?;
        }
    }
    *left = lines.left;
    Ok(Page { name, records: lines.records })
}

fn at(place: u32) -> usize {
    usize::try_from(place).unwrap_or(usize::MAX)
}

fn text(value: &DataRef<'_>) -> String {
    match value {
        DataRef::Empty => String::new(),
        DataRef::Int(value) => value.to_string(),
        DataRef::Float(value) => number(*value),
        DataRef::String(text) => text.clone(),
        DataRef::SharedString(text) => (*text).to_owned(),
        DataRef::Bool(value) => yes_or_no(*value),
        DataRef::DateTime(instant) => instant_text(instant),
        DataRef::DateTimeIso(text) => text
            .split_once('T')
            .map_or_else(|| format!("{text} 00:00:00"), |(day, _)| format!("{day} 00:00:00")),
        DataRef::DurationIso(text) => text.clone(),
        DataRef::Error(error) => error.to_string(),
    }
}

/// A day; a time of day or a span of time without one is no date.
fn instant_text(instant: &ExcelDateTime) -> String {
    if instant.is_duration() || instant.as_f64() < 1.0 {
        return number(instant.as_f64());
    }
    let (year, month, date, ..) = instant.to_ymd_hms_milli();
    day(year, month, date)
}
