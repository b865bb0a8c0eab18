//! The register as a file.

mod api;

pub use api::routes;
