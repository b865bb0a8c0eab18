//! The methods put together: lateness first, then the peak, each narrowed down between what is impossible and what was found.

use super::anneal::anneal;
use super::even::spread_out;
use super::exact::{Outcome as Exact, solve};
use super::local::{Draft, mend};
use super::obstacles::{Cut, hours, slots};
use super::prices;
use super::task::{Place, Task};
use crate::sets::{each, one};
use crate::watch::Work;

/// No limit.
const ANY: i64 = i64::MAX / 1024;
/// Steps of one local search.
const STEPS: usize = 60_000;
/// Looks of one exact search, and of one local search, at most: of a first try, and of one that matters.
const BRIEF: u64 = 30_000_000;
const LONG: u64 = 300_000_000;

/// A plan, with what no plan can be below.
pub(super) struct BoundedPlan {
    pub(super) places: Vec<Place>,
    pub(super) lateness: i64,
    pub(super) lateness_bound: i64,
    pub(super) peak: i64,
    pub(super) peak_bound: i64,
}

/// What came of it.
pub(super) enum Outcome {
    Plan(BoundedPlan),
    /// None: what stands in the way, and a draft whose excess would make it possible. `proved` when there is none for certain. `rest`: the plan
    /// of those sets that nothing stands in the way of, by their numbers.
    None {
        cuts: Vec<Cut>,
        draft: Vec<Place>,
        proved: bool,
        rest: Option<(Vec<usize>, BoundedPlan)>,
    },
}

/// A plan within peak and lateness from a start, by steps, then for certain.
fn within(task: &Task, choices: &[Vec<Place>], start: &[Place], (peak, lateness): (i64, i64), looks: u64, work: &mut Work<'_>) -> Exact {
    let mut draft = Draft::new(task, start, peak, lateness);
    if work.part(looks, |work| mend(&mut draft, choices, STEPS, work)) {
        return Exact::Plan(draft.places);
    }
    if work.is_stopped() {
        return Exact::Unknown;
    }
    solve(task, peak, lateness, looks, work)
}

pub(super) fn plan(task: &Task, work: &mut Work<'_>) -> Outcome {
    let drafted = slots(task);
    let mut cuts = drafted.cuts.clone();
    let mut lateness_bound = drafted.lateness;
    match hours(task) {
        Ok(late) => lateness_bound = lateness_bound.max(late),
        Err(cut) => cuts.push(cut),
    }
    if !cuts.is_empty() {
        let rest = rest(task, &drafted.unplaced, work);
        return none(task, cuts, (true, rest), work);
    }
    let choices: Vec<Vec<Place>> = task.jobs.iter().map(|job| task.places(job)).collect();
    let start = spread(task, &drafted.periods);
    let measure = |places: &[Place]| {
        let draft = Draft::new(task, places, ANY, ANY);
        (draft.late(), draft.highest())
    };
    let mut best = match within(task, &choices, &start, (ANY, ANY), BRIEF, work) {
        Exact::Plan(places) => Some(places),
        Exact::Impossible => return none(task, Vec::new(), (true, None), work),
        Exact::Unknown => None,
    };
    // What is easy is shown to be the best at once; what is not takes a long walk first.
    for share in [BRIEF, LONG] {
        if share == LONG && best.as_ref().is_none_or(|best| measure(best).0 > lateness_bound) {
            let from = best.as_ref().unwrap_or(&start);
            best = anneal(task, &choices, from, lateness_bound, work.left() / 5 * 3, work).or(best);
            if best.is_none() {
                best = match within(task, &choices, &start, (ANY, ANY), LONG, work) {
                    Exact::Plan(places) => Some(places),
                    Exact::Impossible => return none(task, Vec::new(), (true, None), work),
                    Exact::Unknown => None,
                };
            }
        }
        let Some(best) = best.as_mut() else { continue };
        lateness_bound = narrow(lateness_bound, measure(best).0, |late| {
            let found = within(task, &choices, best, (ANY, late), share, work);
            if let Exact::Plan(places) = &found {
                best.clone_from(places);
            }
            told(found, |places| measure(places).0)
        });
    }
    let Some(mut best) = best else {
        return none(task, Vec::new(), (false, None), work);
    };
    let late = measure(&best).0;
    let mut dense = densest(task, late);
    if late == drafted.lateness && dense < measure(&best).1 {
        dense = dense.max(prices::peak(task, late, measure(&best).1, work));
    }
    let peak_bound = narrow(dense.min(measure(&best).1), measure(&best).1, |peak| {
        let found = within(task, &choices, &best, (peak, late), LONG, work);
        if let Exact::Plan(places) = &found {
            best.clone_from(places);
        }
        told(found, |places| measure(places).1)
    });
    let (lateness, peak) = measure(&best);
    spread_out(task, &choices, &mut best, peak, work);
    let (lateness, peak) = measure(&best).min((lateness, peak));
    Outcome::Plan(BoundedPlan {
        places: best,
        lateness,
        lateness_bound: lateness_bound.min(lateness),
        peak,
        // With lateness that may not be the least, nothing is proved of the peak either.
        peak_bound: if lateness_bound < lateness { dense.min(peak) } else { peak_bound.min(peak) },
    })
}

