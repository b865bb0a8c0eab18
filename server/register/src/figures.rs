//! What a row says of its model: hook-up and ratings, each cell with its own unit.
//!
//! Three columns mean different things for different kinds: an opening is a cutter's between its blades and a
//! spreader's between its tips, a force is a spreader's lowest and highest and a ram's stage by stage. What does not
//! apply to a kind is checked as a quantity, left out, and said.

use super::{
    cells::{self, Fault, is_blank},
    columns::{Columns, Field},
    facts::{BATTERY, CIRCUITS, COUPLING, FLUID, PRESSURE, STANDARD, TOOL_COUPLING},
    sheet::Record,
};
use fullset_calc::{
    hookup::Hookup,
    ratings::{CapacityLetter, CuttingLevels, Figure, Kind, Rating, Ratings, Term},
    units::{Dimension, Notation, NumberStyle, Quantity, StyleVotes, Unit, UnitFault},
};
use std::collections::BTreeSet;

/// What a row says of its model.
#[derive(Debug, Clone, Default)]
pub struct Figures {
    /// What it connects to.
    pub hookup: Hookup,
    /// What it is rated for.
    pub ratings: Ratings,
    /// What could not be read, by field.
    pub faults: Vec<(Field, Fault)>,
    /// Fields that were left out or read in a way that has to be said.
    pub remarks: Vec<(Field, &'static str)>,
    /// Values that the row says to be unknown, by what the catalogue calls them.
    pub unknown: BTreeSet<&'static str>,
}

const IDLE: &str = "does not apply to this kind and was left out";
const ONE_FORCE: &str = "is one force where a lowest and a highest are wanted; it was read as the highest";

/// A cell with the standard that stands in brackets behind the figure: `8.1 in [NFPA 1936; 2015]`.
struct Rated<'a> {
    text: &'a str,
    standard: Option<String>,
    edition: Option<String>,
}

impl<'a> Rated<'a> {
    fn read(cell: &'a str) -> Self {
        let opening = cell
            .rmatch_indices('[')
            .map(|(at, _)| at)
            .find(|at| !cell.get(..*at).is_some_and(|text| text.ends_with('\\')));
        let parts = opening.and_then(|at| cell.strip_suffix(']').and_then(|rest| Some((rest.get(..at)?, rest.get(at + 1..)?))));
        let Some((text, inner)) = parts else {
            return Self {
                text: cell,
                standard: None,
                edition: None,
            };
        };
        let parting = inner
            .match_indices(';')
            .map(|(at, _)| at)
            .find(|at| !inner.get(..*at).is_some_and(|text| text.ends_with('\\')));
        let parts = parting.and_then(|at| Some((inner.get(..at)?, inner.get(at + 1..)?)));
        let (standard, edition) = parts.unwrap_or((inner, ""));
        let some = |t: &str| Some(unescaped(t.trim())).filter(|t| !t.is_empty());
        Self {
            text: text.trim(),
            standard: some(standard),
            edition: some(edition),
        }
    }

    fn rating(&self, figure: Figure) -> Rating {
        Rating {
            figure,
            standard: self.standard.clone(),
            edition: self.edition.clone(),
        }
    }
}

/// Signs that part a standard from its figure and its edition; a backslash stands before one that is part of a name.
const PARTING: [char; 3] = ['[', ']', ';'];

/// A name as it stands in the brackets behind a figure.
pub fn escaped(name: &str) -> String {
    let sign = |c: char| PARTING.contains(&c).then_some('\\').into_iter().chain([c]);
    name.trim().chars().flat_map(sign).collect()
}

fn unescaped(text: &str) -> String {
    PARTING
        .iter()
        .fold(text.to_owned(), |text, sign| text.replace(&format!("\\{sign}"), &sign.to_string()))
}

/// Counts what the numbers of a row show of the file's style.
pub fn count_styles(columns: &Columns, record: &Record, votes: &mut StyleVotes) {
    let sizes = [Field::Length, Field::Opening, Field::Force, Field::Pull, Field::Pressure];
    let terms = columns.terms().filter(|term| term.dimension().is_some()).map(Field::Rated);
    for field in sizes.into_iter().chain(terms) {
        votes.count(Rated::read(&cells::figure(columns.cell(record, field))).text);
    }
}

