//! What the crate says against published values, against a second library, and against its own laws.

#![allow(clippy::unwrap_used, clippy::indexing_slicing)]

mod bounds;
mod checks;
mod dues;
mod kit;
mod occurrences;
mod plans;
mod starters;
mod trends;
