//! Sign-ins: who is here, by password, by a device's code, by refresh token, and until when.

mod api;
mod limits;

pub use api::routes;
