//! Workbooks of OpenDocument (ISO/IEC 26300), read cell by cell: repeated lines and columns may stand for a million blanks, and those
//! are counted, not made.

use std::{
    collections::HashSet,
    io::{BufReader, Cursor},
};

use quick_xml::{
    Reader, XmlVersion,
    events::{BytesStart, Event},
};
use zip::ZipArchive;

use super::{Lines, MOST_COLUMNS, MOST_HELD, MOST_LINES, MOST_SHEETS, Page, day, fault, number, too_large, unreadable, yes_or_no};
use crate::cells::Fault;

/// The deepest that elements stand in one another.
const DEEPEST: usize = 64;

pub fn sheets(bytes: &[u8]) -> Result<Vec<Page>, Fault> {
    let mut archive = ZipArchive::new(Cursor::new(bytes)).map_err(unreadable)?;
    if let Ok(manifest) = archive.by_name("META-INF/manifest.xml")
        && std::io::read_to_string(manifest).is_ok_and(|text| text.contains("encryption-data"))
    {
        return Err(fault(
            "old-workbook",
            "this workbook is under a password",
            "save it without a password, or as CSV",
        ));
    }
    let content = archive.by_name("content.xml").map_err(unreadable)?;
    let mut reader = Reader::from_reader(BufReader::new(content));
    let (mut buffer, mut walk) = (Vec::new(), Walk::default());
    loop {
        match reader.read_event_into(&mut buffer).map_err(unreadable)? {
            Event::Start(element) => walk.open(&element)?,
            Event::Empty(element) => {
                walk.open(&element)?;
                walk.close()?;
            }
            Event::End(_) => walk.close()?,
            Event::Text(text) => walk.say(&text.xml_content(XmlVersion::Implicit1_0)),
            Event::CData(text) => walk.say(&text.xml_content(XmlVersion::Implicit1_0)),
            Event::GeneralRef(name) => walk.refer(&name)?,
            Event::Eof => return Ok(walk.pages),
            _ => {}
        }
        buffer.clear();
    }
}

/// What an element is to us.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Part {
    Style,
    Table,
    Row,
    Cell,
    Paragraph,
    /// A comment at a cell, a drawing, a table within a cell: nothing of it is the cell's text.
    Aside,
    Else,
}

/// One cell while it is read.
#[derive(Default)]
struct Cell {
    /// How often it stands there, side by side.
    times: usize,
    /// How many lines it covers.
    down: usize,
    /// What it says it is worth, where that is not its text.
    worth: Option<String>,
    paragraphs: usize,
    text: String,
}

struct Walk {
    open: Vec<Part>,
    pages: Vec<Page>,
    /// Styles of tables that are not shown.
    hidden: HashSet<String>,
    style: Option<String>,
    /// The name of the table that is read; none for a hidden one.
    table: Option<String>,
    lines: Lines,
    merged: Vec<(usize, usize, usize)>,
    line: usize,
    row_times: usize,
    column: usize,
    row: Vec<(usize, String)>,
    cell: Option<Cell>,
}

impl Default for Walk {
    fn default() -> Self {
        Self {
            open: Vec::new(),
            pages: Vec::new(),
            hidden: HashSet::new(),
            style: None,
            table: None,
            lines: Lines::new(MOST_HELD),
            merged: Vec::new(),
            line: 0,
            row_times: 0,
            column: 0,
            row: Vec::new(),
            cell: None,
        }
    }
}

/// An attribute by its name without its prefix.
fn attribute(element: &BytesStart<'_>, name: &str) -> Result<Option<String>, Fault> {
    for found in element.attributes() {
        let found = found.map_err(unreadable)?;
        if found.key.local_name().as_ref() == name {
            return Ok(Some(found.normalized_value(XmlVersion::Implicit1_0).map_err(unreadable)?.into_owned()));
        }
    }
    Ok(None)
}

fn times(element: &BytesStart<'_>, name: &str) -> Result<usize, Fault> {
    Ok(attribute(element, name)?.and_then(|text| text.parse().ok()).unwrap_or(1).max(1))
}

