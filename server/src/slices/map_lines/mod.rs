//! Map lines: the agency's own boundaries and roads beneath the marks of its map, the same for everybody of the agency. One record for an
//! agency: what they were called, how many they are, where they lie, who set them and when.
//!
//! - Where the lines run is in no record, so that no feed carries it to a phone: it is read from the command that set them, which the journal
//!   keeps for good, and answered where a map is drawn (`view.rs`).
//! - They are set whole or refused whole, so that nobody takes a part for all.
//! - Nothing is judged by them.

mod api;
mod feed;
mod ops;
mod rows;
mod rules;
mod schema;
mod view;

pub use api::routes;
pub use feed::MapLines;
