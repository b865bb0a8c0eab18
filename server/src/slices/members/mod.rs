//! Members: who acts, in which role, how far. Passwords and PINs are no part of the record and never reach the journal.

mod acts;
mod api;
mod audit;
mod feed;
mod ops;
mod told;

pub use api::routes;
pub use audit::{as_told, rights};
pub use feed::{Certificate, Member, SignOff};
pub use ops::{AddMember, bound, note};
pub use told::{MembersTold, TOLD_BY};
