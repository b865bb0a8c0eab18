//! The day as the search needs it: whole numbers, only the rigs that could be made full, only the zones that hang on them.

use super::input::{Day, Donor, Mend, Want};
use super::shape::shape;
use crate::amount::{grain, whole};
use crate::sets::pick;
use crate::unfit::Unfit;
use std::collections::BTreeMap;

/// A rig that might be made full.
#[derive(Debug, Clone)]
pub(super) struct Candidate {
    /// Its number in the day.
    pub(super) rig: usize,
    /// The merged zones it reaches.
    pub(super) zones: Vec<usize>,
    /// Its ways, by their number in the task: those with the fewest moves first.
    pub(super) ways: Vec<usize>,
    /// Gaps that whichever of several ways fills: a way fills these and perhaps more. Where there is one way: its own.
    pub(super) shape: Vec<usize>,
}

/// One mend of a candidate.
#[derive(Debug, Clone)]
pub(super) struct Way {
    pub(super) candidate: usize,
    /// Its number among the mends of the rig.
    pub(super) mend: usize,
    /// The gap of each want.
    pub(super) gaps: Vec<usize>,
    /// Donors that must stay where they are.
    pub(super) rests_on: Vec<usize>,
}

/// For each gap the donors that fit, with their minutes, nearest first.
pub(super) type Fits = Vec<Vec<(usize, i64)>>;

/// The task.
#[derive(Debug, Clone, Default)]
pub(super) struct Task {
    pub(super) candidates: Vec<Candidate>,
    pub(super) ways: Vec<Way>,
    /// Weights of zones that no full rig reaches and the same candidates do.
    pub(super) weights: Vec<i64>,
    pub(super) total: i64,
    pub(super) before: i64,
    /// What rigs may bring beyond, of which not every mend is known.
    pub(super) unknown: i64,
    pub(super) grain: i64,
    pub(super) fits: Fits,
    pub(super) group_of: Vec<Option<usize>>,
    pub(super) groups: Vec<usize>,
}

impl Task {
    /// The weight that these ways bring together.
    pub(super) fn worth(&self, ways: &[usize]) -> i64 {
        let mut reached = vec![false; self.weights.len()];
        let candidates = ways
            .iter()
            .filter_map(|way| self.ways.get(*way))
            .filter_map(|way| self.candidates.get(way.candidate));
        mark(&mut reached, candidates.flat_map(|candidate| &candidate.zones));
        self.weights.iter().zip(reached).filter(|(_, reached)| *reached).map(|(weight, _)| weight).sum()
    }

    /// The minutes of a donor for a gap.
    pub(super) fn minutes(&self, gap: usize, donor: usize) -> Option<i64> {
        self.fits.get(gap)?.iter().find(|fit| fit.0 == donor).map(|fit| fit.1)
    }
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
    check(day, weights.len())?;
    let mut reached = vec![false; weights.len()];
    mark(&mut reached, day.rigs.iter().filter(|rig| rig.full).flat_map(|rig| &rig.reaches));
    let mut in_doubt = reached.clone();
    mark(
        &mut in_doubt,
        day.rigs.iter().filter(|rig| rig.undecided.is_some()).flat_map(|rig| &rig.reaches),
    );
    let sum = |marks: &[bool]| weights.iter().zip(marks).filter(|(_, mark)| **mark).map(|(weight, _)| weight).sum::<i64>();
    let mut task = Task {
        total: weights.iter().sum(),
        before: sum(&reached),
        unknown: sum(&in_doubt) - sum(&reached),
        group_of: day.donors.iter().map(|donor| donor.group).collect(),
        groups: day.groups.iter().map(|group| group.most).collect(),
        ..Task::default()
    };
    let plain = plain(day);
    // One donor for each gap that can be open at once.
    let most: usize = day
        .rigs
        .iter()
        .map(|rig| rig.mends.iter().map(|mend| mend.wants.len()).max().unwrap_or(0))
        .sum();
    let mut by_zone: Vec<Vec<usize>> = vec![Vec::new(); weights.len()];
    for (number, rig) in day.rigs.iter().enumerate() {
        let mut brings = rig
            .reaches
            .iter()
            .filter(|zone| !pick(&reached, **zone) && pick(&weights, **zone) > 0)
            .peekable();
        if rig.full || brings.peek().is_none() || !rig.mends.iter().any(can_be) {
            continue;
        }
        let candidate = task.candidates.len();
        for zone in brings {
            if let Some(list) = by_zone.get_mut(*zone).filter(|list| list.last() != Some(&candidate)) {
                list.push(candidate);
            }
        }
        ways(&mut task, rig.mends.iter().enumerate(), (candidate, number), &plain, most)?;
    }
    let mut merged: BTreeMap<Vec<usize>, i64> = BTreeMap::new();
    for (list, weight) in by_zone.into_iter().zip(&weights) {
        if !list.is_empty() {
            *merged.entry(list).or_default() += weight;
        }
    }
    for (zone, list) in merged.keys().enumerate() {
        for candidate in list {
            if let Some(candidate) = task.candidates.get_mut(*candidate) {
                candidate.zones.push(zone);
            }
        }
    }
    task.weights = merged.into_values().collect();
    task.grain = grain(task.weights.iter().copied());
    Ok(task)
}

