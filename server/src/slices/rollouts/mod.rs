//! Rollouts: an agency replaces a hydraulic set by a new one, rig by rig, over weeks.
//!
//! - No rig changes over before everything that comes before it stands: what that is, is one function, `stages::stages`, which the command
//!   asks and the screen shows.
//! - What the records say is worked out and never ticked; what they cannot say (marks on the pieces, the compartment) is the word of a named
//!   person, and is void when the pieces change.
//! - A shift whose roster is not on record holds the changeover: unknown is not trained. So does a sign-off that has run out,
//!   and a member who is on two rosters of a station counts for neither. That a station has no such shift is a fact on record, and holds nothing.
//! - The new pieces of a rig go aboard no rig before its changeover, by whatever door: `pieces::keep_for`.
//! - The old set leaves and the new one comes in one act, so that the two are never aboard together.
//! - Which joints of the two sets somebody could make by accident is worked out from the models (`fullset_calc::hookup::cross_joints`),
//!   once for a rollout. What is not on record is unknown, and nothing is ever said to be safe.

mod acts;
mod api;
mod change_over;
mod facts;
mod feed;
mod kin;
mod ops;
mod rig;
mod rules;
mod sets;
mod shift;
mod stages;
mod view;

pub use api::routes;
pub use feed::{Rollout, RolloutId, ShiftMinimum};
pub use rig::{RolloutRig, RolloutRigId, RolloutWord, WentTo};
