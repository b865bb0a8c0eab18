//! The day as the search needs it: whole numbers, only the rigs that could be made full, only the zones that hang on them.

use super::input::Day;
use crate::amount::{grain, whole};
use crate::sets::pick;
use crate::unfit::Unfit;
use std::collections::BTreeMap;

/// A rig that might be made full.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    /// Its number in the day.
    pub(super) rig: usize,
    /// Its gaps.
    pub(super) gaps: Vec<usize>,
    /// The merged zones it reaches.
    pub(super) zones: Vec<usize>,
}

/// The task.
#[derive(Debug, Clone, Default)]
pub(super) struct Task {
    pub(super) candidates: Vec<Candidate>,
    /// Weights of zones that no full rig reaches and the same candidates do.
    pub(super) weights: Vec<i64>,
    pub(super) total: i64,
    pub(super) before: i64,
    pub(super) grain: i64,
    /// For each gap the donors that fit, nearest first.
    pub(super) fits: Vec<Vec<(usize, i64)>>,
    pub(super) group_of: Vec<Option<usize>>,
    pub(super) groups: Vec<usize>,
    /// For each donor the rig it strips.
    pub(super) strips: Vec<Option<usize>>,
}

fn within(number: usize, len: usize, what: &str) -> Result<usize, Unfit> {
    if number < len {
        return Ok(number);
    }
    Err(Unfit::new("number", format!("{what} {number} is named, but there are {len}")))
}

pub(super) fn task(day: &Day) -> Result<Task, Unfit> {
    let weights = day
        .zones
        .iter()
        .map(|zone| whole(zone.weight, "the weight of a zone"))
        .collect::<Result<Vec<i64>, Unfit>>()?;
    let mut reached = vec![false; weights.len()];
    for rig in &day.rigs {
        for zone in &rig.reaches {
            let zone = within(*zone, weights.len(), "zone")?;
            if let Some(mark) = reached.get_mut(zone).filter(|_| rig.full) {
                *mark = true;
            }
        }
    }
    let mut gaps_of: Vec<Vec<usize>> = vec![Vec::new(); day.rigs.len()];
    for (number, gap) in day.gaps.iter().enumerate() {
        if let Some(list) = gaps_of.get_mut(within(gap.rig, day.rigs.len(), "rig")?) {
            list.push(number);
        }
    }
    for donor in &day.donors {
        if let Some(group) = donor.group {
            within(group, day.groups.len(), "group")?;
        }
        if let Some(rig) = donor.strips {
            within(rig, day.rigs.len(), "rig")?;
            if day.rigs.get(rig).is_some_and(|rig| rig.full) {
                return Err(Unfit::new(
                    "donor",
                    format!("{} would strip a rig that is full: hand in only pieces it can spare", donor.name),
                ));
            }
        }
    }
    let fits = nearest(day)?;
    let open = |rig: usize| -> Option<&Vec<usize>> {
        let gaps = gaps_of.get(rig)?;
        let mendable = !gaps.is_empty() && gaps.iter().all(|gap| fits.get(*gap).is_some_and(|list| !list.is_empty()));
        (mendable && day.rigs.get(rig).is_some_and(|rig| !rig.full)).then_some(gaps)
    };
    let mut candidates = Vec::new();
    let mut by_zone: Vec<Vec<usize>> = vec![Vec::new(); weights.len()];
    for (number, rig) in day.rigs.iter().enumerate() {
        let Some(gaps) = open(number) else { continue };
        for zone in &rig.reaches {
            if let Some(list) = by_zone.get_mut(*zone).filter(|list| list.last() != Some(&candidates.len())) {
                list.push(candidates.len());
            }
        }
        candidates.push(Candidate {
            rig: number,
            gaps: gaps.clone(),
            zones: Vec::new(),
        });
    }
    let mut merged: BTreeMap<Vec<usize>, i64> = BTreeMap::new();
    for ((list, weight), reached) in by_zone.into_iter().zip(&weights).zip(&reached) {
        if !reached && !list.is_empty() && *weight > 0 {
            *merged.entry(list).or_default() += weight;
        }
    }
    for (zone, list) in merged.keys().enumerate() {
        for candidate in list {
            if let Some(candidate) = candidates.get_mut(*candidate) {
                candidate.zones.push(zone);
            }
        }
    }
    // A rig that brings no zone is never worth a move.
    candidates.retain(|candidate| !candidate.zones.is_empty());
    let own: Vec<i64> = merged.into_values().collect();
    Ok(Task {
        candidates,
        grain: grain(own.iter().copied()),
        weights: own,
        total: weights.iter().sum(),
        before: weights.iter().zip(&reached).filter(|(_, reached)| **reached).map(|(weight, _)| weight).sum(),
        fits,
        group_of: day.donors.iter().map(|donor| donor.group).collect(),
        groups: day.groups.iter().map(|group| group.most).collect(),
        strips: day.donors.iter().map(|donor| donor.strips).collect(),
    })
}

/// For each gap the donors that fit it, nearest first.
///
/// Of donors without a group and without a rig to strip, only as many as there are gaps: one of them is always free, and no farther one is better.
fn nearest(day: &Day) -> Result<Vec<Vec<(usize, i64)>>, Unfit> {
    let mut fits: Vec<Vec<(i64, usize)>> = vec![Vec::new(); day.gaps.len()];
    for fit in &day.fits {
        let (gap, donor) = (within(fit.gap, day.gaps.len(), "gap")?, within(fit.donor, day.donors.len(), "donor")?);
        if let Some(list) = fits.get_mut(gap) {
            list.push((whole(fit.minutes, "the minutes of a move")?, donor));
        }
    }
    let plain = |donor: usize| day.donors.get(donor).is_some_and(|d| d.group.is_none() && d.strips.is_none());
    let fits = fits.into_iter().map(|mut list| {
        list.sort_unstable();
        let mut seen = vec![false; day.donors.len()];
        let mut free = 0;
        list.retain(|(_, donor)| {
            let again = pick(&seen, *donor);
            if let Some(mark) = seen.get_mut(*donor) {
                *mark = true;
            }
            free += usize::from(!again && plain(*donor));
            !again && (!plain(*donor) || free <= day.gaps.len())
        });
        list.into_iter().map(|(minutes, donor)| (donor, minutes)).collect()
    });
    Ok(fits.collect())
}
