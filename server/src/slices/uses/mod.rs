//! Uses: what a rig's pieces were used for, and for how long. Recording one only adds, so it never conflicts, whatever has
//! become of the pieces since. Looked over afterwards, the pieces count as checked again, and those still on that rig as tried on it.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Use, UseId};
