//! The sheet of one rig at one instant: what was aboard and in which state, when it was last serviced, which defects were
//! known, and who had done what by then. It owns nothing; it is read from the change log.

mod api;
mod view;

pub use api::routes;
