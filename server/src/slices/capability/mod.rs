//! Capability: full, limited or none — computed, never typed in. One record for each rig, under the rig's own id; how the
//! rig stood is kept as intervals from the first command on.

mod api;
mod clock;
mod feed;
mod fleet;
mod load;
mod ops;
mod rows;
mod rules;

pub use api::routes;
pub use clock::keep_time;
pub use feed::Capability;
pub use fleet::{Fleet, Held};
pub use load::Aboard;
pub use ops::follow;
pub use rules::{AnnualService, annual_service};
