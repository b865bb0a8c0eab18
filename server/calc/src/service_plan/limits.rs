//! What districts can spare, as limits on how many sets are away.
//!
//! Sets are away together just when each of them has either a slot that the district can spare or a stand-in of its own that restores its rig
//! then and is at home. By the theorem of Hall and König that is so when for every group of stand-ins no more sets that nothing else stands in for
//! are away, stand-ins of the group that are away themselves added, than there are slots and stand-ins in the group. Groups that are no
//! neighbourhood of sets say nothing new and are left out, so that a district without stand-ins has one limit.

use super::task::{Job, Task};
use crate::sets::{each, one, pick};

/// At most so many sets that count against it are away in each period.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Limit {
    pub(super) district: usize,
    pub(super) most: Vec<usize>,
}

/// The stand-ins that restore the rig of a set in a period, as bits.
fn helpers(job: &Job, period: usize) -> u32 {
    let helps = job.by.iter().filter(|(_, when)| when & one(period) != 0);
    helps.fold(0, |all, (stand_in, _)| all | crate::sets::mask(*stand_in))
}

/// Most limits of a district: where stand-ins differ so much that there would be more, the last ones count for nothing.
const MOST: usize = 64;

/// All unions of the helpers of sets in some period; none where there are too many.
fn groups(task: &Task, district: usize) -> Option<Vec<u32>> {
    let mut kinds: Vec<u32> = vec![0];
    for job in task.jobs.iter().filter(|job| job.district == district && job.own.is_none()) {
        kinds.extend(each(job.window).map(|period| helpers(job, period)));
        kinds.sort_unstable();
        kinds.dedup();
    }
    let mut all: Vec<u32> = vec![0];
    for kind in kinds {
        let more: Vec<u32> = all.iter().map(|group| group | kind).collect();
        all.extend(more);
        all.sort_unstable();
        all.dedup();
        if all.len() > MOST {
            return None;
        }
    }
    Some(all)
}

/// The groups of a district, of as many of its stand-ins as can be told apart.
fn few_groups(task: &mut Task, district: usize) -> Vec<u32> {
    let all = task.spares.get(district).map_or(0, |spare| spare.stand_ins);
    for last in (0..all).rev() {
        if let Some(groups) = groups(task, district) {
            return groups;
        }
        for job in task.jobs.iter_mut().filter(|job| job.district == district) {
            job.by.retain(|(stand_in, _)| *stand_in < last);
        }
    }
    groups(task, district).unwrap_or_else(|| vec![0])
}

/// Works the limits out, and says on each set which ones it counts against.
pub(super) fn limits(task: &mut Task) {
    for district in 0..task.spares.len() {
        for group in few_groups(task, district) {
            let counts = |job: &Job| {
                if job.district != district {
                    return 0;
                }
                match job.own {
                    Some(own) if group & crate::sets::mask(own) != 0 => job.window,
                    Some(_) => 0,
                    None => each(job.window)
                        .filter(|period| helpers(job, *period) & !group == 0)
                        .fold(0, |mask, period| mask | one(period)),
                }
            };
            let most: Vec<usize> = task
                .spares
                .get(district)
                .map(|spare| spare.most.iter().map(|most| most.saturating_add(crate::sets::count(group.into()))).collect())
                .unwrap_or_default();
            let masks: Vec<u128> = task.jobs.iter().map(counts).collect();
            // A limit that nothing can break is none.
            let crowd = |period: usize| masks.iter().filter(|mask| **mask & one(period) != 0).count();
            if (0..task.periods).all(|period| crowd(period) <= pick(&most, period)) {
                continue;
            }
            let number = task.limits.len();
            task.limits.push(Limit { district, most });
            for (job, mask) in task.jobs.iter_mut().zip(masks).filter(|(_, mask)| *mask != 0) {
                job.limits.push((number, mask));
            }
        }
    }
}

/// Who stands in for whom: of the sets of a district that are away in a period as many as can be, each with a stand-in that is at home.
pub(super) fn shared_out(task: &Task, away: &[usize], period: usize) -> Vec<(usize, usize)> {
    let gone = away
        .iter()
        .filter_map(|at| task.jobs.get(*at)?.own)
        .fold(0, |all, own| all | crate::sets::mask(own));
    let mut held: Vec<Option<usize>> = vec![None; 32];
    for at in away {
        let mut tried = gone;
        seat(task, *at, period, &mut held, &mut tried);
    }
    held.iter().enumerate().filter_map(|(stand_in, at)| Some(((*at)?, stand_in))).collect()
}

/// Finds a stand-in for a set, moving others to another where that helps.
fn seat(task: &Task, at: usize, period: usize, held: &mut [Option<usize>], tried: &mut u32) -> bool {
    let Some(job) = task.jobs.get(at) else { return false };
    for stand_in in each(helpers(job, period).into()) {
        if *tried & crate::sets::mask(stand_in) != 0 {
            continue;
        }
        *tried |= crate::sets::mask(stand_in);
        let other = pick(held, stand_in);
        if other.is_none_or(|other| seat(task, other, period, held, tried))
            && let Some(place) = held.get_mut(stand_in)
        {
            *place = Some(at);
            return true;
        }
    }
    false
}
