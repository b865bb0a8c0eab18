//! One period for every set that is due for service, without stripping a district.
//!
//! Each set must be served in one period of its window, at one of its shops; shops have hours in each period; a district can spare only so many sets at once
//! (its full rigs less its minimum, stand-ins added). Aims in this order: least total lateness against the due periods, then least peak, the most
//! hours that any shop has to work in any period.
//!
//! Packing whole sets into hours is hard in general, so several methods work together, each where it is exact:
//!
//! - least-cost flow over districts and periods: the least lateness that the districts' limits allow, and, when nothing fits, a cut that names the
//!   sets and periods that stand in the way (`obstacles`);
//! - prices for the hours of each period on that flow: a bound of the peak (`prices`);
//! - flow of hours, sets cut into hours: the same for the shops;
//! - swaps and moves with a memory (`local`) find plans for a stated peak and lateness;
//! - a depth-first search with interval reasoning (`exact`) finds such a plan or proves that there is none. Peak and lateness are narrowed down
//!   between what is proved impossible and what was found, so the answer is exact or comes with the gap.
//!
//! Pinned sets stay where they are, so a plan is made anew around them.

mod anneal;
mod answer;
mod even;
mod exact;
mod input;
mod limits;
mod local;
mod obstacles;
mod plan;
mod prices;
mod task;
mod tell;
mod walk;

pub use answer::{Assigned, Obstacle, ObstacleKind, Relief, ServicePlan, ShopLoad, Verdict};
pub use input::{District, Pin, STAND_INS, Set, Shop, StandIn, Year, spare};

use crate::unfit::Unfit;
use crate::watch::{Watch, Work};

/// The best plan of a year, or why there is none.
///
/// # Errors
/// A number of a district, shop or period that does not exist, more than 128 periods, or hours that are no number.
pub fn service_plan(year: &Year, budget: u64, watch: &mut dyn Watch) -> Result<ServicePlan, Unfit> {
    let task = task::task(year)?;
    let mut work = Work::new(budget, watch);
    let outcome = plan::plan(&task, &mut work);
    Ok(tell::tell(year, &task, outcome))
}
