//! Uses: what a rig's pieces were used for, and for how long. Recording one only adds, so it never conflicts, whatever has
//! become of the pieces since.

mod api;
mod feed;
mod ops;

pub use api::routes;
pub use feed::{Use, UseId};
