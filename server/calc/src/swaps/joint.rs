//! The best plan of which all moves do together.
//!
//! The search looks at each want and each group by itself; what several moves do to one rig is asked afterwards, of the best plan. Where they do
//! not do together, every plan that does takes one of a few ways out: the day is planned once for each, and the best of these is looked at next.

use super::input::{Day, Instead, Planned, Together};
use super::search::{self, BestPlan};
use super::zones::{self, Task};
use crate::unfit::Unfit;
use crate::watch::Work;

/// Days that are planned for one plan, at most.
const MOST_DAYS: usize = 400;

/// A day as it was handed in or with a way out taken, and its best plan.
pub(super) struct Planning {
    pub(super) day: Day,
    pub(super) task: Task,
    pub(super) found: BestPlan,
}

/// Weight, moves, minutes: more is better.
type Worth = (i64, i64, i64);

impl Planning {
    fn new(day: Day, work: &mut Work<'_>) -> Result<Self, Unfit> {
        let task = zones::task(&day)?;
        let found = search::best(&task, work);
        Ok(Self { day, task, found })
    }

    fn worth(&self) -> Worth {
        let moves = i64::try_from(self.found.pairs.len()).unwrap_or(i64::MAX);
        (self.found.value, -moves, -self.found.minutes)
    }

    /// No plan of this day is worth more.
    fn bound(&self) -> Worth {
        if self.found.proved { self.worth() } else { (self.found.bound, 0, 0) }
    }

    /// The moves, with the way each belongs to.
    fn moves(&self) -> Vec<(usize, Planned)> {
        let of = |(gap, donor): &(usize, usize)| {
            let way = self
                .found
                .chosen
                .iter()
                .find(|way| self.task.ways.get(**way).is_some_and(|way| way.gaps.contains(gap)))?;
            let of = self.task.ways.get(*way)?;
            let planned = Planned {
                donor: *donor,
                rig: self.task.candidates.get(of.candidate)?.rig,
                mend: of.mend,
                want: of.gaps.iter().position(|own| own == gap)?,
            };
            Some((*way, planned))
        };
        let mut moves: Vec<(usize, Planned)> = self.found.pairs.iter().filter_map(of).collect();
        moves.sort_unstable_by_key(|(_, planned)| (planned.rig, planned.want));
        moves
    }

    /// The same with as many of its rigs as do together.
    fn reduced(&self, together: &mut dyn Together) -> BestPlan {
        let moves = self.moves();
        let mut chosen: Vec<usize> = Vec::new();
        for way in &self.found.chosen {
            chosen.push(*way);
            let some: Vec<Planned> = moves.iter().filter(|(way, _)| chosen.contains(way)).map(|(_, planned)| *planned).collect();
            if !together.breach(&some).is_empty() {
                chosen.pop();
            }
        }
        let is_kept = |gap: usize| chosen.iter().any(|way| self.task.ways.get(*way).is_some_and(|way| way.gaps.contains(&gap)));
        let pairs: Vec<(usize, usize)> = self.found.pairs.iter().copied().filter(|(gap, _)| is_kept(*gap)).collect();
        BestPlan {
            value: self.task.worth(&chosen),
            minutes: pairs.iter().filter_map(|(gap, donor)| self.task.minutes(*gap, *donor)).sum(),
            chosen,
            pairs,
            ..BestPlan::default()
        }
    }
}

pub(super) fn best(day: &Day, together: &mut dyn Together, work: &mut Work<'_>) -> Result<Planning, Unfit> {
    let mut open = vec![Planning::new(day.clone(), work)?];
    let mut best: Option<Planning> = None;
    // The most that a day which was not planned to its end may allow.
    let mut doubt: Option<i64> = None;
    let mut days = 1;
    while let Some(at) = (0..open.len()).max_by_key(|at| open.get(*at).map(Planning::bound)) {
        let next = open.swap_remove(at);
        if best.as_ref().is_some_and(|best| best.worth() >= next.bound()) {
            break;
        }
        let moves: Vec<Planned> = next.moves().into_iter().map(|(_, planned)| planned).collect();
        let ways_out = together.breach(&moves);
        if ways_out.is_empty() {
            if !next.found.proved {
                doubt = doubt.max(Some(next.found.bound));
            }
            keep(&mut best, next);
            continue;
        }
        if work.is_stopped() || days + ways_out.len() > MOST_DAYS {
            doubt = doubt.max(Some(next.found.bound));
        } else {
            for way_out in &ways_out {
                open.push(Planning::new(without(&next.day, way_out), work)?);
                days += 1;
            }
        }
        let found = next.reduced(together);
        keep(&mut best, Planning { found, ..next });
    }
    let mut best = match best {
        Some(best) => best,
        None => Planning::new(Day::default(), work)?,
    };
    let value = best.found.value;
    best.found.proved = doubt.is_none();
    best.found.bound = doubt.unwrap_or(value).max(value);
    Ok(best)
}

fn keep(best: &mut Option<Planning>, other: Planning) {
    if best.as_ref().is_none_or(|best| other.worth() > best.worth()) {
        *best = Some(other);
    }
}

/// The day with a way out taken.
fn without(day: &Day, way_out: &Instead) -> Day {
    let mut day = day.clone();
    match way_out {
        Instead::Fewer { group, most } => {
            if let Some(group) = day.groups.get_mut(*group) {
                group.most = group.most.min(*most);
            }
        }
        Instead::Other { rig, mend, want, donors } => {
            let mend = day.rigs.get_mut(*rig).and_then(|rig| rig.mends.get_mut(*mend));
            if let Some(want) = mend.and_then(|mend| mend.wants.get_mut(*want)) {
                want.fits.retain(|fit| !donors.contains(&fit.donor));
            }
        }
    }
    day
}
