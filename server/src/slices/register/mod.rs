//! The register as a file: read in by one command that can be undone, written out so that it reads back in.
//!
//! | file | holds |
//! | --- | --- |
//! | `fields.rs`, `columns.rs` | which column holds what |
//! | `cells.rs`, `dates.rs`, `figures.rs` | what one cell says |
//! | `spots.rs`, `whereabouts.rs`, `places.rs` | what a place is called, and which new places the file bears out |
//! | `families.rs` | coupling and battery families, each by one name |
//! | `facts.rs`, `catalogue.rs` | models made from what the rows say |
//! | `sifting.rs`, `gathering.rs`, `reading.rs` | the whole file: rows, refusals, what was passed over |
//! | `writing.rs` | the export |
//!
//! Bytes become cells in `platform/sheet.rs`. Everything up to here is pure. `ops.rs` brings a reading into the agency, `undo.rs` takes it back,
//! `export.rs` takes the register out of it.

mod api;
mod catalogue;
mod cells;
mod columns;
mod dates;
mod export;
mod facts;
mod families;
mod feed;
mod fields;
mod figures;
#[cfg(test)]
mod figures_tests;
mod gathering;
mod ops;
mod places;
mod reading;
#[cfg(test)]
mod reading_tests;
mod sifting;
mod spots;
mod undo;
mod whereabouts;
mod writing;

use crate::platform::sheet;

pub use api::routes;
pub use dates::DateOrder;
pub use export::export;
pub use feed::{Import, Report};
pub use ops::{Choices, Held};
pub use places::CreatePlaces;
