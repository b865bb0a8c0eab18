//! Each record of a file: whether it is a piece at all, what can be read of it, and why it is refused.

use super::{
    catalogue::LONGEST_NAME,
    cells::{self, Fault, RowState, is_blank},
    columns::{Columns, Field},
    dates::Dates,
    figures::Figures,
    file::Line,
    gathering::Gathered,
    known::{self, Claims, KnownPieces},
    places::{PlaceCells, Placed, Places, ReadPlace},
    reading::{KnownRegister, LookAlikes, Note, Options, PassedOver, ReadLender, Refusal, Unchanged},
    sheet::Record,
    spots::due,
    tags,
};
use chrono::NaiveDate;
use fullset_calc::{
    plate::{self, MadeOn},
    ratings::Kind,
};
use std::collections::{BTreeMap, HashMap};

/// The longest note.
const LONGEST_NOTE: usize = 4000;

/// A row with what could be read of it.
pub(crate) struct Draft {
    pub(crate) line: usize,
    pub(crate) tag: String,
    pub(crate) kind: Kind,
    pub(crate) model: String,
    pub(crate) figures: Figures,
    pub(crate) serial: Option<String>,
    pub(crate) made_on: Option<MadeOn>,
    pub(crate) in_service_since: Option<NaiveDate>,
    pub(crate) last_service_on: Option<NaiveDate>,
    pub(crate) lent_by: Option<ReadLender>,
    pub(crate) state: RowState,
    pub(crate) state_reason: Option<String>,
    pub(crate) note: Option<String>,
}

/// How the cells of one file are to be read.
#[derive(Debug, Clone)]
pub(crate) struct Habits {
    /// Its dates.
    pub(crate) dates: Dates,
    /// The day in the agency's time zone.
    pub(crate) today: NaiveDate,
}

/// What is gathered while a file is read.
pub(crate) struct Work<'a> {
    pub(crate) columns: &'a Columns,
    pub(crate) notes: Vec<Note>,
    pub(crate) passed_over: Vec<PassedOver>,
    /// The last line passed over, where it is blank.
    pub(crate) blank_to: Option<usize>,
    /// Rows of pieces that the agency has as they say.
    pub(crate) unchanged: Vec<Unchanged>,
    /// Fields left out or read in a way that has to be said: by field and words, the kind and the lines.
    pub(crate) remarks: BTreeMap<(Field, Kind, &'static str), Vec<usize>>,
}

impl<'a> Work<'a> {
    /// Nothing gathered yet.
    pub(crate) fn new(columns: &'a Columns) -> Self {
        Self {
            columns,
            notes: Vec::new(),
            passed_over: Vec::new(),
            blank_to: None,
            unchanged: Vec::new(),
            remarks: BTreeMap::new(),
        }
    }

    pub(crate) fn note(&mut self, line: Option<usize>, words: String) {
        self.notes.push(Note { line, words });
    }

    /// Passes a line over; a run of blank lines is told once.
    pub(crate) fn pass(&mut self, line: usize, why: &str) {
        let runs_on = self.blank_to.is_some_and(|last| last + 1 == line);
        self.blank_to = (why == "blank").then_some(line);
        if let Some(last) = self.passed_over.last_mut().filter(|_| runs_on && why == "blank") {
            last.why = format!("blank, to line {line}");
            return;
        }
        self.passed_over.push(PassedOver { line, why: why.to_owned() });
    }

