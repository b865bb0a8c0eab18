//! Which column holds what: found by the names people give their columns, or chosen by the caller.
//!
//! Names are compared by their letters and digits only, so case, blanks and punctuation do not matter. This module
//! looks at headings, never at what stands below them.

pub use super::fields::Field;
use super::{
    cells::Fault,
    fields::{FIELDS, TERM_WORDS},
    sheet::Record,
};
use fullset_calc::{ratings::Term, units::Unit};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How a column came to its field.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum How {
    /// Its heading is known.
    #[serde(rename = "by name")]
    ByName,
    /// The caller said so.
    #[serde(rename = "chosen")]
    Chosen,
    /// It is passed over.
    #[serde(rename = "not used")]
    NotUsed,
}

/// One column of the file.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct ColumnRead {
    /// Its heading as it stands there.
    pub column: String,
    /// What it is read as.
    #[cfg_attr(feature = "openapi", schema(value_type = Option<String>))]
    pub field: Option<Field>,
    /// Whether the heading decided, the caller chose, or the column is passed over.
    pub how: How,
}

/// The heading of the column of reasons in a file of refused rows. It is never read, so that the file can be corrected and read again.
pub const WHY_REFUSED: &str = "Why it was refused";

/// What the caller chose: heading to field name, or to nothing where the column is to be passed over.
pub type Chosen = BTreeMap<String, Option<String>>;

/// The headings that are known, and what the caller chose.
#[derive(Debug, Clone)]
pub struct Headings {
    /// Letters and digits of a name, to the field and how weak the name is for it.
    known: BTreeMap<String, (Field, usize)>,
    chosen: BTreeMap<String, Option<Field>>,
}

/// The letters and digits of a name, in lower case.
fn squashed(name: &str) -> String {
    name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect()
}

impl Headings {
    /// The known headings with the caller's choice laid over them.
    ///
    /// # Errors
    /// `unknown-field` when the caller names a field that there is none of.
    pub fn new(chosen: &Chosen) -> Result<Self, Fault> {
        let mut known = BTreeMap::new();
        let mut add = |name: &str, field, weakness| {
            known.entry(squashed(name)).or_insert((field, weakness));
        };
        for (field, _, words) in FIELDS {
            words.iter().enumerate().for_each(|(i, word)| add(word, *field, i));
        }
        for (term, words) in TERM_WORDS {
            words.iter().enumerate().for_each(|(i, word)| add(word, Field::Rated(*term), i));
        }
        for term in Term::ALL {
            add(&format!("rated {}", term.label()), Field::Rated(*term), 0);
            add(term.label(), Field::Rated(*term), 0);
        }
        let field = |name: &String| {
            let known = Field::from_name(name.trim());
            known.ok_or_else(|| {
                Fault::new(
                    "unknown-field",
                    format!("there is no field \"{name}\""),
                    Some(format!("choose one of: {}", Field::names())),
                )
            })
        };
        let choose = |(column, name): (&String, &Option<String>)| Ok((squashed(column), name.as_ref().map(field).transpose()?));
        Ok(Self {
            known,
            chosen: chosen.iter().map(choose).collect::<Result<_, Fault>>()?,
        })
    }

    /// Whether a cell is the heading of a column that is read.
    #[must_use]
    pub fn knows(&self, cell: &str) -> bool {
        self.look(cell).is_some_and(|found| found.field.is_some())
    }

    fn look(&self, cell: &str) -> Option<HeadingMatch> {
        if squashed(cell) == squashed(WHY_REFUSED) {
            return None;
        }
        if let Some(field) = self.chosen.get(&squashed(cell)).filter(|_| !cell.trim().is_empty()) {
            return Some(HeadingMatch {
                field: *field,
                weakness: 0,
                unit: unit_of(cell).and_then(|(_, unit)| unit),
                how: How::Chosen,
            });
        }
        let found = |name: &str, unit| {
            self.known.get(&squashed(name)).map(|(field, weakness)| HeadingMatch {
                field: Some(*field),
                weakness: *weakness,
                unit,
                how: How::ByName,
            })
        };
        found(cell, None).or_else(|| unit_of(cell).and_then(|(name, unit)| found(&name, unit)))
    }

    /// The record that holds the most known headings among the first of the file, as its index.
    #[must_use]
    pub fn find(&self, records: &[Record]) -> Option<usize> {
        let score = |record: &Record| record.cells.iter().filter(|cell| self.knows(cell)).count();
        let best = records.iter().take(60).enumerate().map(|(i, record)| (score(record), i));
        best.filter(|(score, _)| *score > 0)
            .max_by_key(|(score, i)| (*score, std::cmp::Reverse(*i)))
            .map(|(_, i)| i)
    }
}

