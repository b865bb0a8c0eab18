//! How rigs and pieces stand: computed, never typed in. One record for each rig (level, list, confirmation) and one for each
//! piece ("may I use it?"), under the rig's or piece's own id; how the rig stood is kept as intervals from the first command on.
//! An answer that runs out is settled at the instant at which it does, however late anybody looks.

mod api;
mod audit;
mod clock;
mod feed;
mod fit;
mod fleet;
mod load;
mod ops;
mod remedies;
mod rows;
mod rules;

pub use api::routes;
pub use audit::{Judged, judge_again};
pub use clock::{keep_time, settle_all};
pub use feed::{PieceStanding, PlanDue, RigStanding};
pub use fit::fit;
pub use fleet::{Fleet, FleetPiece};
pub use load::Aboard;
pub use ops::follow;
pub use rules::{AnnualService, annual_service, last_pass};
