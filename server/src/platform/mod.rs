//! The platform knows no noun of the product: databases, the door, sign-in, HTTP, TLS, errors, ids, time.

pub mod auth;
pub mod clock;
pub mod db;
pub mod door;
pub mod error;
pub mod http;
pub mod ids;
pub mod past;
pub mod listing;
pub mod patch;
pub mod record;
pub mod tasks;
pub mod tls;
