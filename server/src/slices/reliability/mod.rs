//! Reliability: how often pieces stop, for how long, and whether it gets worse; with the bounds that the record allows, and
//! the stops behind every number. It owns nothing; it is read from the states that pieces have had.

mod api;
mod facts;
mod groups;
mod lives;
mod period;
mod view;

pub use api::routes;
pub use facts::{Histories, History, ModelNow, PieceNow, StandIn};
pub use period::{Period, PeriodQuery};
