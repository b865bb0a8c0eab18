//! Gaps and donors paired: whether more gaps can be filled (augmenting paths, with a limit for each group of donors), and the cheapest pairing.

use super::zones::Task;
use crate::flow::Flow;
use crate::sets::pick;

/// A pairing under way. Gaps once filled stay filled.
#[derive(Debug, Clone)]
pub(super) struct Pairs {
    owner: Vec<Option<usize>>,
    used: Vec<usize>,
    banned: Vec<bool>,
}

struct Visited {
    donors: Vec<bool>,
    groups: Vec<bool>,
    looks: usize,
}

impl Pairs {
    /// Nothing paired; donors that one of these ways rests on must not be used.
    pub(super) fn new(task: &Task, ways: &[usize]) -> Self {
        Self {
            owner: vec![None; task.group_of.len()],
            used: vec![0; task.groups.len()],
            banned: banned(task, ways),
        }
    }

    /// Fills one more gap if that can be.
    pub(super) fn fill(&mut self, task: &Task, gap: usize, looks: &mut usize) -> bool {
        let mut seen = Visited {
            donors: self.banned.clone(),
            groups: vec![false; self.used.len()],
            looks: 0,
        };
        let filled = self.seek(task, gap, &mut seen);
        *looks += seen.looks + seen.donors.len() / 8;
        filled
    }

    pub(super) fn fill_all(&mut self, task: &Task, gaps: &[usize], looks: &mut usize) -> bool {
        gaps.iter().all(|gap| self.fill(task, *gap, looks))
    }

    fn seek(&mut self, task: &Task, gap: usize, seen: &mut Visited) -> bool {
        let fits = task.fits.get(gap).map_or(&[][..], Vec::as_slice);
        // A free donor first: most gaps need no more.
        for (donor, _) in fits {
            seen.looks += 1;
            if !pick(&seen.donors, *donor) && pick(&self.owner, *donor).is_none() && self.has_room(task, *donor) {
                self.take(task, *donor, gap);
                return true;
            }
        }
        for (donor, _) in fits {
            seen.looks += 1;
            if !mark(&mut seen.donors, *donor) {
                continue;
            }
            if let Some(other) = pick(&self.owner, *donor) {
                if self.seek(task, other, seen) {
                    self.give(*donor, Some(gap));
                    return true;
                }
                continue;
            }
            // Free, but its group is full: another of the group steps back.
            let Some(group) = pick(&task.group_of, *donor) else { continue };
            if !mark(&mut seen.groups, group) {
                continue;
            }
            for member in 0..self.owner.len() {
                let Some(other) = pick(&self.owner, member) else { continue };
                if pick(&task.group_of, member) != Some(group) || !mark(&mut seen.donors, member) {
                    continue;
                }
                if self.seek(task, other, seen) {
                    self.give(member, None);
                    self.give(*donor, Some(gap));
                    return true;
                }
            }
        }
        false
    }

    fn has_room(&self, task: &Task, donor: usize) -> bool {
        pick(&task.group_of, donor).is_none_or(|group| pick(&self.used, group) < pick(&task.groups, group))
    }

    fn take(&mut self, task: &Task, donor: usize, gap: usize) {
        self.give(donor, Some(gap));
        if let Some(used) = pick(&task.group_of, donor).and_then(|group| self.used.get_mut(group)) {
            *used += 1;
        }
    }

    fn give(&mut self, donor: usize, gap: Option<usize>) {
        if let Some(owner) = self.owner.get_mut(donor) {
            *owner = gap;
        }
    }
}

/// The donors that these ways rest on.
fn banned(task: &Task, ways: &[usize]) -> Vec<bool> {
    let mut banned = vec![false; task.group_of.len()];
    for donor in ways.iter().filter_map(|way| task.ways.get(*way)).flat_map(|way| &way.rests_on) {
        mark(&mut banned, *donor);
    }
    banned
}

/// Marks; true when it was not marked.
fn mark(marks: &mut [bool], at: usize) -> bool {
    marks.get_mut(at).is_some_and(|mark| !std::mem::replace(mark, true))
}

/// Gap and donor of each pair, the minutes of all, and the looks spent.
pub(super) type Cheapest = (Vec<(usize, usize)>, i64, usize);

/// The cheapest way to fill all gaps of these ways; `None` when they cannot all be filled.
pub(super) fn cheapest(task: &Task, ways: &[usize]) -> Option<Cheapest> {
    let gaps: Vec<usize> = ways
        .iter()
        .filter_map(|way| task.ways.get(*way))
        .flat_map(|way| way.gaps.iter().copied())
        .collect();
    let banned = banned(task, ways);
    let (donors, groups) = (task.group_of.len(), task.groups.len());
    let (source, sink) = (gaps.len() + donors + groups, gaps.len() + donors + groups + 1);
    let mut flow = Flow::new(sink + 1);
    let mut edges = Vec::new();
    let mut joined = vec![false; donors];
    for (at, gap) in gaps.iter().enumerate() {
        flow.edge(source, at, 1, 0);
        for (donor, minutes) in task.fits.get(*gap)? {
            if pick(&banned, *donor) {
                continue;
            }
            edges.push((*gap, *donor, flow.edge(at, gaps.len() + donor, 1, *minutes)));
            if mark(&mut joined, *donor) {
                let to = pick(&task.group_of, *donor).map_or(sink, |group| gaps.len() + donors + group);
                flow.edge(gaps.len() + donor, to, 1, 0);
            }
        }
    }
    for (group, most) in task.groups.iter().enumerate() {
        flow.edge(gaps.len() + donors + group, sink, i64::try_from(*most).ok()?, 0);
    }
    let (sent, cost) = flow.send(source, sink);
    if sent < i64::try_from(gaps.len()).ok()? {
        return None;
    }
    let pairs = edges
        .into_iter()
        .filter(|(.., edge)| flow.on(*edge) > 0)
        .map(|(gap, donor, _)| (gap, donor))
        .collect();
    Some((pairs, cost, flow.looks() + donors))
}
