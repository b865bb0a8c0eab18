//! The day as the judge sees it: for each rig every set of pieces that makes it full, for each piece what its own rig can spare, and whether all moves
//! of a plan do together.

use super::input::{Day, District, Donor, Fit, Group, Home, Instead, Mend, Planned, Rig, Together, Want};
use super::merge::merged;
use crate::capability::{self as judge, Level, Mends, Piece, Rules, Spares, Stock, mends, spares, stands};
use crate::coverage::Zone;
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use uuid::Uuid;

/// What a rig gives.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Gives {
    /// Nothing.
    Nothing,
    /// What it can spare without dropping a level.
    Spare,
    /// Whatever is aboard.
    Whatever,
}

/// A rig, with what is aboard.
#[derive(Debug, Clone)]
pub struct FleetRig<'a> {
    /// Id of the rig.
    pub id: Uuid,
    /// What people call it.
    pub name: String,
    /// Its district.
    pub district: Option<usize>,
    /// The zones it reaches in time.
    pub reaches: Vec<usize>,
    /// As it is judged.
    pub view: judge::Rig<'a>,
    /// Whether it counts where it is full.
    pub counts: bool,
    /// Whether something is sought to make it full.
    pub is_sought: bool,
    /// What it gives.
    pub gives: Gives,
}

/// A piece that may be moved.
#[derive(Debug, Clone)]
pub struct FleetDonor<'a> {
    /// As it is judged.
    pub piece: &'a Piece,
    /// The rig that it is on.
    pub rig: Option<usize>,
    /// Its tag, with its kind.
    pub name: String,
    /// Where it comes from.
    pub home: Home,
    /// The same in words.
    pub place: String,
    /// The district it is in.
    pub district: Option<usize>,
    /// What stays open where it was, in words.
    pub leaves: Option<String>,
}

/// Rigs and donors, as they are judged.
#[derive(Debug, Clone)]
pub struct Fleet<'a> {
    /// Zones with their weights.
    pub zones: Vec<Zone>,
    /// Districts.
    pub districts: Vec<District>,
    /// Rigs.
    pub rigs: Vec<FleetRig<'a>>,
    /// Donors.
    pub donors: Vec<FleetDonor<'a>>,
    /// What all are judged by.
    pub rules: &'a Rules,
    /// When.
    pub at: DateTime<Utc>,
}

/// A fleet, judged: the day to plan, and what knows whether moves do together.
pub struct Judged<'f> {
    /// The day.
    pub day: Day,
    fleet: &'f Fleet<'f>,
    levels: Vec<Level>,
    /// Which rig and donor of the fleet those of the day are.
    rig_of: Vec<usize>,
    donor_of: Vec<usize>,
    /// Of each rig of the day: the donors that can stand for each other on it.
    alike: Vec<Vec<Vec<usize>>>,
}

impl<'f> Judged<'f> {
    /// Judges a fleet. `minutes`: from where a donor is to a rig, by their places in the fleet.
    #[must_use]
    pub fn new(fleet: &'f Fleet<'f>, minutes: impl Fn(usize, usize) -> f64) -> Self {
        let levels: Vec<Level> = fleet.rigs.iter().map(|rig| judge::level(&rig.view, fleet.rules, fleet.at).level).collect();
        let mut judged = Self {
            day: Day {
                zones: fleet.zones.clone(),
                districts: fleet.districts.clone(),
                ..Day::default()
            },
            fleet,
            levels,
            rig_of: (0..fleet.rigs.len()).filter(|rig| fleet.rigs.get(*rig).is_some_and(|rig| rig.counts)).collect(),
            donor_of: Vec::new(),
            alike: Vec::new(),
        };
        judged.add_donors();
        let pieces = judged
            .donor_of
            .iter()
            .filter_map(|donor| fleet.donors.get(*donor))
            .map(|donor| donor.piece)
            .collect();
        let stock = Stock::new(pieces, fleet.rules, fleet.at);
        for rig in judged.rig_of.clone() {
            judged.add_rig(rig, &stock, &minutes);
        }
        judged
    }

    /// The donors that may go at all, those of one rig that are alike in one group.
    fn add_donors(&mut self) {
        let fleet = self.fleet;
        let mut group_of: BTreeMap<Uuid, usize> = BTreeMap::new();
        for rig in &fleet.rigs {
            let all = match rig.gives {
                Gives::Nothing => Vec::new(),
                Gives::Spare => spares(&rig.view, fleet.rules, fleet.at),
                Gives::Whatever => vec![Spares {
                    pieces: rig.view.pieces.iter().map(|piece| piece.id).collect(),
                    most: rig.view.pieces.len(),
                }],
            };
            for Spares { pieces, most } in all.into_iter().filter(|spares| spares.most > 0) {
                group_of.extend(pieces.iter().map(|piece| (*piece, self.day.groups.len())));
                self.day.groups.push(Group { most });
            }
        }
        for (number, donor) in fleet.donors.iter().enumerate() {
            let group = group_of.get(&donor.piece.id).copied();
            if donor.rig.is_some() && group.is_none() || !donor.piece.is_usable(&fleet.rules.policy, fleet.at) {
                continue;
            }
            self.donor_of.push(number);
            self.day.donors.push(Donor {
                id: donor.piece.id,
                name: donor.name.clone(),
                home: donor.home,
                place: donor.place.clone(),
                district: donor.district,
                group,
                leaves: donor.leaves.clone(),
            });
        }
    }

