//! Service plans: one period for every set that is due for its annual service, so that no district is stripped.
//!
//! - A set is due when the first of its pieces is; a piece is due as capability judges it.
//! - What a plan may do to a district is reckoned from now: full rigs and stand-ins less the minimum. A stand-in that is itself in
//!   the shop stands in nowhere: where stand-ins make up what a district can spare, a reserve set takes a place like any other.
//!   A set of a rig that is not full now takes no place either: with it away its district has as many full rigs as it was reckoned by.
//!   Where the district can spare nothing, or a person says what it can spare, reserve sets go at any time: no rig drops by it.
//! - A person decides: a plan is worked out without a trace, kept as a draft, and holds when it is published.
//! - Two published plans do not hold the same set on the same days.

mod api;
mod calendar;
mod due;
mod facts;
mod feed;
mod ops;
mod rules;
mod work;

pub use api::routes;
pub use feed::{ServicePlanId, ServicePlanRecord};
