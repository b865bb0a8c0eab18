//! Rigs: vehicles that carry tools. A rig that is out of service has no capability, whatever it carries.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Duty, OutAt, Rig, RigId};
pub use ops::{put_in_place, scope_of};
pub use rules::{duty_after, may_exchange};
