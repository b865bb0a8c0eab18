//! The sets of each district spread over the periods, as far as lateness and peak allow: of plans that are equally good the one in which a breakdown
//! meets the fewest sets away. By moves and swaps for the better alone, so it is a better plan, not shown to be the most even one.

use super::task::{Place, Task};
use super::walk::{Step, Walk, benches};
use crate::watch::Work;

/// Looks of one step.
const STEP: usize = 80;
/// Rounds at most.
const ROUNDS: usize = 50;

/// Spreads a plan out; it stays within its lateness and its peak.
pub(super) fn spread_out(task: &Task, choices: &[Vec<Place>], places: &mut Vec<Place>, peak: i64, work: &mut Work<'_>) {
    let ways = benches(task, choices);
    let mut walk = Walk::new(task, places, peak);
    if !walk.is_whole() {
        return;
    }
    let late = walk.late;
    for _ in 0..ROUNDS {
        let before = walk.crowds;
        for (set, to) in ways.iter().enumerate().flat_map(|(set, ways)| ways.iter().map(move |to| (set, *to))) {
            let from = walk.bench(set);
            if to == from {
                continue;
            }
            let crowd: Vec<usize> = walk.on(to).to_vec();
            if !work.spend(STEP * (crowd.len() + 1), 0.0, 0.0) {
                break;
            }
            let fits = |other: &usize| ways.get(*other).is_some_and(|ways| ways.contains(&from));
            let others = crowd.into_iter().filter(fits).map(Some);
            for step in std::iter::once(None).chain(others).map(|other| (set, from, to, other)) {
                if better(&mut walk, step, late) {
                    break;
                }
            }
        }
        if walk.crowds == before || work.is_stopped() {
            break;
        }
    }
    *places = walk.places();
}

fn better(walk: &mut Walk<'_>, step: Step, late: i64) -> bool {
    let before = (walk.crowds, walk.late);
    walk.make(step);
    let is_better = walk.is_whole() && walk.late <= late && (walk.crowds, walk.late) < before;
    if is_better {
        walk.keep(step);
    } else {
        walk.undo(step);
    }
    is_better
}
