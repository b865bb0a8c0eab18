//! A plan within a peak and a lateness by moves and swaps with a memory: the set that moved last rests for some steps, so the search climbs out of
//! places where every single step is one for the worse. Nothing is left to chance: the same task gives the same plan.

use super::task::{Job, Place, Task};
use crate::sets::{one, pick};
use crate::watch::Work;

/// A plan under way, with what it breaks.
#[derive(Debug, Clone)]
pub(super) struct Draft<'a> {
    task: &'a Task,
    peak: i64,
    lateness: i64,
    /// What one set too many away, or one period too late, counts in hours.
    heavy: i64,
    pub(super) places: Vec<Place>,
    loads: Vec<Vec<i64>>,
    away: Vec<Vec<usize>>,
    late: i64,
    over: i64,
}

impl<'a> Draft<'a> {
    pub(super) fn new(task: &'a Task, places: &[Place], peak: i64, lateness: i64) -> Self {
        let heavy = task.jobs.iter().map(|job| job.hours).max().unwrap_or_default().max(1);
        let mut draft = Self {
            task,
            peak,
            lateness,
            heavy,
            places: places.to_vec(),
            loads: vec![vec![0; task.periods]; task.rooms.len()],
            away: vec![vec![0; task.periods]; task.limits.len()],
            late: 0,
            over: 0,
        };
        for (at, place) in places.iter().enumerate() {
            draft.put(at, *place, true);
        }
        draft
    }

    pub(super) const fn late(&self) -> i64 {
        self.late
    }

    pub(super) fn highest(&self) -> i64 {
        self.loads.iter().flatten().copied().max().unwrap_or_default()
    }

    pub(super) fn loads(&self) -> &[Vec<i64>] {
        &self.loads
    }

    /// How many more sets a district would have to spare in a period.
    pub(super) fn lacks(&self, district: usize, period: usize) -> usize {
        let own = self.task.limits.iter().enumerate().filter(|(_, limit)| limit.district == district);
        own.map(|(limit, _)| self.over(limit, period)).max().unwrap_or_default()
    }

    /// How much it breaks; 0: a plan.
    fn broken(&self) -> i64 {
        self.over + (self.late - self.lateness).max(0) * self.heavy
    }

    fn over_hours(&self, (period, shop): Place) -> i64 {
        let load = self.loads.get(shop).map_or(0, |loads| pick(loads, period));
        (load - self.task.room(shop, period).min(self.peak)).max(0)
    }

    fn over(&self, limit: usize, period: usize) -> usize {
        let away = self.away.get(limit).map_or(0, |away| pick(away, period));
        away.saturating_sub(self.task.most(limit, period))
    }

    fn over_away(&self, job: &Job, period: usize) -> i64 {
        let broken = job
            .limits
            .iter()
            .filter(|(_, when)| when & one(period) != 0)
            .map(|(limit, _)| self.over(*limit, period));
        i64::try_from(broken.sum::<usize>()).unwrap_or_default()
    }

    /// Adds a set to a place or takes it from there.
    fn put(&mut self, at: usize, (period, shop): Place, add: bool) {
        let task = self.task;
        // A set without any window is nowhere.
        let Some(job) = task.jobs.get(at).filter(|job| job.window != 0) else {
            return;
        };
        let before = self.over_hours((period, shop)) + self.heavy * self.over_away(job, period);
        if let Some(load) = self.loads.get_mut(shop).and_then(|loads| loads.get_mut(period)) {
            *load += if add { job.hours } else { -job.hours };
        }
        for (limit, _) in job.limits.iter().filter(|(_, when)| when & one(period) != 0) {
            if let Some(away) = self.away.get_mut(*limit).and_then(|away| away.get_mut(period)) {
                *away = if add { *away + 1 } else { away.saturating_sub(1) };
            }
        }
        self.late += if add { job.late(period) } else { -job.late(period) };
        self.over += self.over_hours((period, shop)) + self.heavy * self.over_away(job, period) - before;
    }

    fn shift(&mut self, at: usize, to: Place) {
        let from = pick(&self.places, at);
        self.put(at, from, false);
        self.put(at, to, true);
        if let Some(place) = self.places.get_mut(at) {
            *place = to;
        }
    }

    fn troubled(&self, at: usize) -> bool {
        let Some(job) = self.task.jobs.get(at) else { return false };
        let place = pick(&self.places, at);
        self.over_hours(place) > 0 || self.over_away(job, place.0) > 0 || self.late > self.lateness && job.late(place.0) > 0
    }
}

