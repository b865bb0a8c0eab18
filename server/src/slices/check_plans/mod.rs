//! Check plans: what is asked of which pieces, how often, and who signs. The agency writes them, or takes over a starter plan and
//! answers for it from then on. What a plan is, and when a check is due by it, is decided in `fullset_care`.
//!
//! - No plan counts before a coordinator or admin has put it in force.
//! - A change makes a new version; what was checked by an earlier one keeps the steps that it answered.
//! - A plan that asks less than before lets pieces count that did not: it needs a reason.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{CheckPlan, CheckPlanId, CheckPlanState, DatedVersion, PlanRule};
pub use rules::calendar;
