//! What the limits alone say, by flow: least lateness, or which sets and periods stand in the way.

use super::task::{Job, Place, Task};
use crate::flow::Flow;
use crate::sets::{each, one, pick};

/// Sets that cannot all be served in the periods where they could be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Cut {
    /// The window is empty, or no shop has its hours in any period of it.
    NoPlace { job: usize },
    /// More sets of a district than it can spare.
    Slots {
        district: usize,
        jobs: Vec<usize>,
        periods: Vec<usize>,
        has: usize,
    },
    /// More hours than the shops have.
    Hours {
        jobs: Vec<usize>,
        places: Vec<Place>,
        needs: i64,
        has: i64,
    },
}

/// A least-cost draft of the periods: by district, ignoring hours.
pub(super) struct Drafted {
    /// A period for each set.
    pub(super) periods: Vec<usize>,
    /// No plan has less lateness.
    pub(super) lateness: i64,
    pub(super) cuts: Vec<Cut>,
    /// The sets that are left without a period where the rest keeps within the limits: the fewest that can be.
    pub(super) unplaced: Vec<usize>,
}

fn amount(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX / 256)
}

/// The periods of some sets of a district, each in a slot that it can spare or with a stand-in: a least-cost flow, exact for what districts can spare.
pub(super) struct Shared {
    flow: Flow,
    /// Set, period and edge of each way.
    ways: Vec<(usize, usize, usize)>,
    /// How many sets found a period, and what all cost.
    pub(super) sent: (i64, i64),
    jobs: Vec<usize>,
    source: usize,
}

impl Shared {
    /// `beyond`: what a slot beyond the limits costs more than any way; the second one of a period costs more than the first.
    pub(super) fn new(task: &Task, district: usize, cost: impl Fn(&Job, usize) -> i64, beyond: Option<i64>) -> Self {
        let of = |at: &usize| task.jobs.get(*at).is_some_and(|job| job.district == district && job.mask != 0);
        let jobs: Vec<usize> = (0..task.jobs.len()).filter(of).collect();
        let stand_ins = task.spares.get(district).map_or(0, |spare| spare.stand_ins);
        let slot = |row: usize, period: usize| jobs.len() + row * task.periods + period;
        let source = slot(stand_ins + 1, 0);
        let sink = source + 1;
        let (mut flow, mut ways) = (Flow::new(sink + 1), Vec::new());
        for (node, at) in jobs.iter().enumerate() {
            flow.edge(source, node, 1, 0);
            let Some(job) = task.jobs.get(*at) else { continue };
            for period in each(job.mask) {
                let helps = job.by.iter().filter(|(_, when)| when & one(period) != 0).map(|(stand_in, _)| stand_in + 1);
                let rows: Vec<usize> = match job.own {
                    // Where it restores nothing it is missed by nobody; there is a slot for it all the same.
                    Some(own) => vec![own + 1],
                    None => std::iter::once(0).chain(helps).collect(),
                };
                for row in rows {
                    ways.push((*at, period, flow.edge(node, slot(row, period), 1, cost(job, period))));
                }
            }
        }
        let all = amount(jobs.len());
        for period in 0..task.periods {
            let most = task.spares.get(district).map_or(0, |spare| pick(&spare.most, period));
            flow.edge(slot(0, period), sink, amount(most), 0);
            for (n, beyond) in beyond.into_iter().flat_map(|beyond| (1..=all).map(move |n| (n, beyond))) {
                // As few as can be in all, and spread: one more of a limit helps in each period.
                flow.edge(slot(0, period), sink, 1, beyond * (all + n));
            }
            for row in 1..=stand_ins {
                flow.edge(slot(row, period), sink, 1, 0);
            }
        }
        let sent = flow.send(source, sink);
        Self {
            flow,
            ways,
            sent,
            jobs,
            source,
        }
    }

    /// Whether all found one.
    fn is_enough(&self) -> bool {
        self.sent.0 == amount(self.jobs.len())
    }

    /// Each set with its period.
    pub(super) fn placed(&self) -> impl Iterator<Item = (usize, usize)> {
        let on = |(at, period, edge): &(usize, usize, usize)| (self.flow.on(*edge) > 0).then_some((*at, *period));
        self.ways.iter().filter_map(on)
    }

    /// The sets that found none, the fewest that can be.
    fn unplaced(&self) -> Vec<usize> {
        let placed: Vec<usize> = self.placed().map(|(at, _)| at).collect();
        self.jobs.iter().copied().filter(|at| !placed.contains(at)).collect()
    }