impl Walk {
    fn open(&mut self, element: &BytesStart<'_>) -> Result<(), Fault> {
        if self.open.len() >= DEEPEST {
            return Err(unreadable("its elements stand too deep in one another"));
        }
        let name = element.local_name();
        let part = match name.as_ref() {
            _ if self.open.contains(&Part::Aside) => Part::Aside,
            "style" => {
                self.style = attribute(element, "name")?;
                Part::Style
            }
            "table-properties" => {
                if attribute(element, "display")?.as_deref() == Some("false") {
                    self.hidden.extend(self.style.clone());
                }
                Part::Else
            }
            "table" if self.open.contains(&Part::Table) => Part::Aside,
            "table" => {
                let hidden = attribute(element, "style-name")?.is_some_and(|style| self.hidden.contains(&style));
                self.table = attribute(element, "name")?.filter(|_| !hidden && self.pages.len() < MOST_SHEETS);
                (self.line, self.lines, self.merged) = (0, Lines::new(self.lines.left), Vec::new());
                Part::Table
            }
            "table-row" => {
                self.row_times = times(element, "number-rows-repeated")?;
                (self.column, self.row) = (0, Vec::new());
                Part::Row
            }
            "table-cell" | "covered-table-cell" => {
                self.cell = Some(Cell {
                    times: times(element, "number-columns-repeated")?,
                    down: times(element, "number-rows-spanned")?,
                    worth: worth(element)?,
                    ..Cell::default()
                });
                Part::Cell
            }
            "p" | "h" => {
                if let Some(cell) = &mut self.cell {
                    if cell.paragraphs > 0 {
                        cell.text.push('\n');
                    }
                    cell.paragraphs += 1;
                }
                Part::Paragraph
            }
            "s" => {
                let blanks = times(element, "c")?.min(100);
                self.say(&" ".repeat(blanks));
                Part::Else
            }
            "tab" => {
                self.say(" ");
                Part::Else
            }
            "line-break" => {
                self.say("\n");
                Part::Else
            }
            "annotation" | "frame" | "custom-shape" | "shapes" => Part::Aside,
            _ => Part::Else,
        };
        self.open.push(part);
        Ok(())
    }

    fn say(&mut self, text: &str) {
        if !self.open.contains(&Part::Aside)
            && self.open.contains(&Part::Paragraph)
            && let Some(cell) = &mut self.cell
        {
            cell.text.push_str(text);
        }
    }

    /// A sign that is written by its name or number; no others are known than XML's own five.
    fn refer(&mut self, name: &quick_xml::events::BytesRef<'_>) -> Result<(), Fault> {
        let sign = match name.resolve_char_ref().map_err(unreadable)? {
            Some(sign) => sign.to_string(),
            None => match &**name {
                "amp" => "&".to_owned(),
                "lt" => "<".to_owned(),
                "gt" => ">".to_owned(),
                "quot" => "\"".to_owned(),
                "apos" => "'".to_owned(),
                _ => return Err(unreadable("it names a sign that XML does not know")),
            },
        };
        self.say(&sign);
        Ok(())
    }

    fn close(&mut self) -> Result<(), Fault> {
        match self.open.pop() {
            Some(Part::Cell) => self.end_cell()?,
            Some(Part::Row) => self.end_row()?,
            Some(Part::Table) => self.end_table()?,
            Some(Part::Style) => self.style = None,
            _ => {}
        }
        Ok(())
    }

    fn end_cell(&mut self) -> Result<(), Fault> {
        let Some(cell) = self.cell.take() else { return Ok(()) };
        let text = cell.worth.unwrap_or(cell.text);
        if !text.is_empty() {
            if self.column.saturating_add(cell.times) > MOST_COLUMNS {
                return Err(too_large());
            }
            // Beside each other they are held once more, until the line ends.
            if text.len().saturating_mul(cell.times) > self.lines.left {
                return Err(too_large());
            }
            self.row.extend((0..cell.times).map(|n| (self.column + n, text.clone())));
        }
        if cell.down > 1 {
            self.merged.push((self.column, self.line, self.line.saturating_add(cell.down - 1)));
        }
        self.column = self.column.saturating_add(cell.times);
        Ok(())
    }

    fn end_row(&mut self) -> Result<(), Fault> {
        if self.table.is_some() && !self.row.is_empty() {
            if self.line.saturating_add(self.row_times) > MOST_LINES {
                return Err(too_large());
            }
            for n in 0..self.row_times {
                for (column, text) in &self.row {
                    self.lines.put(self.line + n, *column, text.clone())?;
                }
            }
        }
        self.line = self.line.saturating_add(self.row_times);
        Ok(())
    }

    fn end_table(&mut self) -> Result<(), Fault> {
        let Some(name) = self.table.take() else { return Ok(()) };
        for (column, from, to) in std::mem::take(&mut self.merged) {
            self.lines.merged(column, from, to.min(MOST_LINES))?;
        }
        let records = std::mem::take(&mut self.lines.records);
        self.pages.push(Page { name, records });
        Ok(())
    }
}

/// What a cell is worth, where it says so: a number is exact, a date is a day.
fn worth(element: &BytesStart<'_>) -> Result<Option<String>, Fault> {
    let Some(kind) = attribute(element, "value-type")? else { return Ok(None) };
    Ok(match kind.as_str() {
        "float" | "percentage" | "currency" => attribute(element, "value")?.and_then(|text| text.parse().ok()).map(number),
        "boolean" => attribute(element, "boolean-value")?.map(|text| yes_or_no(text == "true")),
        "date" => attribute(element, "date-value")?.map(|text| date(&text)),
        _ => attribute(element, "string-value")?,
    })
}

fn date(text: &str) -> String {
    let mut parts = text.split('T').next().unwrap_or_default().splitn(3, '-').map(str::parse::<u16>);
    match (parts.next(), parts.next(), parts.next()) {
        (Some(Ok(year)), Some(Ok(month)), Some(Ok(date))) => day(year, month, date),
        _ => text.to_owned(),
    }
}
