//! Uses: what a rig's pieces were used for, and for how long. Recording one only adds, so it never conflicts, whatever has
//! become of the pieces since. Looked over afterwards, the pieces count as checked again, and those still on that rig as tried on it.
//!
//! What plans by uses and running hours count is kept beside, one row for each piece of a use (`rows.rs`); a use that is corrected counts
//! as corrected, and the minutes of one count for each of its pieces.

mod api;
mod feed;
mod ops;
mod rows;
mod rules;

pub use api::routes;
pub use feed::{Use, UseId};
pub use ops::read_meter;
pub use rows::{Ran, RanOf, ran_since};
