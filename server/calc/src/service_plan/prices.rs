//! A bound of the peak that sees the districts' limits and the least lateness as well as the hours.
//!
//! Each period gets a price for an hour. The cheapest periods for all sets, each district by itself within its limits and with the least lateness, are a
//! least-cost flow; no plan with that lateness costs less, and one with peak P costs at most P times the sum of the prices for each shop. Raising the
//! prices where hours pile up brings the bound up to that of the linear programme. Prices are whole, so the bound is exact arithmetic.

use super::obstacles::Shared;
use super::task::{Job, Task};
use crate::amount::{float, nearest};
use crate::sets::pick;
use crate::watch::Work;

const ROUNDS: usize = 120;

/// No plan with that lateness, which must be the least that the limits allow, has a lower peak. `known` is the peak of a plan.
pub(super) fn peak(task: &Task, lateness: i64, known: i64, work: &mut Work<'_>) -> i64 {
    let shops = i64::try_from(task.rooms.len()).unwrap_or(1).max(1);
    let all: i64 = task.jobs.iter().map(|job| job.hours).sum();
    let unit = (1_000_000_000_000 / all.max(1)).min(1_000_000);
    if unit < 100 || all == 0 {
        return 0;
    }
    // One period of lateness costs more than any choice of periods at these prices can save.
    let late = all * unit + 1;
    let mut prices: Vec<f64> = vec![1.0; task.periods];
    let (mut best, mut stride, mut idle) = (0, 1.0, 0);
    for _ in 0..ROUNDS {
        let top = prices.iter().copied().fold(f64::MIN_POSITIVE, f64::max);
        let whole: Vec<i64> = prices.iter().map(|price| nearest(price / top * float(unit))).collect();
        let sum: i64 = whole.iter().sum();
        let (cost, loads, looks) = cheapest(task, &whole, late);
        let each_shop = shops * sum.max(1);
        let bound = (cost - late * lateness + each_shop - 1).div_euclid(each_shop);
        if bound > best {
            (best, idle) = (bound, 0);
        } else {
            idle += 1;
            if idle >= 8 {
                (idle, stride) = (0, stride / 2.0);
            }
        }
        if best >= known || stride < 0.02 || !work.spend(looks * 8, float(known), float(best)) {
            break;
        }
        let reach = float(cost - late * lateness) / float(each_shop);
        let away: Vec<f64> = loads.iter().map(|load| float(*load) / float(shops) - reach).collect();
        let norm: f64 = away.iter().map(|a| a * a).sum();
        if norm <= 0.0 {
            break;
        }
        let total: f64 = prices.iter().sum();
        let step = stride * (float(known) - reach).max(float(known) * 0.01) / norm * total;
        for (price, away) in prices.iter_mut().zip(&away) {
            *price = (*price + step * away).max(0.0);
        }
    }
    best
}

/// The least cost at these prices, the hours in each period, and the looks spent.
fn cheapest(task: &Task, prices: &[i64], late: i64) -> (i64, Vec<i64>, usize) {
    let (mut total, mut loads, mut looks) = (0, vec![0; task.periods], 0);
    for district in 0..task.spares.len() {
        let cost = |job: &Job, period: usize| late * job.late(period) + pick(prices, period) * job.hours;
        let shared = Shared::new(task, district, cost, None);
        total += shared.sent.1;
        for (at, period) in shared.placed() {
            let hours = task.jobs.get(at).map_or(0, |job| job.hours);
            if let Some(load) = loads.get_mut(period) {
                *load += hours;
            }
        }
        looks += shared.looks();
    }
    (total, loads, looks)
}
