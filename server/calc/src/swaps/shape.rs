//! What all ways to mend a rig have in common, for the bound.

use super::zones::{Fits, Way};
use std::collections::BTreeMap;

/// As many gaps as the smallest of the ways has, each of which takes what the ways take for one want: whichever way mends the rig fills
/// these too, and for no more minutes. Of one way they are its own gaps. New gaps are added to the list of fits.
pub(super) fn shape(ways: &[Way], fits: &mut Fits) -> Vec<usize> {
    let Some((smallest, others)) = ways.split_first() else { return Vec::new() };
    if others.is_empty() {
        return smallest.gaps.clone();
    }
    let mut gaps: Vec<BTreeMap<usize, i64>> = smallest.gaps.iter().map(|gap| all(fits, *gap)).collect();
    for way in others {
        let mut left: Vec<BTreeMap<usize, i64>> = way.gaps.iter().map(|gap| all(fits, *gap)).collect();
        for gap in &mut gaps {
            // The want that is most like it; any would be right.
            let like = |want: &BTreeMap<usize, i64>| want.keys().filter(|donor| gap.contains_key(donor)).count();
            let Some(at) = (0..left.len()).max_by_key(|at| left.get(*at).map_or(0, like)) else {
                continue;
            };
            for (donor, minutes) in left.swap_remove(at) {
                let known = gap.entry(donor).or_insert(minutes);
                *known = minutes.min(*known);
            }
        }
    }
    gaps.into_iter()
        .map(|gap| {
            let mut list: Vec<(usize, i64)> = gap.into_iter().collect();
            list.sort_by_key(|(donor, minutes)| (*minutes, *donor));
            fits.push(list);
            fits.len() - 1
        })
        .collect()
}

fn all(fits: &Fits, gap: usize) -> BTreeMap<usize, i64> {
    fits.get(gap).into_iter().flatten().copied().collect()
}

/// The least minutes of a gap.
pub(super) fn least(fits: &Fits, gap: usize) -> i64 {
    fits.get(gap).and_then(|list| list.first()).map_or(0, |fit| fit.1)
}
