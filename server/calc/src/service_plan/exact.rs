//! Finds a plan within a peak and a lateness, or proves that there is none.
//!
//! Depth first. The set with the fewest periods left goes first, more so the oftener it led nowhere: so the search turns to where the trouble is, and starts
//! afresh now and then with what it learned. After each step the windows shrink by what every plan must keep:
//!
//! - a period is closed to a set when a limit of its district is reached, no shop has room, or the lateness would be spent;
//! - the sets that must lie within a stretch of periods need its hours: what is left over is too little for a set that could also lie elsewhere, so that
//!   one must; too little for them all, and there is no plan. The same for each limit of a district;
//! - the same for hours as whole sets take them up;
//! - sets that are alike are served in their order.

use super::task::{Job, Place, Task};
use crate::sets::{each, one, pick};
use crate::watch::Work;

/// What came of it.
pub(super) enum Outcome {
    Plan(Vec<Place>),
    /// There is none.
    Impossible,
    /// The work allowed was spent.
    Unknown,
}

struct Search<'a> {
    task: &'a Task,
    peak: i64,
    lateness: i64,
    /// For each set the one before it that is just like it.
    twin: Vec<Option<usize>>,
    /// The sets that count against each limit, wherever they are put.
    members: Vec<Vec<usize>>,
    /// How often settling each set led nowhere at once.
    failed: Vec<u32>,
    /// Nodes until the next fresh start.
    left: u32,
    /// The most hours of any shop in any period, and the ways to measure sets against it.
    full: i64,
    measures: Vec<Measure>,
}

/// A way to measure hours such that sets which go together in a shop never measure more than a full shop does (a dual feasible function): it sees
/// that three sets of more than a third do not go together, where the plain sum of hours does not.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Measure {
    Plain,
    /// By parts of a full shop, more than `n` of which make `n + 1` (Fekete and Schepers).
    Parts(i64),
    /// What leaves less than this beside it counts as full, and less than this as nothing.
    Beside(i64),
}

impl Measure {
    const fn of(self, hours: i64, full: i64) -> i64 {
        match self {
            Self::Plain => hours,
            Self::Parts(n) if hours * (n + 1) % full == 0 => hours * n,
            Self::Parts(n) => hours * (n + 1) / full * full,
            Self::Beside(least) if hours > full - least => full,
            Self::Beside(least) if hours < least => 0,
            Self::Beside(_) => hours,
        }
    }
}

#[derive(Clone)]
struct State {
    masks: Vec<u128>,
    settled: Vec<Option<Place>>,
    /// By shop and period.
    loads: Vec<Vec<i64>>,
    /// By limit and period.
    away: Vec<Vec<usize>>,
    late: i64,
}

pub(super) fn solve(task: &Task, peak: i64, lateness: i64, budget: u64, work: &mut Work<'_>) -> Outcome {
    let twin = (0..task.jobs.len()).map(|at| {
        let own = task.jobs.get(at);
        (0..at).rev().find(|before| task.jobs.get(*before) == own)
    });
    let members = (0..task.limits.len()).map(|limit| {
        let always = |job: &Job| job.limits.iter().any(|(number, when)| *number == limit && job.mask & !when == 0);
        let of = task.jobs.iter().enumerate().filter(|(_, job)| always(job));
        of.map(|(at, _)| at).collect()
    });
    let full = task.rooms.iter().flatten().copied().max().unwrap_or_default().min(peak);
    let mut sizes: Vec<i64> = task.jobs.iter().map(|job| job.hours).filter(|hours| *hours > 0 && hours * 2 <= full).collect();
    sizes.sort_unstable();
    sizes.dedup();
    let mut measures = vec![Measure::Plain];
    measures.extend((1..=4).map(Measure::Parts));
    measures.extend(sizes.into_iter().take(10).map(Measure::Beside));
    let mut search = Search {
        task,
        peak,
        lateness,
        twin: twin.collect(),
        members: members.collect(),
        failed: vec![0; task.jobs.len()],
        left: 0,
        full: full.max(1),
        measures,
    };
    let state = State {
        masks: task.jobs.iter().map(|job| job.mask).collect(),
        settled: vec![None; task.jobs.len()],
        loads: vec![vec![0; task.periods]; task.rooms.len()],
        away: vec![vec![0; task.periods]; task.limits.len()],
        late: 0,
    };
    work.part(budget, |work| {
        let mut nodes = 100;
        loop {
            search.left = nodes;
            match search.go(state.clone(), None, work) {
                Outcome::Unknown if !work.is_stopped() => nodes = nodes.saturating_mul(2),
                outcome => return outcome,
            }
        }
    })
}

/// All periods from one to another.
const fn stretch(from: usize, to: usize) -> u128 {
    let upper = if to >= 127 { u128::MAX } else { (1 << (to + 1)) - 1 };
    if from >= 128 { 0 } else { upper & (u128::MAX << from) }
}

const fn low(mask: u128) -> usize {
    mask.trailing_zeros() as usize
}

const fn high(mask: u128) -> usize {
    127_usize.saturating_sub(mask.leading_zeros() as usize)
}

