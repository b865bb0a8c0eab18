//! What the limits alone say, by flow: least lateness, or which sets and periods stand in the way.

use super::task::{Place, Task};
use crate::flow::Flow;
use crate::sets::{each, pick};

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
}

fn amount(n: usize) -> i64 {
    i64::try_from(n).unwrap_or(i64::MAX / 256)
}

/// The periods of all sets with the fewest slots beyond the limits, then the least lateness; with a cut for each district that needs any.
pub(super) fn slots(task: &Task) -> Drafted {
    let mut drafted = Drafted {
        periods: vec![0; task.jobs.len()],
        lateness: 0,
        cuts: Vec::new(),
    };
    for (at, job) in task.jobs.iter().enumerate() {
        if job.mask == 0 {
            drafted.cuts.push(Cut::NoPlace { job: at });
        }
    }
    // More than all lateness there can be.
    let beyond = task.jobs.iter().map(|job| job.late(task.periods)).sum::<i64>() + 1;
    for district in 0..task.caps.len() {
        let jobs: Vec<usize> = (0..task.jobs.len())
            .filter(|at| task.jobs.get(*at).is_some_and(|job| job.district == district && job.mask != 0))
            .collect();
        let (source, sink) = (jobs.len() + task.periods, jobs.len() + task.periods + 1);
        let network = |beyond: Option<i64>| {
            let mut flow = Flow::new(sink + 1);
            let mut edges = Vec::new();
            for (node, at) in jobs.iter().enumerate() {
                flow.edge(source, node, 1, 0);
                let Some(job) = task.jobs.get(*at) else { continue };
                for period in each(job.mask) {
                    edges.push((*at, period, flow.edge(node, jobs.len() + period, 1, job.late(period))));
                }
            }
            for period in 0..task.periods {
                flow.edge(jobs.len() + period, sink, amount(task.cap(district, period)), 0);
                if let Some(cost) = beyond {
                    flow.edge(jobs.len() + period, sink, amount(jobs.len()), cost);
                }
            }
            let sent = flow.send(source, sink);
            (flow, edges, sent)
        };
        let (flow, edges, (sent, cost)) = network(None);
        let enough = sent == amount(jobs.len());
        let (flow, edges, cost) = if enough {
            (flow, edges, cost)
        } else {
            let side = flow.side(source);
            let stuck: Vec<usize> = jobs.iter().enumerate().filter(|(node, _)| pick(&side, *node)).map(|(_, at)| *at).collect();
            let periods: Vec<usize> = (0..task.periods).filter(|period| pick(&side, jobs.len() + period)).collect();
            let has = periods.iter().map(|period| task.cap(district, *period)).sum();
            drafted.cuts.push(Cut::Slots {
                district,
                jobs: stuck,
                periods,
                has,
            });
            let (flow, edges, (_, cost)) = network(Some(beyond));
            (flow, edges, cost % beyond)
        };
        drafted.lateness += cost;
        for (at, period, edge) in edges {
            if let Some(slot) = drafted.periods.get_mut(at).filter(|_| flow.on(edge) > 0) {
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