    fn donor(&self, donor: usize) -> Option<&'f super::FleetDonor<'f>> {
        self.fleet.donors.get(*self.donor_of.get(donor)?)
    }

    fn add_rig(&mut self, number: usize, stock: &Stock<'_>, minutes: &impl Fn(usize, usize) -> f64) {
        let fleet = self.fleet;
        let Some(rig) = fleet.rigs.get(number) else { return };
        let is_full = self.levels.get(number).is_some_and(|level| level.is_full());
        // The donors on the rig itself, by group.
        let mut own: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (donor, of) in self.day.donors.iter().enumerate() {
            if let Some(group) = of.group.filter(|_| self.donor(donor).is_some_and(|donor| donor.rig == Some(number))) {
                own.entry(group).or_default().push(donor);
            }
        }
        let own: Vec<Vec<usize>> = own.into_values().collect();
        let ids: Vec<Vec<Uuid>> = own
            .iter()
            .map(|group| group.iter().filter_map(|d| self.day.donors.get(*d)).map(|d| d.id).collect())
            .collect();
        let found = if is_full || !rig.is_sought {
            Mends::default()
        } else {
            let may = |donor: usize| self.donor(donor).is_some_and(|donor| donor.rig != Some(number));
            mends(&rig.view, Level::Full, stock, may, &ids, fleet.rules, fleet.at)
        };
        let fit = |donor: &usize| Fit {
            donor: *donor,
            minutes: self.donor_of.get(*donor).map_or(f64::NAN, |donor| minutes(*donor, number)),
        };
        let all = merged(&found.sets).into_iter().map(|(wants, rests_on)| Mend {
            wants: wants
                .iter()
                .map(|sorts| Want {
                    fits: sorts.iter().filter_map(|sort| found.sorts.get(*sort)).flatten().map(fit).collect(),
                })
                .collect(),
            rests_on: rests_on.iter().filter_map(|group| own.get(*group)).flatten().copied().collect(),
        });
        let rig = Rig {
            id: rig.id,
            name: rig.name.clone(),
            full: is_full,
            reaches: rig.reaches.clone(),
            district: rig.district,
            mends: all.collect(),
            is_sought: rig.is_sought,
            undecided: found.undecided.map(|why| why.words().to_owned()),
        };
        self.day.rigs.push(rig);
        self.alike.push(found.sorts);
    }

    /// Whether a rig reaches a level without these donors of its own and with what comes.
    fn stands(&self, rig: usize, gone: &[usize], comes: &[&Planned], floor: Level) -> bool {
        let Some(of) = self.fleet.rigs.get(rig) else { return false };
        let gone: Vec<Uuid> = gone.iter().filter_map(|donor| self.donor(*donor)).map(|donor| donor.piece.id).collect();
        let comes: Vec<&Piece> = comes.iter().filter_map(|planned| self.donor(planned.donor)).map(|donor| donor.piece).collect();
        stands(&of.view, &gone, &comes, floor, self.fleet.rules, self.fleet.at)
    }

    /// Fewer of some group, where what goes is too much: of a smallest set of them that is.
    fn fewer(&self, rig: usize, gone: &[usize], comes: &[&Planned], floor: Level) -> Vec<Instead> {
        let mut gone = gone.to_vec();
        for donor in gone.clone() {
            let rest: Vec<usize> = gone.iter().copied().filter(|other| *other != donor).collect();
            if !self.stands(rig, &rest, comes, floor) {
                gone = rest;
            }
        }
        let mut groups: BTreeMap<usize, usize> = BTreeMap::new();
        for group in gone.iter().filter_map(|donor| self.day.donors.get(*donor)).filter_map(|donor| donor.group) {
            *groups.entry(group).or_default() += 1;
        }
        groups.into_iter().map(|(group, taken)| Instead::Fewer { group, most: taken - 1 }).collect()
    }

    fn other(&self, planned: &Planned) -> Instead {
        let sorts = self.alike.get(planned.rig).into_iter().flatten();
        Instead::Other {
            rig: planned.rig,
            mend: planned.mend,
            want: planned.want,
            donors: sorts
                .into_iter()
                .find(|sort| sort.contains(&planned.donor))
                .cloned()
                .unwrap_or_else(|| vec![planned.donor]),
        }
    }
}

impl Together for Judged<'_> {
    fn breach(&mut self, moves: &[Planned]) -> Vec<Instead> {
        let mut goes: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut comes: BTreeMap<usize, Vec<&Planned>> = BTreeMap::new();
        for planned in moves {
            if let Some(rig) = self.donor(planned.donor).and_then(|donor| donor.rig) {
                goes.entry(rig).or_default().push(planned.donor);
            }
            comes.entry(planned.rig).or_default().push(planned);
        }
        for (rig, gone) in &goes {
            let level = self.levels.get(*rig).copied().unwrap_or(Level::None);
            let is_bound = self.fleet.rigs.get(*rig).is_some_and(|rig| rig.gives == Gives::Spare);
            if is_bound && !self.stands(*rig, gone, &[], level) {
                return self.fewer(*rig, gone, &[], level);
            }
        }
        for (rig, comes) in &comes {
            let Some(number) = self.rig_of.get(*rig) else { continue };
            let gone = goes.get(number).map_or(&[][..], Vec::as_slice);
            if !self.stands(*number, gone, comes, Level::Full) {
                let mut ways_out = self.fewer(*number, gone, comes, Level::Full);
                ways_out.extend(comes.iter().map(|planned| self.other(planned)));
                return ways_out;
            }
        }
        Vec::new()
    }
}