fn can_be(mend: &Mend) -> bool {
    !mend.wants.is_empty() && mend.wants.iter().all(|want| !want.fits.is_empty())
}

fn mark<'z>(marks: &mut [bool], zones: impl Iterator<Item = &'z usize>) {
    for zone in zones {
        if let Some(mark) = marks.get_mut(*zone) {
            *mark = true;
        }
    }
}

/// Everything that is named is there.
fn check(day: &Day, zones: usize) -> Result<(), Unfit> {
    for donor in &day.donors {
        donor.group.map_or(Ok(0), |group| within(group, day.groups.len(), "group"))?;
        donor.district.map_or(Ok(0), |district| within(district, day.districts.len(), "district"))?;
    }
    for rig in &day.rigs {
        rig.district.map_or(Ok(0), |district| within(district, day.districts.len(), "district"))?;
        for zone in &rig.reaches {
            within(*zone, zones, "zone")?;
        }
        let wants = rig.mends.iter().flat_map(|mend| &mend.wants);
        let fits = wants.flat_map(|want| &want.fits).map(|fit| fit.donor);
        for donor in fits.chain(rig.mends.iter().flat_map(|mend| mend.rests_on.iter().copied())) {
            within(donor, day.donors.len(), "donor")?;
        }
    }
    Ok(())
}

/// Donors that are bound to no other and that nothing rests on.
fn plain(day: &Day) -> Vec<bool> {
    let mut plain: Vec<bool> = day.donors.iter().map(|donor: &Donor| donor.group.is_none()).collect();
    for donor in day.rigs.iter().flat_map(|rig| &rig.mends).flat_map(|mend| &mend.rests_on) {
        if let Some(mark) = plain.get_mut(*donor) {
            *mark = false;
        }
    }
    plain
}

fn ways<'m>(
    task: &mut Task,
    mends: impl Iterator<Item = (usize, &'m Mend)>,
    (candidate, rig): (usize, usize),
    plain: &[bool],
    most: usize,
) -> Result<(), Unfit> {
    let mut mends: Vec<(usize, &Mend)> = mends.filter(|(_, mend)| can_be(mend)).collect();
    mends.sort_by_key(|(_, mend)| mend.wants.len());
    let first = task.ways.len();
    for (number, mend) in mends {
        let at = task.fits.len();
        for want in &mend.wants {
            task.fits.push(nearest(want, plain, most)?);
        }
        task.ways.push(Way {
            candidate,
            mend: number,
            gaps: (at..task.fits.len()).collect(),
            rests_on: mend.rests_on.clone(),
        });
    }
    let shape = shape(task.ways.get(first..).unwrap_or_default(), &mut task.fits);
    task.candidates.push(Candidate {
        rig,
        zones: Vec::new(),
        ways: (first..task.ways.len()).collect(),
        shape,
    });
    Ok(())
}

/// The donors for a want, nearest first.
///
/// Of plain ones only as many as gaps can be open at once: one of them is always free, and no farther one is better.
fn nearest(want: &Want, plain: &[bool], most: usize) -> Result<Vec<(usize, i64)>, Unfit> {
    let mut list: Vec<(i64, usize)> = Vec::with_capacity(want.fits.len());
    for fit in &want.fits {
        list.push((whole(fit.minutes, "the minutes of a move")?, fit.donor));
    }
    list.sort_unstable();
    let mut seen = vec![false; plain.len()];
    let mut free = 0;
    list.retain(|(_, donor)| {
        let again = seen.get_mut(*donor).is_some_and(|mark| std::mem::replace(mark, true));
        free += usize::from(!again && pick(plain, *donor));
        !again && (!pick(plain, *donor) || free <= most)
    });
    Ok(list.into_iter().map(|(minutes, donor)| (donor, minutes)).collect())
}
