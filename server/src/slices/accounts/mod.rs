//! The own account: password, second factor, sign-ins; and what an admin sees and ends of those of members within reach.
//!
//! - Nothing secret stands in a command, the journal or a feed: passwords and codes come to addresses of their own, and what the service
//!   then tells itself carries hashes that are not kept.
//! - A second factor is turned off by a code alone, and never by what a stolen browser has. Who has lost authenticator and recovery codes
//!   asks an admin within reach, whose act the journal and the list of events tell of.

mod api;
mod factor;
mod ops;
mod passkeys;
mod view;

pub use api::{hashed, routes};
