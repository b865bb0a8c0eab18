//! A register as the agency keeps it, read into rows, models and places, and into what was refused and why.
//!
//! Nothing is changed here and nothing is looked up: what the agency has, and the day, are arguments. A row is
//! refused alone; only a file without a tag or a kind column is refused whole. What is no row at all (titles, blank
//! lines, repeated headings, subtotals) is passed over with a reason.
//!
//! A file is read in two steps: its bytes by themselves, which takes long and needs nothing else, and its lines by what the
//! agency has.

use super::{
    catalogue::lines_words,
    cells::{self, Fault},
    columns::{Columns, Doubled, Field, Headings},
    dates::{DateHabit, Dates, DatesFound},
    figures::{self, Figures},
    gathering::Gathered,
    reading::{KnownRegister, Options, PassedOver, Reading},
    sheet::{Delimiter, Encoding, Record, Sheet},
    sifting::{Habits, Work},
    whereabouts::PlaceCells,
    workbook::{Book, OtherSheet},
};
use chrono::NaiveDate;
use fullset_calc::{
    ratings::Kind,
    units::{NumberStyle, StyleVotes},
};

/// One record below the headings that may be a piece, read as far as it goes by itself.
#[derive(Debug, Clone)]
pub(crate) struct Line {
    pub(crate) record: Record,
    /// Why nothing else is said of it, where its cells may stand in the wrong columns.
    pub(crate) torn: Option<Fault>,
    pub(crate) spot: PlaceCells,
    pub(crate) kind: Result<Kind, Fault>,
    /// What it says of its model, where its kind is known.
    pub(crate) figures: Option<Figures>,
}

/// So many pieces a file may hold: they are written in one go, and whoever else writes waits for that.
pub const MOST_PIECES: usize = 5_000;

/// A file whose bytes have been read as far as they say by themselves: its headings, which lines are pieces, their kinds and
/// figures. [`against`](RegisterFile::against) reads the rest by what the agency has.
#[derive(Debug, Clone)]
pub struct RegisterFile {
    encoding: Encoding,
    delimiter: Option<Delimiter>,
    sheet: Option<String>,
    other_sheets: Vec<OtherSheet>,
    stray_quotes: Vec<usize>,
    columns: Columns,
    lines: Vec<Line>,
    passed_over: Vec<PassedOver>,
    style: Option<NumberStyle>,
    votes: StyleVotes,
    options: Options,
}

impl RegisterFile {
    /// Reads the bytes of a file.
    ///
    /// # Errors
    /// `empty-file`, `no-heading`, `too-many-pieces` beyond [`MOST_PIECES`], and the faults of [`Book::read`], [`Columns::read`] and [`Headings::new`]: the file is refused whole.
    pub fn parse(bytes: &[u8], options: Options) -> Result<Self, Fault> {
        let headings = Headings::new(&options.columns)?;
        let sheet = match Book::of(bytes) {
            Some(book) => book.read(bytes, options.sheet.as_deref(), |records| headings.find(records).is_some())?,
            None => Sheet::read(bytes, |cell| headings.knows(cell)),
        };
        let at = heading_line(&sheet, &headings)?;
        let mut records = sheet.records.into_iter();
        let before: Vec<Record> = records.by_ref().take(at).collect();
        let Some(header) = records.next() else {
            return Err(Fault::new("empty-file", "the file holds nothing".into(), None));
        };
        let columns = Columns::read(&header, &headings)?;
        let mut work = Work::new(&columns);
        if sheet.declared {
            work.pass(1, "names the delimiter");
        }
        for record in before {
            work.pass(record.line, if record.is_blank() { "blank" } else { "stands before the headings" });
        }
        let mut data = Vec::new();
        for record in records {
            match work.no_piece(&record, &header) {
                Some(why) => work.pass(record.line, why),
                None => data.push(record),
            }
        }
        if data.len() > MOST_PIECES {
            return Err(Fault::new(
                "too-many-pieces",
                format!("the file holds {} pieces; {MOST_PIECES} is the most that are read in at once", data.len()),
                Some("split it, by station say, and import the parts one after the other: others go on working in between".into()),
            ));
        }
        let passed_over = work.passed_over;
        let mut votes = StyleVotes::default();
        data.iter().for_each(|record| figures::count_styles(&columns, record, &mut votes));
        let style = options.number_style.or(votes.proven());
        let width = header.cells.len();
        let lines = data.into_iter().map(|record| Line::read(record, &columns, width, style)).collect();
        Ok(Self {
            encoding: sheet.encoding,
            delimiter: sheet.delimiter,
            sheet: sheet.name,
            other_sheets: sheet.others,
            stray_quotes: sheet.stray_quotes,
            columns,
            lines,
            passed_over,
            style,
            votes,
            options,
        })
    }

