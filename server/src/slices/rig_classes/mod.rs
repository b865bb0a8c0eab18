//! Rig classes: rigs that must carry the same complement. The complement is kept inside its class, whole, because it is
//! read and changed as a whole.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{RigClass, RigClassId};
pub use rules::eased;
