//! Mends that differ in one want alone, put together: a cutter of one sort or another, one want.

use crate::capability::MendSet;
use std::collections::BTreeMap;

/// The sorts that would do for each want, and the groups that the mend rests on.
pub(super) type Choice = (Vec<Vec<usize>>, Vec<usize>);

/// The same sets, as choices: each set is one that some choice allows, and no choice allows another.
pub(super) fn merged(sets: &[MendSet]) -> Vec<Choice> {
    let mut all: Vec<Choice> = sets
        .iter()
        .map(|set| (set.sorts.iter().map(|sort| vec![*sort]).collect(), set.rests_on.clone()))
        .collect();
    let most = sets.iter().map(|set| set.sorts.len()).max().unwrap_or(0);
    loop {
        let before = all.len();
        (0..most).for_each(|at| all = merged_at(std::mem::take(&mut all), at));
        if all.len() == before {
            return all;
        }
    }
}

fn merged_at(all: Vec<Choice>, at: usize) -> Vec<Choice> {
    let mut by: BTreeMap<Choice, Vec<usize>> = BTreeMap::new();
    let mut out = Vec::new();
    for (mut wants, rests_on) in all {
        if at >= wants.len() {
            out.push((wants, rests_on));
            continue;
        }
        let own = wants.remove(at);
        by.entry((wants, rests_on)).or_default().extend(own);
    }
    out.extend(by.into_iter().map(|((mut wants, rests_on), mut own)| {
        own.sort_unstable();
        own.dedup();
        wants.push(own);
        wants.sort_unstable();
        (wants, rests_on)
    }));
    out
}
