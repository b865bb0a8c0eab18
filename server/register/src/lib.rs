//! The register as a spreadsheet. Pure: no clock, no randomness, no database, no I/O; what the agency has, and the day, are arguments.
//!
//! [`RegisterFile::parse`] turns the bytes of a file into lines with what each says by itself; [`RegisterFile::against`] turns
//! them into a [`Reading`]: rows to take over, rows refused with the reason and what to write instead, places and models that
//! the file brings in, and what somebody should look at. [`write`] is the way back: what it writes reads back without difference.
//!
//! | module | holds |
//! | --- | --- |
//! | `sheet` | bytes as records of cells: encoding, delimiter, quotes |
//! | `workbook` | the same from `.xlsx` and `.ods`, where a number is a number and a date a date |
//! | `fields`, `columns` | which column holds what |
//! | `cells`, `words`, `spoilt`, `figures` | what one cell says |
//! | `dates`, `date_order`, `months` | what a date says, and which number of it is the month |
//! | `spots`, `whereabouts`, `places` | what a place is called, and which new places the file bears out |
//! | `families` | coupling and battery families, each by one name |
//! | `facts`, `catalogue` | models made from what the rows say |
//! | `tags`, `known` | tags that look alike, and pieces that the agency has |
//! | `file`, `sifting`, `gathering` | the whole file: rows, refusals, what was passed over |
//! | `reading` | how to read, what the agency has, and what comes of it |
//! | `writing` | the export |

mod catalogue;
mod cells;
mod columns;
#[cfg(test)]
mod corpus_tests;
mod date_order;
mod dates;
mod facts;
mod families;
mod fields;
mod figures;
#[cfg(test)]
mod figures_tests;
mod file;
mod gathering;
#[cfg(test)]
mod misread_tests;
mod known;
#[cfg(test)]
mod known_tests;
mod months;
mod places;
mod reading;
#[cfg(test)]
mod reading_tests;
mod sheet;
mod sifting;
mod spoilt;
mod spots;
#[cfg(test)]
mod styles_tests;
mod tags;
mod whereabouts;
mod words;
mod workbook;
mod writing;

pub use catalogue::{KnownModel, ReadModel, model_key};
pub use cells::{Fault, RowState, gear_named, unguarded};
pub use columns::{Chosen, ColumnRead, Field, How, WHY_REFUSED};
pub use dates::DateOrder;
pub use file::{MOST_PIECES, RegisterFile};
pub use reading::{
    KnownRegister, LookAlikes, Note, Options, PassedOver, ReadCoupling, ReadDistrict, ReadLender, ReadPlaces, ReadRig, ReadShop, ReadStation, Reading, Refusal,
    RegisterRow, Unchanged,
};
pub use sheet::{Delimiter, Encoding, Record, Sheet};
pub use whereabouts::{CreatePlaces, KnownPlaces, KnownRig, KnownStation, ReadPlace};
pub use workbook::OtherSheet;
pub use writing::{ExportRow, write};
