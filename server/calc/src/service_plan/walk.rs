//! A plan under way that may break hours and limits, with what it breaks kept up to date step by step.

use super::task::{Job, Place, Task};
use crate::sets::{one, pick};

/// A plan under way.
pub(super) struct Walk<'a> {
    task: &'a Task,
    rooms: Vec<i64>,
    loads: Vec<i64>,
    /// By limit and period: how many more may go.
    left: Vec<i64>,
    /// By district and period.
    away: Vec<i64>,
    /// The bench, a shop in a period, of each set.
    at: Vec<usize>,
    there: Vec<Vec<usize>>,
    pub(super) late: i64,
    over_hours: i64,
    over_away: i64,
    /// The squares of how many sets of a district are away in a period, added up: least where they are spread.
    pub(super) crowds: i64,
    /// What lateness, broken hours and broken limits cost.
    pub(super) weights: [i64; 3],
}

/// A step: the set, where from, where to, and the one that changes places with it, if any.
pub(super) type Step = (usize, usize, usize, Option<usize>);

impl<'a> Walk<'a> {
    pub(super) fn new(task: &'a Task, places: &[Place], peak: i64) -> Self {
        let benches = task.rooms.len() * task.periods;
        let mut walk = Self {
            task,
            rooms: task.rooms.iter().flatten().map(|room| (*room).min(peak)).collect(),
            loads: vec![0; benches],
            left: task
                .limits
                .iter()
                .flat_map(|limit| &limit.most)
                .map(|most| i64::try_from(*most).unwrap_or(i64::MAX >> 8))
                .collect(),
            away: vec![0; task.spares.len() * task.periods],
            at: Vec::new(),
            there: vec![Vec::new(); benches],
            late: 0,
            over_hours: 0,
            over_away: 0,
            crowds: 0,
            weights: [1, 1, 1],
        };
        for (set, (period, shop)) in places.iter().enumerate() {
            let bench = shop * task.periods + period;
            walk.put(set, bench, 1);
            walk.at.push(bench);
            if let Some(list) = walk.there.get_mut(bench) {
                list.push(set);
            }
        }
        walk
    }

    pub(super) fn cost(&self) -> i64 {
        let [late, hours, away] = self.weights;
        self.late * late + self.over_hours * hours + self.over_away * away
    }

    /// Whether it breaks nothing.
    pub(super) const fn is_whole(&self) -> bool {
        self.over_hours == 0 && self.over_away == 0
    }

    pub(super) fn bench(&self, set: usize) -> usize {
        pick(&self.at, set)
    }

    /// The sets on a bench.
    pub(super) fn on(&self, bench: usize) -> &[usize] {
        self.there.get(bench).map_or(&[], Vec::as_slice)
    }

    pub(super) fn places(&self) -> Vec<Place> {
        self.at.iter().map(|bench| (bench % self.task.periods, bench / self.task.periods)).collect()
    }

    /// Adds a set to a bench, or takes it away.
    fn put(&mut self, set: usize, bench: usize, sign: i64) {
        let task = self.task;
        let Some(job) = task.jobs.get(set) else { return };
        let period = bench % task.periods;
        if let Some(load) = self.loads.get_mut(bench) {
            let room = pick(&self.rooms, bench);
            let before = (*load - room).max(0);
            *load += sign * job.hours;
            self.over_hours += (*load - room).max(0) - before;
        }
        if let Some(away) = self.away.get_mut(job.district * task.periods + period) {
            self.crowds += 2 * sign * *away + 1;
            *away += sign;
        }
        self.count(job, period, sign);
        self.late += sign * job.late(period);
    }

    fn count(&mut self, job: &Job, period: usize, sign: i64) {
        for (limit, _) in job.limits.iter().filter(|(_, when)| when & one(period) != 0) {
            if let Some(left) = self.left.get_mut(limit * self.task.periods + period) {
                let before = (-*left).max(0);
                *left -= sign;
                self.over_away += (-*left).max(0) - before;
            }
        }
    }

    fn shift(&mut self, set: usize, from: usize, to: usize) {
        self.put(set, from, -1);
        self.put(set, to, 1);
    }

    /// Makes a step for a look at what it costs; [`Walk::keep`] or [`Walk::undo`] comes next.
    pub(super) fn make(&mut self, (set, from, to, other): Step) {
        self.shift(set, from, to);
        if let Some(other) = other {
            self.shift(other, to, from);
        }
    }

    pub(super) fn undo(&mut self, (set, from, to, other): Step) {
        if let Some(other) = other {
            self.shift(other, from, to);
        }
        self.shift(set, to, from);
    }

    /// Writes down where the sets of a step are now.
    pub(super) fn keep(&mut self, (set, from, to, other): Step) {
        for (set, from, to) in [(Some(set), from, to), (other, to, from)] {
            let Some(set) = set else { continue };
            if let Some(at) = self.at.get_mut(set) {
                *at = to;
            }
            if let Some(list) = self.there.get_mut(from)
                && let Some(place) = list.iter().position(|other| *other == set)
            {
                list.swap_remove(place);
            }
            if let Some(list) = self.there.get_mut(to) {
                list.push(set);
            }
        }
    }
}

/// The benches on which each set could be served.
pub(super) fn benches(task: &Task, choices: &[Vec<Place>]) -> Vec<Vec<usize>> {
    choices
        .iter()
        .map(|list| list.iter().map(|(period, shop)| shop * task.periods + period).collect())
        .collect()
}