/// Reads the figures of a row. `style` decides how a number is read that may be meant in two ways.
#[must_use]
pub fn read(columns: &Columns, record: &Record, kind: Kind, style: Option<NumberStyle>) -> Figures {
    let mut out = Reader {
        columns,
        record,
        kind,
        style,
        out: Figures::default(),
    };
    out.hookup();
    out.by_kind();
    for term in columns.terms() {
        out.rated(term);
    }
    out.standard();
    out.check();
    out.out
}

/// The longest name of a coupling, a battery family, a standard or an edition.
const LONGEST: usize = 200;

struct Reader<'a> {
    columns: &'a Columns,
    record: &'a Record,
    kind: Kind,
    style: Option<NumberStyle>,
    out: Figures,
}

impl Reader<'_> {
    /// What the cell says; nothing where it is empty or says that it is not known, which is kept apart.
    fn text(&mut self, field: Field) -> Option<String> {
        let text = cells::figure(self.columns.cell(self.record, field));
        if !is_blank(&text) {
            return Some(cells::unguarded(&text).to_owned());
        }
        self.unknown(field, &text);
        None
    }

    fn unknown(&mut self, field: Field, text: &str) {
        if !text.is_empty() {
            self.out.unknown.extend(called(self.kind, field));
        }
    }

    /// A name, which is no longer than names are.
    fn named(&mut self, field: Field) -> Option<String> {
        let cell = self.columns.cell(self.record, field);
        let Some(text) = self.take(field, cells::said(cell))? else {
            self.unknown(field, cell.trim());
            return None;
        };
        if text.chars().count() > LONGEST {
            let reason = format!("it is longer than {LONGEST} characters");
            self.fault(field, Fault::new("too-long", reason, Some("put the rest in a note".into())));
        }
        Some(text)
    }

    fn fault(&mut self, field: Field, fault: impl Into<Fault>) {
        self.out.faults.push((field, fault.into()));
    }

    /// The value, or a fault noted.
    fn take<T, F: Into<Fault>>(&mut self, field: Field, value: Result<T, F>) -> Option<T> {
        value.map_err(|fault| self.fault(field, fault)).ok()
    }

    fn idle(&mut self, field: Field) {
        self.out.remarks.push((field, IDLE));
    }

    fn notation(&self, field: Field) -> Notation {
        let count = (field == Field::Rated(Term::RamStages)).then_some(Unit::Stage);
        Notation {
            bare: self.columns.unit(field).or(count),
            style: self.style,
        }
    }

    fn quantity(&self, text: &str, field: Field, wanted: Dimension) -> Result<Quantity, UnitFault> {
        Quantity::parse_as(text, wanted, self.notation(field))
    }

    fn hookup(&mut self) {
        self.out.hookup.coupling = self.named(Field::Coupling);
        self.out.hookup.battery = self.named(Field::Battery);
        if let Some(text) = self.named(Field::ToolCoupling) {
            if self.kind == Kind::Hose {
                self.out.hookup.tool_coupling = Some(text)
            } else {
                self.idle(Field::ToolCoupling)
            }
        }
        let fluid = cells::fluid(&self.text(Field::Fluid).unwrap_or_default());
        self.out.hookup.fluid = self.take(Field::Fluid, fluid).flatten();
        if let Some(text) = self.text(Field::Pressure) {
            let pressure = self.quantity(&text, Field::Pressure, Dimension::Pressure);
            self.out.hookup.pressure = self.take(Field::Pressure, pressure);
        }
        let circuits = cells::circuits(&cells::line(&self.text(Field::Circuits).unwrap_or_default()));
        if let Some(count) = self.take(Field::Circuits, circuits).flatten() {
            if self.kind.is_source() {
                self.out.hookup.circuits = Some(count)
            } else {
                self.idle(Field::Circuits)
            }
        }
    }

    fn by_kind(&mut self) {
        let two_ended = matches!(self.kind, Kind::Spreader | Kind::CombinationTool);
        self.one(Field::Length, Dimension::Length, (self.kind == Kind::Hose).then_some(Term::HoseLength));
        let opening = match self.kind {
            Kind::Cutter => Some(Term::CutterOpening),
            _ if two_ended => Some(Term::SpreadingDistance),
            _ => None,
        };
        self.one(Field::Opening, Dimension::Length, opening);
        match self.kind {
            Kind::Ram => self.stages(),
            _ => self.span(Field::Force, two_ended.then_some((Term::LowestSpreadingForce, Term::HighestSpreadingForce))),
        }
        match self.kind {
            Kind::Ram => self.one(Field::Pull, Dimension::Force, Some(Term::PullForce)),
            _ => self.span(Field::Pull, two_ended.then_some((Term::LowestPullingForce, Term::HighestPullingForce))),
        }
    }

    /// A cell of one quantity, read into the term that it means for the kind.
    fn one(&mut self, field: Field, wanted: Dimension, term: Option<Term>) {
        let Some(cell) = self.text(field) else { return };
        let rated = Rated::read(&cell);
        let read = self.quantity(rated.text, field, wanted);
        let Some(q) = self.take(field, read) else { return };
        match term {
            Some(term) => drop(self.out.ratings.set(term, rated.rating(Figure::Quantity(q)))),
            None => self.idle(field),
        }
    }

    /// A lowest and a highest force.
    fn span(&mut self, field: Field, terms: Option<(Term, Term)>) {
        let Some(cell) = self.text(field) else { return };
        let rated = Rated::read(&cell);
        let notation = self.notation(field);
        let single = self.quantity(rated.text, field, Dimension::Force).ok();
        let read = match (single, rated.text.split_once('/')) {
            (Some(q), _) => Ok((None, q)),
            // Two forces are also parted by a slash.
            (None, Some((low, high))) if !high.contains('/') => {
                Quantity::parse_span(&format!("{}-{}", low.trim(), high.trim()), Dimension::Force, notation).map(|(low, high)| (Some(low), high))
            }
            (None, _) => Quantity::parse_span(rated.text, Dimension::Force, notation).map(|(low, high)| (Some(low), high)),
        };
        let Some((low, high)) = self.take(field, read) else { return };
        let Some((lowest, highest)) = terms else { return self.idle(field) };
        self.out.ratings.set(highest, rated.rating(Figure::Quantity(high)));
        match low {
            Some(low) => drop(self.out.ratings.set(lowest, rated.rating(Figure::Quantity(low)))),
            None => self.out.remarks.push((field, ONE_FORCE)),
        }
    }

    /// The push forces of a ram.
    fn stages(&mut self) {
        let Some(cell) = self.text(Field::Force) else { return };
        let rated = Rated::read(&cell);
        let read = Quantity::parse_stages(rated.text, Dimension::Force, self.notation(Field::Force));
        let Some(forces) = self.take(Field::Force, read) else { return };
        let terms = [Term::PushForce, Term::PushForce2, Term::PushForce3];
        if forces.len() > terms.len() {
            let reason = format!("\"{cell}\" has more than three stages");
            return self.fault(
                Field::Force,
                Fault::new(
                    "two-values",
                    reason,
                    Some("give the force of each stage, at most three, first stage first".into()),
                ),
            );
        }
        for (term, force) in terms.into_iter().zip(forces) {
            self.out.ratings.set(term, rated.rating(Figure::Quantity(force)));
        }
    }

    /// A term with a column of its own.
    fn rated(&mut self, term: Term) {
        let field = Field::Rated(term);
        let Some(cell) = self.text(field) else { return };
        let rated = Rated::read(&cell);
        let bad = |code, fault: fullset_calc::ratings::CuttingFault| Fault::new(code, fault.0, Some(term.shape().into()));
        let figure = match term.dimension() {
            Some(wanted) => self.quantity(rated.text, field, wanted).map(Figure::Quantity).map_err(Fault::from),
            None if term == Term::CuttingCapacity => CapacityLetter::parse(rated.text)
                .map(Figure::Letter)
                .map_err(|fault| bad("bad-cutting-capacity", fault)),
            None => CuttingLevels::parse(rated.text)
                .map(Figure::Levels)
                .map_err(|fault| bad("bad-cutting-levels", fault)),
        };
        if let Some(figure) = self.take(field, figure) {
            self.out.ratings.set(term, rated.rating(figure));
        }
    }

    /// The standard of the row, for every tested figure that names none of its own.
    fn standard(&mut self) {
        let Some(standard) = self.named(Field::Standard) else { return };
        let edition = self.named(Field::Edition);
        let tested = self.out.ratings.iter().filter(|(term, rating)| term.by_test() && rating.standard.is_none());
        let told: Vec<(Term, Rating)> = tested
            .map(|(term, r)| {
                (
                    term,
                    Rating {
                        standard: Some(standard.clone()),
                        edition: edition.clone(),
                        ..r.clone()
                    },
                )
            })
            .collect();
        for (term, rating) in told {
            self.out.ratings.set(term, rating);
        }
    }

    /// What cannot be so, though every cell can be read.
    fn check(&mut self) {
        self.brackets();
        if !self.out.faults.is_empty() {
            return;
        }
        for fault in self.out.ratings.faults(self.kind) {
            self.fault(self.field_of(fault.term), Fault::new(fault.code, fault.reason, fault.hint));
        }
        for fault in self.out.hookup.faults(self.kind) {
            let field = Field::from_name(fault.field).unwrap_or(Field::Kind);
            self.fault(field, Fault::new(fault.code, fault.reason, fault.hint));
        }
    }

    /// The standards that stand in brackets behind figures are names too.
    fn brackets(&mut self) {
        let long = |text: &Option<String>| text.as_ref().is_some_and(|text| text.chars().count() > LONGEST);
        let found = self.out.ratings.iter().find(|(_, rating)| long(&rating.standard) || long(&rating.edition));
        if let Some(field) = found.map(|(term, _)| self.field_of(term)) {
            let reason = format!("the standard's name is longer than {LONGEST} characters");
            self.fault(field, Fault::new("too-long", reason, Some("put the rest in a note".into())));
        }
    }

    fn field_of(&self, term: Term) -> Field {
        let shared = match term {
            Term::HoseLength => Field::Length,
            Term::CutterOpening | Term::SpreadingDistance => Field::Opening,
            Term::LowestSpreadingForce | Term::HighestSpreadingForce | Term::PushForce | Term::PushForce2 | Term::PushForce3 => Field::Force,
            Term::LowestPullingForce | Term::HighestPullingForce | Term::PullForce => Field::Pull,
            other => Field::Rated(other),
        };
        if self.columns.has(Field::Rated(term)) { Field::Rated(term) } else { shared }
    }
}

