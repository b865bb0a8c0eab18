//! Service plans: one period for every set that is due for its annual service, so that no district is stripped.
//!
//! - A set is due when the first of its pieces is; a piece is due as capability judges it.
//! - What a plan may do to a district is reckoned from now: full rigs less the minimum may be away, and beside them those for which a reserve set
//!   stands in. A reserve set counts only where it is judged to make a rig of its district full whose own set is away, in that week, one rig at a
//!   time (`stand_ins.rs`), and while it is not at the shop itself. A set of a rig that is not full now takes no place: with it away its
//!   district has as many full rigs as it was reckoned by. Where a person says what a district can spare, reserve sets count for nothing there
//!   and go at any time.
//! - A person decides: a plan is worked out without a trace, kept as a draft, and holds when it is published.
//! - Two published plans do not hold the same set on the same days.

mod api;
mod bounds;
mod calendar;
mod due;
mod facts;
mod feed;
mod ops;
mod rules;
mod stand_ins;
mod work;

pub use api::routes;
pub use feed::{ServicePlanId, ServicePlanRecord};