    pub(super) const fn looks(&self) -> usize {
        self.flow.looks()
    }

    /// The sets that compete for too few slots, with what there is of them.
    fn cut(&self, task: &Task, district: usize) -> Cut {
        let side = self.flow.side(self.source);
        let stuck = self.jobs.iter().enumerate().filter(|(node, _)| pick(&side, *node)).map(|(_, at)| *at).collect();
        let rows = (self.source - self.jobs.len()) / task.periods.max(1);
        let reached = |row: usize, period: usize| pick(&side, self.jobs.len() + row * task.periods + period);
        let most = |period: usize| task.spares.get(district).map_or(0, |spare| pick(&spare.most, period));
        let has = |period: usize| {
            let own = if reached(0, period) { most(period) } else { 0 };
            own + (1..rows).filter(|row| reached(*row, period)).count()
        };
        let periods: Vec<usize> = (0..task.periods).filter(|period| (0..rows).any(|row| reached(row, *period))).collect();
        Cut::Slots {
            district,
            jobs: stuck,
            has: periods.iter().map(|period| has(*period)).sum(),
            periods,
        }
    }
}

/// The periods of all sets with the fewest slots beyond the limits, spread, then the least lateness; with a cut for each district that needs any.
pub(super) fn slots(task: &Task) -> Drafted {
    let mut drafted = Drafted {
        periods: vec![0; task.jobs.len()],
        lateness: 0,
        cuts: Vec::new(),
        unplaced: Vec::new(),
    };
    for (at, job) in task.jobs.iter().enumerate() {
        if job.mask == 0 {
            drafted.cuts.push(Cut::NoPlace { job: at });
            drafted.unplaced.push(at);
        }
    }
    // More than all lateness there can be.
    let beyond = task.jobs.iter().map(|job| job.late(task.periods)).sum::<i64>() + 1;
    for district in 0..task.spares.len() {
        let mut shared = Shared::new(task, district, Job::late, None);
        if !shared.is_enough() {
            drafted.cuts.push(shared.cut(task, district));
            drafted.unplaced.extend(shared.unplaced());
            shared = Shared::new(task, district, Job::late, Some(beyond));
        }
        drafted.lateness += shared.sent.1 % beyond;
        for (at, period) in shared.placed() {
            if let Some(slot) = drafted.periods.get_mut(at) {
                *slot = period;
            }
        }
    }
    drafted
}

/// Sets cut into hours: no plan has less lateness than what is returned; or the cut when even so they do not fit.
pub(super) fn hours(task: &Task) -> Result<i64, Cut> {
    // Lateness for one grain of hours, in so small parts that rounding them down loses next to nothing.
    const PARTS: i64 = 1 << 20;
    let (jobs, benches) = (task.jobs.len(), task.rooms.len() * task.periods);
    let (source, sink) = (jobs + benches, jobs + benches + 1);
    let mut flow = Flow::new(sink + 1);
    let mut needs = 0;
    for (node, job) in task.jobs.iter().enumerate() {
        if job.mask == 0 || job.hours == 0 {
            continue;
        }
        needs += job.hours;
        flow.edge(source, node, job.hours, 0);
        for (period, shop) in task.places(job) {
            flow.edge(node, jobs + shop * task.periods + period, job.hours, job.late(period) * PARTS / job.hours);
        }
    }
    for (shop, rooms) in task.rooms.iter().enumerate() {
        for (period, room) in rooms.iter().enumerate() {
            flow.edge(jobs + shop * task.periods + period, sink, *room, 0);
        }
    }
    let (sent, cost) = flow.send(source, sink);
    if sent == needs {
        return Ok((cost + PARTS - 1) / PARTS);
    }
    let side = flow.side(source);
    let stuck: Vec<usize> = (0..jobs).filter(|node| pick(&side, *node)).collect();
    let places: Vec<Place> = (0..benches)
        .filter(|bench| pick(&side, jobs + bench))
        .map(|bench| (bench % task.periods, bench / task.periods))
        .collect();
    Err(Cut::Hours {
        needs: stuck.iter().filter_map(|at| task.jobs.get(*at)).map(|job| job.hours).sum(),
        has: places.iter().map(|(period, shop)| task.room(*shop, *period)).sum(),
        jobs: stuck,
        places,
    })
}
