//! Tool sets: pieces that are issued together. A set has a home; its pieces may be away from it.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::ToolSet;
