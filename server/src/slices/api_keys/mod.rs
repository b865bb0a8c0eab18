//! Keys of programs: `Authorization: Bearer fsk_...` and 43 signs, on reads, on the feed and on `POST /v1/commands`.
//!
//! - The client makes the secret; the service is told the SHA-256 of its 43 signs alone. Only who made it can show it, once.
//! - A key reads, or sends some kinds of commands, or what a role below admin may send; never what takes a person (`Act::PERSONAL`), and
//!   nothing that lets count what did not: a program is nobody who looked.
//! - Its reach is no more than its maker's, and it answers no longer than its maker is an admin with the role and the reach of then: who made
//!   it has seen the secret.

mod api;
mod audit;
mod feed;
mod ops;

pub use api::routes;
pub use audit::as_told;
pub use feed::{ApiKeyRecord, KeyId, KeyScope, KeyState};
pub use ops::ProgramKinds;