struct HeadingMatch {
    field: Option<Field>,
    weakness: usize,
    unit: Option<Unit>,
    how: How,
}

/// A heading without what stands in brackets or as a last word, and the unit that this is: `Length (ft)`, `Pressure psi`, `Length in mm`.
fn unit_of(heading: &str) -> Option<(String, Option<Unit>)> {
    if let Some((name, rest)) = heading.split_once(['(', '[']) {
        let inner = rest.split([')', ']']).next().unwrap_or_default();
        return Some((name.to_owned(), Unit::from_symbol(inner).ok()));
    }
    let (name, word) = heading.trim().rsplit_once([' ', ',', '_'])?;
    let unit = Unit::from_symbol(word).ok()?;
    let name = name.trim_end_matches([' ', ',', '_']);
    Some((name.strip_suffix(" in").unwrap_or(name).to_owned(), Some(unit)))
}

/// The columns of one file.
#[derive(Debug, Clone)]
pub struct Columns {
    /// Every column, left to right.
    pub list: Vec<ColumnRead>,
    at: BTreeMap<Field, (usize, Option<Unit>)>,
    /// Columns that would have been read as a field which a better heading took.
    pub doubled: Vec<Doubled>,
}

/// A column that is not used because another one is read as its field.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Doubled {
    /// Heading of the column that is not used.
    pub column: String,
    /// Where it stands, from the left.
    pub at: usize,
    /// The heading of the column that is read.
    pub used: String,
    /// Where the column that is read stands, from the left; the first is 0.
    pub used_at: usize,
}

impl Columns {
    /// Reads the heading record.
    ///
    /// # Errors
    /// `unknown-column` when the caller chose for a column that is not there, `field-twice` when he chose two for one
    /// field, `missing-column` when nothing is read as tag or as kind.
    pub fn read(header: &Record, headings: &Headings) -> Result<Self, Fault> {
        let found: Vec<Option<HeadingMatch>> = header.cells.iter().map(|cell| headings.look(cell)).collect();
        let seen = || {
            header
                .cells
                .iter()
                .map(|c| c.trim())
                .filter(|c| !c.is_empty())
                .map(|c| format!("\"{c}\""))
                .collect::<Vec<_>>()
                .join(", ")
        };
        let there: Vec<String> = header.cells.iter().map(|cell| squashed(cell)).collect();
        if let Some(gone) = headings.chosen.keys().find(|name| !there.contains(name)) {
            return Err(Fault::new(
                "unknown-column",
                format!("the file has no column \"{gone}\""),
                Some(format!("the columns are {}", seen())),
            ));
        }
        // A chosen column takes its field before any other, then the strongest name, then the leftmost.
        let mut at: BTreeMap<Field, (usize, Option<Unit>)> = BTreeMap::new();
        let mut order: Vec<(bool, usize, usize)> = Vec::new();
        for (i, f) in found.iter().enumerate() {
            if let Some(f) = f {
                order.push((f.how != How::Chosen, f.weakness, i));
            }
        }
        order.sort_unstable();
        let mut doubled = Vec::new();
        for (_, _, i) in order {
            let Some(Some(HeadingMatch {
                field: Some(field), unit, how, ..
            })) = found.get(i)
            else {
                continue;
            };
            if let Some((first, _)) = at.get(field) {
                let name = |i: usize| header.cells.get(i).map(|c| c.trim().to_owned()).unwrap_or_default();
                if *how == How::Chosen {
                    let reason = format!("the columns \"{}\" and \"{}\" are both chosen for {}", name(*first), name(i), field.name());
                    return Err(Fault::new("field-twice", reason, Some("choose one column for each field".into())));
                }
                doubled.push(Doubled {
                    column: name(i),
                    at: i,
                    used: name(*first),
                    used_at: *first,
                });
            } else {
                at.insert(*field, (i, *unit));
            }
        }
        for (field, word) in [(Field::Tag, "the asset tag"), (Field::Kind, "the kind of piece")] {
            if !at.contains_key(&field) {
                let hint = format!("head a column \"{}\", or choose one for \"{}\"", field.export_name(), field.name());
                return Err(Fault::new(
                    "missing-column",
                    format!("no column is known to hold {word}; the columns are {}", seen()),
                    Some(hint),
                ));
            }
        }
        let list = header.cells.iter().zip(&found).enumerate().map(|(i, (cell, f))| {
            let field = f.as_ref().and_then(|f| f.field).filter(|field| at.get(field).is_some_and(|(own, _)| *own == i));
            let how = match (f, field) {
                (Some(f), _) if f.how == How::Chosen => How::Chosen,
                (Some(_), Some(_)) => How::ByName,
                _ => How::NotUsed,
            };
            ColumnRead {
                column: cell.trim().to_owned(),
                field,
                how,
            }
        });
        Ok(Self {
            list: list.collect(),
            at,
            doubled,
        })
    }

