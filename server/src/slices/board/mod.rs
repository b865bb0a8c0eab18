//! The board: who can do a full extrication now, and what is missing on the others. It owns nothing; it is read from
//! districts, stations, rigs and their capability, of one and the same revision.

mod api;
mod counts;
mod view;

pub use api::routes;
pub use counts::Counts;
pub use view::BoardRecords;
