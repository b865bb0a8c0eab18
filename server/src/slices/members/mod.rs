//! Members: who acts, in which role, how far. Passwords are no part of the record and never reach the journal.

mod api;
mod feed;
mod ops;

pub use api::{SignIn, routes};
pub use feed::Member;
pub use ops::AddMember;