    /// The cell of a field; empty where the column or the cell is not there.
    #[must_use]
    pub fn cell<'a>(&self, record: &'a Record, field: Field) -> &'a str {
        self.at.get(&field).and_then(|(i, _)| record.cells.get(*i)).map_or("", String::as_str)
    }

    /// Whether a column holds the field.
    #[must_use]
    pub fn has(&self, field: Field) -> bool {
        self.at.contains_key(&field)
    }

    /// The heading of the field's column.
    #[must_use]
    pub fn heading(&self, field: Field) -> Option<&str> {
        self.at.get(&field).and_then(|(i, _)| self.list.get(*i)).map(|column| column.column.as_str())
    }

    /// The unit that the heading gives to bare numbers.
    #[must_use]
    pub fn unit(&self, field: Field) -> Option<Unit> {
        self.at.get(&field).and_then(|(_, unit)| *unit)
    }

    /// The rated terms that have a column of their own.
    pub fn terms(&self) -> impl Iterator<Item = Term> + '_ {
        self.at
            .keys()
            .filter_map(|field| if let Field::Rated(term) = field { Some(*term) } else { None })
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(cells: &[&str], chosen: &[(&str, Option<&str>)]) -> Result<Columns, Fault> {
        let chosen = chosen.iter().map(|(c, f)| ((*c).to_owned(), f.map(str::to_owned))).collect();
        let header = Record {
            line: 1,
            cells: cells.iter().map(|c| (*c).to_owned()).collect(),
        };
        Columns::read(&header, &Headings::new(&chosen)?)
    }

    #[test]
    fn columns_are_known_by_many_names_and_by_the_stronger_of_two() {
        let columns = read(
            &[
                "ID",
                " ASSET-TAG ",
                "tool_type",
                "Length (ft)",
                "Working pressure psi",
                "Length of lunch",
                "weight [lb]",
            ],
            &[],
        )
        .unwrap();
        let fields: Vec<_> = columns.list.iter().map(|c| c.field.map(Field::name)).collect();
        assert_eq!(fields, [None, Some("tag"), Some("kind"), Some("length"), Some("pressure"), None, Some("mass")]);
        assert_eq!(columns.unit(Field::Length), Some(Unit::Foot));
        assert_eq!(columns.unit(Field::Pressure), Some(Unit::Psi));
        let doubled: Vec<_> = columns
            .doubled
            .iter()
            .map(|one| (one.column.as_str(), one.used.as_str(), one.at, one.used_at))
            .collect();
        assert_eq!(doubled, [("ID", "ASSET-TAG", 0, 1)]);
    }

    #[test]
    fn the_caller_chooses_and_can_leave_a_column_out() {
        let columns = read(&["Nummer", "Kind", "Note", "Station"], &[("nummer", Some("tag")), ("Note", None)]).unwrap();
        let how: Vec<_> = columns.list.iter().map(|c| (c.field.map(Field::name), c.how)).collect();
        assert_eq!(
            how,
            [
                (Some("tag"), How::Chosen),
                (Some("kind"), How::ByName),
                (None, How::Chosen),
                (Some("station"), How::ByName)
            ]
        );
        assert_eq!(read(&["Tag", "Kind"], &[("Tag", Some("tug"))]).unwrap_err().code, "unknown-field");
        assert_eq!(read(&["Tag", "Kind"], &[("Tug", Some("tag"))]).unwrap_err().code, "unknown-column");
        assert_eq!(
            read(&["Tag", "Kind", "A", "B"], &[("A", Some("note")), ("B", Some("note"))]).unwrap_err().code,
            "field-twice"
        );
    }

    #[test]
    fn a_missing_tag_or_kind_names_the_columns_seen() {
        let fault = read(&["Kind", "Serial"], &[]).unwrap_err();
        assert_eq!(fault.code, "missing-column");
        assert!(fault.reason.contains("asset tag") && fault.reason.contains("\"Serial\""), "{}", fault.reason);
        assert!(read(&["Tag", "Serial"], &[]).unwrap_err().reason.contains("kind"));
    }

    #[test]
    fn every_export_name_reads_back_as_its_field() {
        let headings = Headings::new(&Chosen::new()).unwrap();
        let rated = Term::ALL.iter().map(|term| Field::Rated(*term));
        for field in FIELDS.iter().map(|(field, ..)| *field).chain(rated) {
            assert_eq!(
                headings.look(&field.export_name()).and_then(|f| f.field),
                Some(field),
                "{}",
                field.export_name()
            );
            assert_eq!(Field::from_name(field.name()), Some(field));
        }
    }
}
