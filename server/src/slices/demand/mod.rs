//! Demand: where crashes happen, in zones with a weight, and how long rigs take to get there. One record for an agency. It
//! is set whole, by hand or from files; what it was before stays in its history. Travel times that were measured, or come
//! from a road network, go before the published curve.

mod api;
mod feed;
mod ops;
mod reading;
mod times;

pub use api::routes;
pub use feed::{Demand, Minutes};
