//! What Fullset computes, as plain values in and plain values out.
//!
//! No clock, no randomness, no database, no HTTP, no logging: `Cargo.toml` proves it, time is an argument.
//!
//! | module | answers |
//! | --- | --- |
//! | [`units`] | what a typed quantity is in SI, and which unit a force may not have |
//! | [`ratings`] | what a tool is rated for, by which standard and edition, and whether that meets a minimum |
//! | [`hookup`] | which source, hose and tool fit each other, and how many tools run at once |
//! | [`matching`] | the largest pairing of slots and pieces, and which slots compete for the same pieces |
//! | [`capability`] | whether a rig is full, limited or none; why; what mends it; until when the answer holds |
//! | [`reliability`] | how often pieces fail, how long they are away, whether it gets worse; with bounds |
//! | [`reserves`] | how many spare pieces to keep, and what the next one is worth |
//!
//! Inside: N, mm, kPa, kg, s, L. In and out: the unit that was typed is kept.

mod amount;
pub mod capability;
pub mod hookup;
pub mod matching;
pub mod ratings;
pub mod reliability;
pub mod reserves;
#[cfg(feature = "openapi")]
mod schema;
mod sets;
mod unfit;
pub mod units;
mod watch;

pub use unfit::Unfit;
pub use watch::{Unwatched, Watch};
