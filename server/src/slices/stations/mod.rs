//! Stations: fire houses. A station belongs to one district and has a reserve shelf.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{Station, StationId};