impl Search<'_> {
    fn room(&self, state: &State, shop: usize, period: usize) -> i64 {
        let load = state.loads.get(shop).map_or(0, |loads| pick(loads, period));
        self.task.room(shop, period).min(self.peak) - load
    }

    /// Explores a state in which a set was settled last.
    fn go(&mut self, mut state: State, last: Option<usize>, work: &mut Work<'_>) -> Outcome {
        let mut looks = state.masks.len() * 8;
        let consistent = self.shrink(&mut state, &mut looks);
        if !work.spend(looks * 2, 0.0, 0.0) || self.left == 0 {
            return Outcome::Unknown;
        }
        self.left -= 1;
        if !consistent {
            if let Some(failed) = last.and_then(|last| self.failed.get_mut(last)) {
                *failed = failed.saturating_add(1);
            }
            return Outcome::Impossible;
        }
        let open = |(at, mask): (usize, &u128)| {
            let job = self.task.jobs.get(at)?;
            pick(&state.settled, at)
                .is_none()
                .then_some((mask.count_ones(), std::cmp::Reverse(job.hours), at))
        };
        let Some((_, _, at)) = state.masks.iter().enumerate().filter_map(open).min() else {
            return Outcome::Plan(state.settled.into_iter().flatten().collect());
        };
        let Some(job) = self.task.jobs.get(at) else { return Outcome::Impossible };
        let mut places: Vec<(i64, std::cmp::Reverse<i64>, Place)> = Vec::new();
        for period in each(pick(&state.masks, at)) {
            let mut rooms: Vec<(i64, i64)> = Vec::new();
            for shop in &job.shops {
                let (room, all) = (self.room(&state, *shop, period), self.task.room(*shop, period));
                // Of shops with the same room one is enough, when every set can go to each of them.
                let like = rooms.contains(&(room, all)) && self.task.jobs.iter().all(|job| job.shops.len() == self.task.rooms.len());
                if room >= job.hours && !like {
                    rooms.push((room, all));
                    places.push((job.late(period), std::cmp::Reverse(room), (period, *shop)));
                }
            }
        }
        places.sort_unstable();
        let mut unknown = false;
        for (_, _, place) in places {
            let mut next = state.clone();
            self.settle(&mut next, at, place);
            match self.go(next, Some(at), work) {
                Outcome::Impossible => {}
                Outcome::Unknown => unknown = true,
                plan @ Outcome::Plan(_) => return plan,
            }
            if unknown {
                return Outcome::Unknown;
            }
        }
        Outcome::Impossible
    }

    fn settle(&self, state: &mut State, at: usize, (period, shop): Place) {
        let Some(job) = self.task.jobs.get(at) else { return };
        if let Some(settled) = state.settled.get_mut(at) {
            *settled = Some((period, shop));
        }
        if let Some(mask) = state.masks.get_mut(at) {
            *mask = one(period);
        }
        if let Some(load) = state.loads.get_mut(shop).and_then(|loads| loads.get_mut(period)) {
            *load += job.hours;
        }
        for (limit, _) in job.limits.iter().filter(|(_, when)| when & one(period) != 0) {
            if let Some(away) = state.away.get_mut(*limit).and_then(|away| away.get_mut(period)) {
                *away += 1;
            }
        }
        state.late += job.late(period);
    }

    /// Shrinks windows until nothing moves; false when a set has no period left or a stretch is overfull.
    fn shrink(&self, state: &mut State, looks: &mut usize) -> bool {
        loop {
            let before: u32 = state.masks.iter().map(|mask| mask.count_ones()).sum();
            let fits = self.close(state, looks) && self.hours(state, looks) && (0..self.members.len()).all(|limit| self.limits(state, limit, looks));
            if !fits {
                return false;
            }
            if state.masks.iter().map(|mask| mask.count_ones()).sum::<u32>() == before {
                return true;
            }
        }
    }

    /// Period by period: limits reached, shops full, lateness spent, twins out of order.
    fn close(&self, state: &mut State, looks: &mut usize) -> bool {
        let mut least = 0;
        for at in 0..state.masks.len() {
            let Some(job) = self.task.jobs.get(at) else { continue };
            let mut mask = pick(&state.masks, at);
            if pick(&state.settled, at).is_none() {
                for period in each(mask) {
                    *looks += job.shops.len() + 2;
                    let mut counts = job.limits.iter().filter(|(_, when)| when & one(period) != 0);
                    let full = counts.any(|(limit, _)| state.away.get(*limit).map_or(0, |away| pick(away, period)) >= self.task.most(*limit, period));
                    let roomy = job.shops.iter().any(|shop| self.room(state, *shop, period) >= job.hours);
                    if full || !roomy {
                        mask &= !one(period);
                    }
                }
            }
            if let Some(twin) = pick(&self.twin, at) {
                let other = pick(&state.masks, twin);
                if other == 0 || mask == 0 {
                    return false;
                }
                mask &= stretch(low(other), 127);
                if let Some(other) = state.masks.get_mut(twin).filter(|_| mask != 0) {
                    *other &= stretch(0, high(mask));
                }
            }
            if mask == 0 {
                return false;
            }
            if let Some(slot) = state.masks.get_mut(at) {
                *slot = mask;
            }
            if pick(&state.settled, at).is_none() {
                least += job.late(low(mask));
            }
        }
        let spare = self.lateness - state.late - least;
        if spare < 0 {
            return false;
        }
        for ((mask, job), settled) in state.masks.iter_mut().zip(&self.task.jobs).zip(&state.settled) {
            if settled.is_none() {
                let last = usize::try_from(job.late(low(*mask)).saturating_add(spare))
                    .unwrap_or(127)
                    .saturating_add(job.due);
                *mask &= stretch(0, last.max(low(*mask)).min(127));
            }
        }
        true
    }

    /// Hours of stretches of periods, all shops together: as they are, and as whole sets take them up (see [`Measure`]).
    fn hours(&self, state: &mut State, looks: &mut usize) -> bool {
        let all: Vec<usize> = (0..state.masks.len()).collect();
        self.measures.iter().all(|measure| {
            let need: Vec<i64> = self.task.jobs.iter().map(|job| measure.of(job.hours, self.full)).collect();
            let room = |shop: usize, period: usize| {
                // What a shop lacks to a full one counts as a set that is there already.
                let lacks = self.full - self.task.room(shop, period).min(self.full);
                measure.of(self.full, self.full) - measure.of(lacks, self.full)
            };
            let rooms: Vec<i64> = (0..self.task.periods)
                .map(|period| (0..self.task.rooms.len()).map(|shop| room(shop, period)).sum())
                .collect();
            squeeze(&mut state.masks, &all, &need, &rooms, looks)
        })
    }

    /// Slots of one limit in stretches of periods.
    fn limits(&self, state: &mut State, limit: usize, looks: &mut usize) -> bool {
        let members = self.members.get(limit).map_or(&[][..], Vec::as_slice);
        let open: Vec<usize> = members.iter().copied().filter(|at| pick(&state.settled, *at).is_none()).collect();
        if open.is_empty() {
            return true;
        }
        let away = state.away.get(limit).map_or(&[][..], Vec::as_slice);
        let left = |period: usize| i64::try_from(self.task.most(limit, period).saturating_sub(pick(away, period))).unwrap_or(i64::MAX / 256);
        let rooms: Vec<i64> = (0..self.task.periods).map(|p| left(p).min(1 << 40)).collect();
        let need = vec![1; open.len()];
        squeeze(&mut state.masks, &open, &need, &rooms, looks)
    }
}

