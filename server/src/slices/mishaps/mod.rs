//! Mishaps: near misses and injuries with a tool. What happened, where and with which pieces; nobody's name but who tells it, and nothing of
//! anybody's health.
//!
//! - Who tells of one may take its pieces out of service with it; what comes back does so by the rules of every other piece.
//! - The coordinator closes it, with what was found and done. Nothing of what was told is changed after.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Mishap, MishapDuring, MishapId, MishapSort, MishapState};
