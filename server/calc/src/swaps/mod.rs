//! Which pieces to move so that full rigs reach the most demand.
//!
//! Reach is a union: a zone that two rigs reach counts once, and a rig reaches nothing until its last gap is filled. So the gains of moves do not
//! add up, and no plain assignment is right. Aims in this order: most weight reached by full rigs, fewest moves, fewest minutes of travel.
//!
//! The search runs over sets of rigs to be made full (see `search`); which piece then goes where is a least-cost flow. Exact for the sizes of a
//! district day (30 gaps, 200 donors) as a rule; out of budget, the best plan found and a bound.
//!
//! The caller says which donor fits which gap ([`Fit`]): every piece that, put aboard, fills the slot there (`capability::with_piece`), with its minutes. A donor on
//! a rig never makes that rig drop a level: hand in as donors only pieces whose loss alone does not drop it (those not `critical`), and one
//! [`Group`] for each rig with `most` = its margin, at least 1. A rig that is down anyway may give more: such a donor `strips` its rig, which
//! then cannot be made full by the same plan.

mod answer;
mod input;
mod pairs;
mod search;
mod zones;

pub use answer::{Move, Restored, SwapPlan, Unrestored};
pub use input::{Day, Donor, Fit, Gap, Group, Home, Rig};

use crate::unfit::Unfit;
use crate::watch::{Watch, Work};

/// The best swap plan.
///
/// # Errors
/// Numbers of zones, rigs, gaps, donors or groups that do not exist, an amount that is no number, or a donor that would strip a full rig.
pub fn swap_plan(day: &Day, budget: u64, watch: &mut dyn Watch) -> Result<SwapPlan, Unfit> {
    let task = zones::task(day)?;
    let mut work = Work::new(budget, watch);
    let found = search::best(&task, &mut work);
    Ok(answer::tell(day, &task, &found))
}