/// The plan of all sets but those that are left without a period: what stands in the way of one district holds up no other.
fn rest(task: &Task, unplaced: &[usize], work: &mut Work<'_>) -> Option<(Vec<usize>, BoundedPlan)> {
    let kept: Vec<usize> = (0..task.jobs.len()).filter(|at| !unplaced.contains(at)).collect();
    if kept.is_empty() || unplaced.is_empty() {
        return None;
    }
    let some = Task {
        jobs: kept.iter().filter_map(|at| task.jobs.get(*at).cloned()).collect(),
        ..task.clone()
    };
    match plan(&some, work) {
        Outcome::Plan(found) => Some((kept, found)),
        Outcome::None { .. } => None,
    }
}

/// What a try says: something as small as that was found, there is none, or nobody knows.
enum Try {
    BoundedPlan(i64),
    Nothing,
    Unknown,
}

fn told(outcome: Exact, of: impl Fn(&[Place]) -> i64) -> Try {
    match outcome {
        Exact::Plan(places) => Try::BoundedPlan(of(&places)),
        Exact::Impossible => Try::Nothing,
        Exact::Unknown => Try::Unknown,
    }
}

/// Narrows down the least value between a bound and one that was found; gives the bound that is proved at the end.
fn narrow(bound: i64, found: i64, mut attempt: impl FnMut(i64) -> Try) -> i64 {
    let (mut proved, mut low, mut high) = (bound, bound, found);
    let mut first = true;
    while low < high {
        // The bound itself is very often the answer.
        let middle = if first { low } else { low + (high - low) / 2 };
        first = false;
        match attempt(middle) {
            Try::BoundedPlan(value) => high = value.min(middle),
            Try::Nothing => {
                low = middle + 1;
                proved = proved.max(low);
            }
            Try::Unknown => low = middle + 1,
        }
    }
    proved.min(high)
}

