//! Pieces: one tracked thing with an asset tag.
//!
//! - A piece is in one place. Moving it is one act with two ends; until the far end confirms, it is in transit and
//!   counts nowhere.
//! - *Out of service* always wins. Only a named person opens the other way, on the revision that was seen, and not
//!   while an open defect or ticket holds the piece.
//! - Its dates lie in no future, and none before its make: `rules::dates`, through every door.
//! - Tags are never used again, not even after retirement.

mod api;
mod exchange;
mod feed;
mod ops;
mod place;
mod rules;

pub use api::routes;
pub use feed::{Hold, HoldBy, Piece, PieceId, PieceState, SetId};
pub use ops::{hold, put_out, release, scope_at};
pub use place::{Place, check_dates, check_place};
pub use rules::{Dates, dates};
