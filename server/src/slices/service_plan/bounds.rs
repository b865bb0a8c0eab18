//! How long the lists are that a plan is asked with: looked at before anything is read, so that a list without end costs nothing.

use super::{
    feed::{PlanAsk, PlanVisit},
    rules::PERIODS,
};
use crate::platform::{
    door::{at_most, each_once},
    error::Fault,
};

/// Most sets of a plan, each of them visited once: more than any agency has.
const SETS: usize = 2000;
/// Most shops of a plan.
const SHOPS: usize = 200;
/// Most districts of a plan.
const DISTRICTS: usize = 500;

/// Refuses more visits than a plan has.
pub fn visits_bounded(visits: &[PlanVisit]) -> Result<(), Fault> {
    at_most("body.visits", visits, SETS, "visit")
}

impl PlanAsk {
    /// Refuses lists that are longer than any plan's; a fault names its field under `root`.
    pub fn bounded(&self, root: &str) -> Result<(), Fault> {
        let periods = PERIODS as usize;
        at_most(&format!("{root}.hours"), &self.hours, SETS, "set")?;
        at_most(&format!("{root}.pins"), &self.pins, SETS, "set")?;
        at_most(&format!("{root}.shops"), &self.shops, SHOPS, "shop")?;
        for (at, shop) in self.shops.iter().enumerate() {
            let field = format!("{root}.shops[{at}]");
            each_once(&format!("{field}.closed"), &shop.closed, periods, "period")?;
            at_most(&format!("{field}.periods"), &shop.periods, periods, "period")?;
        }
        at_most(&format!("{root}.caps"), &self.caps, DISTRICTS, "district")?;
        for (at, cap) in self.caps.iter().enumerate() {
            at_most(&format!("{root}.caps[{at}].periods"), &cap.periods, periods, "period")?;
        }
        Ok(())
    }
}
