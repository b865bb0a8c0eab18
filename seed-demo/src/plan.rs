//! The whole story before it is told.

use crate::{
    county::{County, HOSE_ENDS},
    events, lately,
    story::{Act, Story},
    tales, today, trials,
    when::{When, day},
};
use anyhow::Result;
use chrono::NaiveDate;

/// The county and everything that happens in it, in the order of time.
#[derive(Debug)]
pub struct Plan {
    pub county: County,
    pub acts: Vec<Act>,
    /// Moments at which nobody acts but time itself changes what a rig can do: a life ends, a grace runs out. The teller
    /// lets the service's own clock see them.
    pub turns: Vec<When>,
}

impl Plan {
    /// The story that ends on that day; the same one for every telling.
    pub fn of(today: NaiveDate) -> Result<Self> {
        let county = County::build(today)?;
        let mut story = Story::new(&county);
        today::write(&mut story)?;
        lately::write(&mut story)?;
        tales::write(&mut story)?;
        events::write(&mut story)?;
        let mut acts = story.acts;
        acts.sort_by_key(|act| act.when);
        let acts = trials::add(&county, acts);
        // Engine 22's hose; the end of the grace of Engine 16's ram, an hour off where a clock change lies between.
        let turns = vec![day(HOSE_ENDS, 0, 1), day(9, 23, 1), day(8, 0, 1), day(8, 1, 1)];
        Ok(Self { county, acts, turns })
    }
}
