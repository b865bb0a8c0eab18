//! Rigs: vehicles that carry tools. A rig that is out of service has no capability, whatever it carries.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{Rig, RigId};
pub use ops::scope_of;