    /// Why a record is no piece.
    pub(crate) fn no_piece(&self, record: &Record, header: &Record) -> Option<&'static str> {
        if record.is_blank() {
            return Some("blank");
        }
        let same = |(a, b): (&String, &String)| a.trim().eq_ignore_ascii_case(b.trim());
        if record.cells.len() == header.cells.len() && record.cells.iter().zip(&header.cells).all(same) {
            return Some("repeats the headings");
        }
        if !self.columns.cell(record, Field::Kind).trim().is_empty() {
            return None;
        }
        let filled: Vec<&str> = record.cells.iter().map(|cell| cell.trim()).filter(|cell| !cell.is_empty()).collect();
        let words = cells::words(filled.first().unwrap_or(&""));
        if words
            .first()
            .is_some_and(|word| matches!(word.as_str(), "subtotal" | "total" | "totals" | "sum" | "count" | "grand" | "sub"))
        {
            return Some("a subtotal");
        }
        // A lone cell is a title or a remark, unless it may be a tag.
        let tag = self.columns.cell(record, Field::Tag).trim();
        let title = tag.is_empty() || tag.contains(' ') || !tag.contains(|c: char| c.is_ascii_digit());
        (filled.len() == 1 && title).then_some("a title or remark, not a piece")
    }

    pub(crate) fn file_notes(&mut self, stray_quotes: &[usize], dates: Vec<String>) {
        for words in dates {
            self.note(None, words);
        }
        for line in stray_quotes {
            self.note(Some(*line), "a quotation mark is opened and never closed; it was read as a plain sign".into());
        }
        if !self.columns.has(Field::State) {
            self.note(None, "no column gives the state; every piece was read as in service".into());
        }
        if !self.columns.has(Field::Model) {
            self.note(None, "no column gives the model; the models were named after their kind".into());
        }
    }

    /// Reads the rows, then what only all rows together can tell: doubled tags, places, models.
    pub(crate) fn rows(mut self, lines: &[Line], habits: &Habits, options: &Options, known: &KnownRegister) -> Gathered {
        let heading = self.columns.heading(Field::District).unwrap_or_default();
        let word = ["Battalion", "Division"]
            .into_iter()
            .find(|word| cells::words(heading).contains(&word.to_lowercase()))
            .unwrap_or("District");
        let places = Places::gather(
            lines.iter().map(|line| &line.spot),
            &known.places,
            options.create_places,
            word,
            options.default_district.as_deref(),
        );
        let had = KnownPieces::new(known);
        let mut tags: HashMap<String, usize> = HashMap::new();
        let mut alike: HashMap<String, (String, usize)> = HashMap::new();
        let (mut refused, mut drafts) = (Vec::new(), Vec::new());
        for line in lines {
            let record = &line.record;
            let mut faults = Vec::new();
            let cell = self.columns.cell(record, Field::Tag);
            let tag = match cells::said(cell) {
                Ok(tag) => tag.unwrap_or_default(),
                Err(fault) => {
                    faults.push((Some(Field::Tag), fault));
                    cells::line(cell)
                }
            };
            let draft = if let Some(fault) = &line.torn {
                faults.push((None, fault.clone()));
                None
            } else {
                self.draft(line, &tag, habits, &mut faults)
            };
            if let Some(first) = tags.get(&tag.to_lowercase()).filter(|_| !tag.is_empty()) {
                let fault = Fault::new(
                    "duplicate-tag",
                    format!("the tag {tag} already stands on line {first}"),
                    Some("give every piece its own tag".into()),
                );
                faults.insert(0, (Some(Field::Tag), fault));
            } else if options.look_alikes == LookAlikes::Ask && !tag.is_empty() && had.find(&tag).is_none() {
                let other = alike.get(&tags::alike(&tag)).map(|(other, line)| format!("{other} on line {line}"));
                if let Some(other) = other.or_else(|| had.alike(&tag).map(|other| format!("{other}, which the agency has"))) {
                    let hint = "look at both pieces and correct the tag, or choose that tags which look alike are pieces apart";
                    let fault = Fault::new("tag-looks-alike", format!("the tag {tag} is easily taken for {other}"), Some(hint.into()));
                    faults.insert(0, (Some(Field::Tag), fault));
                }
            }
            let first = !tags.contains_key(&tag.to_lowercase());
            tags.entry(tag.to_lowercase()).or_insert(record.line);
            alike.entry(tags::alike(&tag)).or_insert_with(|| (tag.clone(), record.line));
            let placed = match &draft {
                Some(draft) => self.place(draft, &places, &line.spot, &mut faults),
                None => None,
            };
            if let Some(piece) = had.find(&tag).filter(|_| first) {
                let read = draft.as_ref().zip(placed.as_ref()).filter(|_| faults.is_empty());
                let claims = Claims {
                    place: !is_blank(&line.spot.place),
                    state: self.columns.has(Field::State),
                };
                match read.map(|(draft, placed)| had.differing(piece, draft, placed, claims)) {
                    Some(differing) if differing.is_empty() => {
                        self.unchanged.push(Unchanged {
                            line: record.line,
                            tag: piece.tag.clone(),
                        });
                        continue;
                    }
                    differing => faults.insert(0, (Some(Field::Tag), known::has_already(&tag, &differing.unwrap_or_default()))),
                }
            }
            match (draft, placed) {
                (Some(draft), Some(placed)) if faults.is_empty() => drafts.push((draft, placed)),
                _ => refused.push(self.refusal(record.line, tag, faults)),
            }
        }
        self.finish(drafts, refused, &places, known)
    }

    /// What can be read of a row by itself.
    fn draft(&mut self, read: &Line, tag: &str, habits: &Habits, faults: &mut Vec<(Option<Field>, Fault)>) -> Option<Draft> {
        let (columns, record) = (self.columns, &read.record);
        let line = record.line;
        let text = |field| cells::line(columns.cell(record, field));
        let mut note = |field: Field, fault: Fault| faults.push((Some(field), fault));
        if tag.is_empty() {
            note(
                Field::Tag,
                Fault::new("no-tag", "the piece has no asset tag".into(), Some("mark the piece and fill in its tag".into())),
            );
        }
        let kind = read.kind.clone().map_err(|fault| note(Field::Kind, fault)).ok();
        let mut said = |field: Field| {
            let said = cells::said(columns.cell(record, field));
            said.map_err(|fault| note(field, fault)).ok().flatten()
        };
        let maker = said(Field::Maker).unwrap_or_default();
        let mut model = said(Field::Model).unwrap_or_default();
        if !maker.is_empty() && !model.to_lowercase().starts_with(&maker.to_lowercase()) {
            model = format!("{maker} {model}").trim().to_owned();
        }
        let serial = said(Field::Serial);
        let lent_by = said(Field::LentBy).map(|text| due(&text));
        let lent_by = lent_by.map(|(name, due_on)| ReadLender { name, due_on });
        let words = Some(cells::lines(columns.cell(record, Field::Note))).filter(|words| !words.is_empty());
        let long = |text: &str, most: usize| text.chars().count() > most;
        for (field, value) in [
            (Field::Tag, tag),
            (Field::Model, &model),
            (Field::Serial, serial.as_deref().unwrap_or_default()),
            (Field::LentBy, lent_by.as_ref().map(|lender| lender.name.as_str()).unwrap_or_default()),
        ] {
            if long(value, LONGEST_NAME) {
                note(
                    field,
                    Fault::new(
                        "too-long",
                        format!("it is longer than {LONGEST_NAME} characters"),
                        Some("put the rest in a note".into()),
                    ),
                );
            }
        }
        if words.as_deref().is_some_and(|words| long(words, LONGEST_NOTE)) {
            note(
                Field::Note,
                Fault::new("too-long", format!("it is longer than {LONGEST_NOTE} characters"), Some("shorten it".into())),
            );
        }
        let made_on = habits.dates.read_make(Field::MadeOn, &text(Field::MadeOn));
        let made_on = made_on.map_err(|fault| note(Field::MadeOn, fault)).ok().flatten();
        let mut day = |field| habits.dates.read(field, &text(field)).map_err(|fault| note(field, fault)).ok().flatten();
        let (in_service_since, last_service_on) = (day(Field::InServiceSince), day(Field::LastServiceOn));
        let mut dates = plate::Dates {
            made_on,
            in_service_since,
            last_service_on,
        };
        // A day that has not come yet is not taken over; without it the piece is as if nobody had written it down.
        let mut not_yet = Vec::new();
        while let Err(fault) = plate::dates(dates, habits.today) {
            let future = fault.code == "date-in-future";
            match fault.field {
                "made_on" if future => dates.made_on = None,
                "in_service_since" if future => dates.in_service_since = None,
                "last_service_on" if future => dates.last_service_on = None,
                _ => {
                    let field = Field::from_name(fault.field).unwrap_or(Field::MadeOn);
                    note(field, Fault::new(fault.code, fault.reason, Some(fault.hint.into())));
                    break;
                }
            }
            not_yet.push(format!("{}; the date was left out and is unknown", fault.reason));
        }
        let state = if columns.has(Field::State) {
            cells::state(&text(Field::State))
        } else {
            Ok(RowState::InService)
        };
        let state = state.map_err(|fault| note(Field::State, fault)).ok();
        let state_reason = Some(cells::lines(columns.cell(record, Field::StateReason))).filter(|reason| !is_blank(reason));
        if state_reason.as_deref().is_some_and(|reason| long(reason, LONGEST_NOTE)) {
            note(
                Field::StateReason,
                Fault::new("too-long", format!("it is longer than {LONGEST_NOTE} characters"), Some("shorten it".into())),
            );
        }
        let mut figures = read.figures.clone();
        if let Some(figures) = &mut figures {
            faults.extend(std::mem::take(&mut figures.faults).into_iter().map(|(field, fault)| (Some(field), fault)));
        }
        let (Some(kind), Some(figures), Some(state), true) = (kind, figures, state, faults.is_empty()) else {
            return None;
        };
        for words in not_yet {
            self.note(Some(line), words);
        }
        if model.is_empty() {
            if columns.has(Field::Model) {
                self.note(Some(line), format!("the model is not given; it was named after its kind, {}", kind.word()));
            }
            model = format!("Unnamed {}", kind.word());
        }
        let unasked = state_reason.is_some() && state == RowState::InService;
        if unasked {
            self.note(
                Some(line),
                "a reason for being out of service is given for a piece in service; it was left out".into(),
            );
        }
        for (field, words) in &figures.remarks {
            self.remarks.entry((*field, kind, words)).or_default().push(line);
        }
        Some(Draft {
            line,
            tag: tag.to_owned(),
            kind,
            model,
            figures,
            serial,
            made_on: dates.made_on,
            in_service_since: dates.in_service_since,
            last_service_on: dates.last_service_on,
            lent_by,
            state,
            state_reason: state_reason.filter(|_| !unasked),
            note: words,
        })
    }

    fn place(&mut self, draft: &Draft, places: &Places, spot: &PlaceCells, faults: &mut Vec<(Option<Field>, Fault)>) -> Option<Placed> {
        if draft.state == RowState::Retired {
            return Some(Placed {
                place: ReadPlace::Retired,
                station: None,
                district: None,
                note: None,
            });
        }
        let column = if self.columns.has(Field::Place) { Field::Place } else { Field::Station };
        match places.place(spot) {
            Ok(placed) if placed.place == ReadPlace::Retired => {
                let reason = format!("the place says retired, the state says {}", draft.state.word());
                faults.push((Some(column), Fault::new("state-differs", reason, Some("correct the place or the state".into()))));
                None
            }
            Ok(mut placed) => {
                if let Some(words) = placed.note.take() {
                    self.note(Some(draft.line), words);
                }
                Some(placed)
            }
            Err(fault) => {
                faults.push((Some(column), fault));
                None
            }
        }
    }

    pub(crate) fn refusal(&self, line: usize, tag: String, faults: Vec<(Option<Field>, Fault)>) -> Refusal {
        let tag = Some(tag).filter(|tag| !tag.is_empty());
        let mut faults = faults.into_iter();
        let (field, Fault { code, reason, hint }) = faults
            .next()
            .unwrap_or_else(|| (None, Fault::new("unreadable-row", "the row could not be read".into(), None)));
        let heading = |field: Option<Field>| field.and_then(|field| self.columns.heading(field)).map(str::to_owned);
        let also = faults.map(|(field, fault)| heading(field).map_or(fault.reason.clone(), |column| format!("{column}: {}", fault.reason)));
        Refusal {
            line,
            tag,
            column: heading(field),
            code,
            reason,
            hint,
            also: also.collect(),
        }
    }
}