/// For every stretch of periods: the need of what must lie within against its room. False when overfull; what is too big for the rest is pushed out.
fn squeeze(masks: &mut [u128], open: &[usize], need: &[i64], rooms: &[i64], looks: &mut usize) -> bool {
    let mut upto = vec![0];
    for room in rooms {
        upto.push(upto.last().copied().unwrap_or_default() + room);
    }
    let mut starts: Vec<usize> = open.iter().map(|at| low(pick(masks, *at))).collect();
    starts.sort_unstable();
    starts.dedup();
    let mut all: Vec<(usize, i64, usize)> = open.iter().zip(need).map(|(at, need)| (high(pick(masks, *at)), *need, *at)).collect();
    all.sort_unstable();
    let biggest = need.iter().copied().max().unwrap_or_default();
    let mut tight: Vec<(usize, usize, i64)> = Vec::new();
    for from in starts.into_iter().rev() {
        let mut within = 0;
        let mut rest = all.iter().peekable();
        while let Some((to, need, at)) = rest.next() {
            if low(pick(masks, *at)) >= from {
                within += need;
            }
            if rest.peek().is_none_or(|next| next.0 != *to) && within > 0 {
                let slack = pick(&upto, to + 1) - pick(&upto, from) - within;
                if slack < 0 {
                    return false;
                }
                if slack < biggest {
                    tight.push((from, *to, slack));
                }
            }
        }
        *looks += all.len();
    }
    for (from, to, slack) in tight {
        let range = stretch(from, to);
        for (at, need) in open.iter().zip(need) {
            let Some(mask) = masks.get_mut(*at) else { continue };
            if *need > slack && *mask & range != 0 && *mask & !range != 0 {
                *mask &= !range;
            }
        }
        *looks += open.len();
    }
    true
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_goes_together_in_a_shop_never_measures_more_than_a_full_one() {
        for full in 1..=14_i64 {
            for measure in (1..=4).map(Measure::Parts).chain((1..=full / 2).map(Measure::Beside)) {
                let size = |hours: i64| measure.of(hours, full);
                for a in 0..=full {
                    for b in 0..=full - a {
                        for c in 0..=full - a - b {
                            let rest = full - a - b - c;
                            assert!(size(a) + size(b) + size(c) + size(rest) <= size(full), "{measure:?} {full}: {a} {b} {c}");
                        }
                    }
                }
            }
        }
    }

    #[test]
    fn stretches() {
        assert_eq!(stretch(0, 127), u128::MAX);
        assert_eq!(stretch(2, 4), 0b11100);
        assert_eq!((low(0b11100), high(0b11100)), (2, 4));
        assert_eq!(high(0), 0);
    }
}
