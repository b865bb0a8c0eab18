//! Checks: what a plan asked of a piece, what was answered, and what that shows.
//!
//! There is one record for each plan and piece: the latest check. What came before is its history, as of any record; so the feed grows
//! with the pieces, not with the years.
//!
//! - A check is judged by `fullset_care`, by the version of the plan that it answers. Only *passed* proves anything.
//! - A step that failed is a defect of its class, by the rules of every other defect; one that is known from the check before, and still
//!   open, is seen again.
//! - A check that arrives late replaces no later one; what failed in it is reported all the same.
//! - A check by a version that was no longer in force when it was done is kept, and proves nothing.
//! - What fails anybody may say of any piece; a check that is passed stays within the member's reach.
//! - Software never returns a piece: a passed check ends no defect and no hold.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Check, CheckId, CheckWalk};
pub use rules::{facts, known};