/// What the catalogue calls the values of a field; nothing where the field says nothing of this kind.
fn called(kind: Kind, field: Field) -> Vec<&'static str> {
    let two_ended = matches!(kind, Kind::Spreader | Kind::CombinationTool);
    let terms: &[Term] = match field {
        Field::Coupling => return vec![COUPLING],
        Field::ToolCoupling if kind == Kind::Hose => return vec![TOOL_COUPLING],
        Field::Fluid => return vec![FLUID],
        Field::Pressure => return vec![PRESSURE],
        Field::Circuits if kind.is_source() => return vec![CIRCUITS],
        Field::Battery => return vec![BATTERY],
        Field::Standard => return vec![STANDARD],
        Field::Length if kind == Kind::Hose => &[Term::HoseLength],
        Field::Opening if kind == Kind::Cutter => &[Term::CutterOpening],
        Field::Opening if two_ended => &[Term::SpreadingDistance],
        Field::Force if two_ended => &[Term::LowestSpreadingForce, Term::HighestSpreadingForce],
        Field::Force if kind == Kind::Ram => &[Term::PushForce, Term::PushForce2, Term::PushForce3],
        Field::Pull if two_ended => &[Term::LowestPullingForce, Term::HighestPullingForce],
        Field::Pull if kind == Kind::Ram => &[Term::PullForce],
        Field::Rated(term) => return vec![term.label()],
        _ => &[],
    };
    terms.iter().map(|term| term.label()).collect()
}
