//! Crews: who is on a rig, until when. One for each rig, said anew at each relief; what is not said, or is over, is not known. A
//! rig's level never hangs on it: what nobody aboard is signed off on is said beside the level.

mod api;
mod feed;
mod ops;
mod view;

pub use api::routes;
pub use feed::Crew;