/// A step: the set, where it goes, and the one that takes its place, if any.
type Step = (usize, Place, Option<usize>);

/// Steps toward a draft that breaks nothing; true when it is one. Otherwise the draft is the best one met.
///
/// Each step takes the next trouble in turn, an overfull shop, district or a late set, and makes the best move or swap of the sets there.
pub(super) fn mend(draft: &mut Draft<'_>, choices: &[Vec<Place>], steps: usize, work: &mut Work<'_>) -> bool {
    let n = draft.places.len();
    let mut best = (draft.broken(), draft.places.clone());
    let mut rests = vec![0_usize; n];
    let mut there: Vec<Vec<usize>> = vec![Vec::new(); draft.task.rooms.len() * draft.task.periods];
    let bench = |(period, shop): Place| shop * draft.task.periods + period;
    let benches: Vec<usize> = draft.places.iter().map(|place| bench(*place)).collect();
    for (at, bench) in benches.into_iter().enumerate() {
        if let Some(list) = there.get_mut(bench) {
            list.push(at);
        }
    }
    let (mut cursor, mut idle) = (0, 0);
    for step in 1..=steps {
        if best.0 == 0 || idle > steps / 8 {
            break;
        }
        let Some(turn) = (0..n).find(|turn| draft.troubled((cursor + turn) % n)) else {
            break;
        };
        let anchor = (cursor + turn) % n;
        cursor = anchor + 1;
        let place = pick(&draft.places, anchor);
        let crowd = if draft.over_hours(place) > 0 {
            there.get(place.1 * draft.task.periods + place.0).cloned().unwrap_or_default()
        } else {
            vec![anchor]
        };
        let mut looks = turn * 10;
        let next = best_step(
            draft,
            choices,
            &there,
            &crowd,
            &|at, broken| pick(&rests, at) <= step || broken < best.0,
            &mut looks,
        );
        if !work.spend(looks, 0.0, 0.0) {
            break;
        }
        idle += 1;
        let Some((at, to, other)) = next else { continue };
        let from = pick(&draft.places, at);
        for (moved, from, to) in [(Some(at), from, to), (other, to, from)] {
            let Some(moved) = moved else { continue };
            draft.shift(moved, to);
            if let Some(list) = there.get_mut(from.1 * draft.task.periods + from.0) {
                list.retain(|set| *set != moved);
            }
            if let Some(list) = there.get_mut(to.1 * draft.task.periods + to.0) {
                list.push(moved);
            }
            if let Some(rest) = rests.get_mut(moved) {
                *rest = step + 5 + (moved * 7 + step) % 11;
            }
        }
        if draft.broken() < best.0 {
            best = (draft.broken(), draft.places.clone());
            idle = 0;
        }
    }
    *draft = Draft::new(draft.task, &best.1, draft.peak, draft.lateness);
    best.0 == 0
}

/// The move or swap of one of these sets that leaves least broken, among those that are free to move.
fn best_step(
    draft: &mut Draft<'_>,
    choices: &[Vec<Place>],
    there: &[Vec<usize>],
    crowd: &[usize],
    free: &dyn Fn(usize, i64) -> bool,
    looks: &mut usize,
) -> Option<Step> {
    let mut next: Option<(i64, Step)> = None;
    for at in crowd.iter().copied() {
        let from = pick(&draft.places, at);
        for to in choices.get(at).into_iter().flatten().copied().filter(|to| *to != from) {
            draft.shift(at, to);
            *looks += 40;
            let broken = draft.broken();
            if free(at, broken) && next.is_none_or(|next| broken < next.0) {
                next = Some((broken, (at, to, None)));
            }
            for other in there.get(to.1 * draft.task.periods + to.0).into_iter().flatten().copied() {
                *looks += 2;
                if other == at || choices.get(other).is_none_or(|c| c.binary_search(&from).is_err()) {
                    continue;
                }
                draft.shift(other, from);
                let broken = draft.broken();
                draft.shift(other, to);
                *looks += 60;
                if free(at, broken) && free(other, broken) && next.is_none_or(|next| broken < next.0) {
                    next = Some((broken, (at, to, Some(other))));
                }
            }
            draft.shift(at, from);
        }
    }
    next.map(|next| next.1)
}
