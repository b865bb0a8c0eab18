//! The bench: in which order the shop should take its open tickets, by what comes back when the piece goes home. It owns
//! nothing; it is read from tickets, the rigs and the demand that they reach.

mod api;
mod view;

pub use api::routes;
