//! Repair tickets at a shop. A piece comes back to service through its ticket only after a test that passed, with
//! the readings that what it went out for asks for, and by a named person. A passed annual service sets the day of the last service.

mod acts;
mod api;
mod feed;
mod ops;
mod rules;

mod testing;

pub use api::routes;
pub use feed::{LineKind, Ticket, TicketState};
