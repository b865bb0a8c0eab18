//! Handovers: what one shift of a station or district gave the next to read, and that the next has taken it. One record for each place, given
//! anew at each change of shift; those before are its history.
//!
//! - The record keeps a copy of the sheet as it stood on the giver's screen: that is what was read, and nothing works it out again. It is no
//!   finding of the service about any rig.
//! - Who took it is somebody else than who gave it.
//! - A sheet that is longer than what is kept is cut, and says how many lines are not in the copy.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Handover, HandoverId, HandoverPart, HandoverState};
