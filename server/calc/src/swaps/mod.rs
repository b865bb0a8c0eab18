//! Which pieces to move so that full rigs reach the most demand.
//!
//! Reach is a union: a zone that two rigs reach counts once, and a rig reaches nothing until the last piece that it lacks is aboard. So the gains of
//! moves do not add up, and no plain assignment is right. Aims in this order: most weight reached by full rigs, fewest moves, fewest minutes of travel.
//!
//! What makes a rig full is asked of the judge: every smallest set of at most three pieces that could come, judged whole (`capability::mends`). Sets
//! that differ in one piece alone are one [`Mend`], with the pieces that would do for each [`Want`]. [`Judged`] works them out for a [`Fleet`].
//!
//! The search runs over rigs to be made full and ways to do it (see `search`); which piece then goes where is a least-cost flow. Exact for the sizes of
//! a district day (30 rigs that want something, 200 donors) as a rule; out of budget, the best plan found and a bound.
//!
//! What a plan may do:
//! - A rig gives only what it can spare as it stands: nothing comes to make good for what goes. Of pieces that are alike on it at most so many go as
//!   do not lower it ([`Group`]); what goes of several sorts is judged together once it is planned (`joint`).
//! - A rig that is made full keeps what its mend rests on.
//! - A district that is short keeps what its own pieces would mend (`home`).

mod answer;
mod bound;
mod fleet;
mod home;
mod input;
mod joint;
mod merge;
mod pairs;
mod search;
mod shape;
mod zones;

pub use answer::{Move, Restored, SwapPlan, UndecidedRig, Unrestored};
pub use fleet::{Fleet, FleetDonor, FleetRig, Gives, Judged};
pub use input::{Day, District, Donor, Fit, Group, Home, Instead, Mend, Planned, Rig, Together, Unjudged, Want};

use crate::unfit::Unfit;
use crate::watch::{Watch, Work};

/// The best swap plan of which all moves do together.
///
/// # Errors
/// Numbers of zones, rigs, donors, groups or districts that do not exist, or an amount that is no number.
pub fn swap_plan(day: &Day, together: &mut dyn Together, budget: u64, watch: &mut dyn Watch) -> Result<SwapPlan, Unfit> {
    let mut work = Work::new(budget, watch);
    let planned = joint::best(&home::kept_home(day), together, &mut work)?;
    Ok(answer::tell(day, &planned))
}

/// The best swap plan of a fleet.
///
/// # Errors
/// As [`swap_plan`].
pub fn fleet_plan(fleet: &Fleet<'_>, minutes: impl Fn(usize, usize) -> f64, budget: u64, watch: &mut dyn Watch) -> Result<SwapPlan, Unfit> {
    let mut judged = Judged::new(fleet, minutes);
    let day = judged.day.clone();
    swap_plan(&day, &mut judged, budget, watch)
}
