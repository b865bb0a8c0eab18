//! The whole story before it is told.

use crate::{
    Person, care,
    county::{County, HOSE_ENDS},
    events, lately,
    story::{Act, Story},
    tales, today, trials,
    when::{When, day},
};
use anyhow::Result;
use chrono::{DateTime, NaiveDate, Utc};

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

    /// What is told of it when the story ends at that instant, in the order of time: of what falls together the weekly checks first, then
    /// what time alone changes, then what members do.
    pub fn scenes(&self, end: DateTime<Utc>) -> Vec<Scene<'_>> {
        let rounds = care::last_round(end).into_iter().map(Scene::WeeklyChecks);
        let turns = self.turns.iter().map(|turn| Scene::TimeAlone(turn.told_at(end)));
        let acts = self.acts.chunk_by(|one, next| one.when == next.when && one.who == next.who);
        let acts = acts.filter_map(|acts| {
            let Act { when, who, .. } = acts.first()?;
            Some(Scene::Acts(when.told_at(end), who, acts))
        });
        let mut scenes: Vec<Scene<'_>> = rounds.chain(turns).chain(acts).collect();
        scenes.sort_by_key(Scene::at);
        scenes
    }
}

/// What is told at one moment.
#[derive(Debug)]
pub enum Scene<'p> {
    /// The programme of checks begins, and everything aboard is checked.
    WeeklyChecks(DateTime<Utc>),
    /// A life ends or a grace runs out.
    TimeAlone(DateTime<Utc>),
    /// One member acts.
    Acts(DateTime<Utc>, &'static Person, &'p [Act]),
}

impl Scene<'_> {
    pub const fn at(&self) -> DateTime<Utc> {
        match self {
            Self::WeeklyChecks(at) | Self::TimeAlone(at) | Self::Acts(at, ..) => *at,
        }
    }
}