    /// Reads the file's lines by what the agency has. `today` is the day in the agency's time zone.
    #[must_use]
    pub fn against(&self, known: &KnownRegister, today: NaiveDate) -> Reading {
        let (columns, options) = (&self.columns, &self.options);
        let date_fields = [Field::MadeOn, Field::InServiceSince, Field::LastServiceOn];
        let cells_of = |field| self.lines.iter().map(|line| columns.cell(&line.record, field)).collect();
        let dated = date_fields
            .into_iter()
            .filter_map(|field| columns.heading(field).map(|heading| (field, heading, cells_of(field))));
        let habit = DateHabit {
            chosen: options.date_order,
            usual: known.date_order,
        };
        let DatesFound {
            dates,
            order: date_order,
            open: open_dates,
            notes: mut file_notes,
        } = Dates::find(dated, habit, today);
        file_notes.extend(self.other_sheets_note());
        file_notes.extend(self.unused_notes());
        file_notes.extend(style_note(self.votes, options.number_style));
        let mut work = Work {
            passed_over: self.passed_over.clone(),
            ..Work::new(columns)
        };
        work.file_notes(&self.stray_quotes, file_notes);
        let Gathered {
            rows,
            models,
            couplings,
            places,
            unchanged,
            refused,
            passed_over,
            notes,
        } = work.rows(&self.lines, &Habits { dates, today }, options, known);
        Reading {
            encoding: self.encoding,
            delimiter: self.delimiter,
            sheet: self.sheet.clone(),
            other_sheets: self.other_sheets.iter().map(|other| other.name.clone()).collect(),
            date_order,
            number_style: self.style.filter(|_| self.votes != StyleVotes::default()),
            open_dates,
            open_numbers: if self.style.is_none() { self.votes.open } else { 0 },
            columns: columns.list.clone(),
            rows,
            models,
            couplings,
            places,
            unchanged,
            refused,
            passed_over,
            notes,
        }
    }

    /// The cells of the row that starts on a line, as a plain file would have them.
    #[must_use]
    pub fn cells(&self, line: usize) -> Option<Vec<String>> {
        let at = self.lines.binary_search_by_key(&line, |one| one.record.line).ok()?;
        self.lines
            .get(at)
            .map(|one| one.record.cells.iter().map(|cell| cells::plain_number(cell)).collect())
    }

    /// What is to be said of the other sheets of a workbook that look like a register.
    fn other_sheets_note(&self) -> Option<String> {
        let names: Vec<String> = self
            .other_sheets
            .iter()
            .filter(|other| other.register)
            .map(|other| format!("“{}”", other.name))
            .collect();
        let read = self.sheet.as_deref().unwrap_or_default();
        (!names.is_empty()).then(|| {
            let (sheets, which) = (if names.len() == 1 { "sheet looks" } else { "sheets look" }, names.join(", "));
            format!(
                "only the sheet “{read}” was read; {} more {sheets} like a register: {which}. Import each by itself",
                names.len()
            )
        })
    }

    /// What is to be said of columns that were not used because another one holds the same field.
    fn unused_notes(&self) -> Vec<String> {
        let said = |doubled: &Doubled| {
            let cell = |line: &Line, at: usize| line.record.cells.get(at).map(|cell| cells::line(cell)).unwrap_or_default();
            let differs = |line: &&Line| cell(line, doubled.at) != cell(line, doubled.used_at);
            let lines: Vec<usize> = self.lines.iter().filter(differs).map(|line| line.record.line).collect();
            let Doubled { column, used, .. } = doubled;
            if lines.is_empty() {
                format!("the column \"{column}\" was not used, because \"{used}\" holds the same")
            } else {
                format!(
                    "the column \"{column}\" was not used: \"{used}\" was read, and they differ on {}",
                    lines_words(&lines)
                )
            }
        };
        self.columns.doubled.iter().map(said).collect()
    }
}

/// The record that heads the columns, by its place among the records.
fn heading_line(sheet: &Sheet, headings: &Headings) -> Result<usize, Fault> {
    let Some(first) = sheet.records.iter().find(|record| !record.is_blank()) else {
        return Err(Fault::new(
            "empty-file",
            "the file holds nothing".into(),
            Some("export the register again".into()),
        ));
    };
    headings.find(&sheet.records).ok_or_else(|| {
        let seen = first
            .cells
            .iter()
            .take(30)
            .map(|cell| format!("\"{}\"", cells::line(cell)))
            .collect::<Vec<_>>()
            .join(", ");
        let hint = "head the columns, for example Asset tag, Kind, Model, Serial, Assigned to, Station, District";
        Fault::new(
            "no-heading",
            format!("no line was found that heads the columns; line {} reads {seen}", first.line),
            Some(hint.into()),
        )
    })
}

impl Line {
    fn read(record: Record, columns: &Columns, width: usize, style: Option<NumberStyle>) -> Self {
        let text = |field| cells::line(columns.cell(&record, field));
        // A column with a gap makes a program write 8.0 for the station 8.
        let named = |field| {
            let text = text(field);
            let whole = text.strip_suffix(".0").filter(|whole| whole.bytes().all(|byte| byte.is_ascii_digit()));
            whole.map(str::to_owned).unwrap_or(text)
        };
        let torn = torn(&record, width);
        let whole = torn.is_none();
        let spot = if whole {
            PlaceCells {
                place: text(Field::Place),
                station: named(Field::Station),
                district: named(Field::District),
            }
        } else {
            PlaceCells::default()
        };
        let kind = cells::kind(&text(Field::Kind));
        let figures = kind.as_ref().ok().filter(|_| whole).map(|kind| figures::read(columns, &record, *kind, style));
        Self {
            record,
            torn,
            spot,
            kind,
            figures,
        }
    }
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

/// Whether a row has more cells than there are columns: its cells may stand in the wrong ones, so nothing else is said of it.
fn torn(record: &Record, width: usize) -> Option<Fault> {
    let extra: Vec<String> = record
        .cells
        .iter()
        .skip(width)
        .map(|cell| cells::line(cell))
        .filter(|cell| !cell.is_empty())
        .collect();
    let shown = extra.iter().take(5).map(|cell| format!("\"{cell}\"")).collect::<Vec<_>>().join(", ");
    (!extra.is_empty()).then(|| {
        let hint = "a delimiter inside a cell needs quotes around the cell; take out what does not belong";
        Fault::new(
            "extra-column",
            format!("the row has more cells than there are columns: {shown}"),
            Some(hint.into()),
        )
    })
}
