//! Models: catalogue entries. What a tool is rated for is said once here, each rating with its standard and edition.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{Model, ModelId};
pub use ops::{sourced, values};
