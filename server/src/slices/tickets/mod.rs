//! Repair tickets at a shop. A piece comes back to service through its ticket only after a test that passed, with a
//! measured value, and by a named person.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{LineKind, Ticket, TicketState};
