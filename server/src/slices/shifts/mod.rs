//! Shifts: who belongs to which shift of a station. What a station's members are signed off on is counted by them; who is on a rig today
//! is the crews' matter.
//!
//! - A station's shifts are told apart by name, whatever the capitals.
//! - A station without shifts on record is one of which nobody knows; it is never taken to have none. That it has no
//!   such shift is a fact that somebody states: `exists` is false, and nobody belongs to it.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::Shift;
