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
//! | [`assignment`] | the cheapest pairing of rows and columns |
//! | [`instant`] | how an instant is written |
//! | [`plate`] | what stands on a piece's plate and in its papers: its serial number and its dates |
//! | [`capability`] | a rig's level by the agency's grades, its list, its confirmation; why; what mends it; until when that holds |
//! | [`coverage`] | which zones a full rig reaches in time, what is lost when one drops, where reserve sets bring most |
//! | [`swaps`] | which pieces to move so that full rigs reach the most demand |
//! | [`service_plan`] | one period for every set that is due, without stripping a district; or what stands in the way |
//! | [`bench`] | in which order the shop should take its tickets |
//! | [`standing`] | shares of each month at each level |
//! | [`reliability`] | how often pieces fail, how long they are away, whether it gets worse; with bounds |
//! | [`release`] | who may let a broken piece stay in use, who may return it, and on what evidence |
//! | [`field_trial`] | what several evaluators' answers about candidate tools come to, and how far their order can be told |
//! | [`reserves`] | how many spare pieces to keep, and what the next one is worth |
//!
//! Inside: N, mm, kPa, kg, s, L. In and out: the unit that was typed is kept.

mod amount;
pub mod assignment;
pub mod bench;
pub mod capability;
pub mod coverage;
pub mod field_trial;
mod flow;
pub mod hookup;
pub mod instant;
pub mod matching;
pub mod plate;
pub mod ratings;
pub mod release;
pub mod reliability;
pub mod reserves;
#[cfg(feature = "openapi")]
mod schema;
pub mod service_plan;
mod sets;
pub mod standing;
pub mod swaps;
mod unfit;
pub mod units;
mod watch;

pub use amount::percent;
pub use unfit::Unfit;
pub use watch::{Unwatched, Watch};