/// No plan with at most that lateness has a lower peak: the largest set, and the fullest stretch of periods.
///
/// What must be done within a stretch is what cannot leave it. A set leaves it late; the lateness allowed buys out those with the most hours for it, cut
/// into hours where it runs out, so that no choice of late sets frees more.
fn densest(task: &Task, lateness: i64) -> i64 {
    let mut best = task.jobs.iter().map(|job| job.hours).max().unwrap_or_default();
    let shops = i64::try_from(task.rooms.len()).unwrap_or(1).max(1);
    for to in 0..task.periods {
        // First period, hours, and lateness to leave by; nothing of it when it cannot.
        let after = if to < 127 { u128::MAX << (to + 1) } else { 0 };
        let mut held: Vec<(usize, i64, Option<i64>)> = Vec::new();
        for job in &task.jobs {
            let way = crate::sets::first(job.mask & after).map(|period| job.late(period));
            if way != Some(0) {
                held.push((job.mask.trailing_zeros() as usize, job.hours, way));
            }
        }
        held.sort_by(|a, b| match (a.2, b.2) {
            (Some(x), Some(y)) => (i128::from(b.1) * i128::from(x)).cmp(&(i128::from(a.1) * i128::from(y))),
            (x, y) => y.is_some().cmp(&x.is_some()),
        });
        for from in 0..=to {
            let (mut need, mut spare) = (0, lateness);
            for (_, hours, way) in held.iter().filter(|h| h.0 >= from && h.0 <= to) {
                match way {
                    Some(way) if *way <= spare => spare -= way,
                    Some(way) if spare > 0 => {
                        need += hours - (hours.saturating_mul(spare).saturating_add(way - 1) / way).min(*hours);
                        spare = 0;
                    }
                    _ => need += hours,
                }
            }
            let benches = shops * i64::try_from(to - from + 1).unwrap_or(1);
            best = best.max((need + benches - 1) / benches);
        }
    }
    best
}

/// Shops for given periods: the emptiest that has room, largest sets first.
fn spread(task: &Task, periods: &[usize]) -> Vec<Place> {
    let mut order: Vec<usize> = (0..task.jobs.len()).collect();
    order.sort_by_key(|at| std::cmp::Reverse(task.jobs.get(*at).map_or(0, |job| job.hours)));
    let mut loads = vec![vec![0_i64; task.periods]; task.rooms.len()];
    let mut places = vec![(0, 0); task.jobs.len()];
    for at in order {
        let (Some(job), Some(period)) = (task.jobs.get(at), periods.get(at)) else {
            continue;
        };
        let load = |shop: usize| loads.get(shop).and_then(|loads: &Vec<i64>| loads.get(*period)).copied().unwrap_or_default();
        let able = job.shops.iter().filter(|shop| task.room(**shop, *period) >= job.hours);
        let Some(shop) = able.min_by_key(|shop| load(**shop) - task.room(**shop, *period)).copied() else {
            continue;
        };
        if let Some(load) = loads.get_mut(shop).and_then(|loads| loads.get_mut(*period)) {
            *load += job.hours;
        }
        if let Some(place) = places.get_mut(at) {
            *place = (*period, shop);
        }
    }
    places
}

/// A draft that breaks as little as was found; what it breaks is what would make it possible.
fn none(task: &Task, cuts: Vec<Cut>, (proved, rest): (bool, Option<(Vec<usize>, BoundedPlan)>), work: &mut Work<'_>) -> Outcome {
    let mut eased = task.clone();
    for job in &mut eased.jobs {
        if job.mask != 0 {
            continue;
        }
        // No shop has its hours in its window: as if the shop that comes nearest had them.
        let able = each(job.window).flat_map(|period| job.shops.iter().map(move |shop| (period, *shop)));
        let Some((period, shop)) = able.min_by_key(|(period, shop)| std::cmp::Reverse((task.room(*shop, *period), 128 - *period))) else {
            continue;
        };
        job.mask = one(period);
        if let Some(room) = eased.rooms.get_mut(shop).and_then(|rooms| rooms.get_mut(period)) {
            *room = (*room).max(job.hours);
        }
    }
    let periods = slots(&eased).periods;
    let choices: Vec<Vec<Place>> = eased.jobs.iter().map(|job| eased.places(job)).collect();
    let start = spread(&eased, &periods);
    let mut draft = Draft::new(&eased, &start, ANY, ANY);
    work.part(LONG, |work| mend(&mut draft, &choices, STEPS, work));
    Outcome::None {
        cuts,
        draft: draft.places,
        proved,
        rest,
    }
}
