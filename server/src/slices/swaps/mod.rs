//! Swaps: a piece takes another's slot on a rig, until the swap is ended or made permanent. First come, first served: a
//! reserve that stands in somewhere already cannot be taken a second time.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Swap, SwapId, SwapState};
pub use ops::{Judged, StartSwap};
