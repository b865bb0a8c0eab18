//! Reserves: which pieces can stand in for which, how many spares each family has, and how many it should have. It owns
//! nothing; it is read from the register and from the stops of [reliability](super::reliability).

mod api;
mod family;
mod sizing;
mod view;
mod waits;

pub use api::routes;
