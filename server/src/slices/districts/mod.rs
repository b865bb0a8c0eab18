//! Districts: groups of stations under one chief, with the number of full rigs below which the district is short.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{District, DistrictId};
