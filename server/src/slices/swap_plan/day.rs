//! The county as the search for a swap plan sees it.

use std::collections::HashMap;

use fullset_calc::{
    capability::{Assessment, Level, Rules},
    coverage::{Travel, TravelCurve, Zone, great_circle_m},
    swaps::{District, Fleet as Judging, FleetRig, Gives},
};

use super::{
    donors,
    rules::Part,
    view::{Counted, PlanInput},
};
use crate::{
    platform::error::Fault,
    slices::{
        capability::{Aboard, FleetPiece},
        coverage::County,
        districts::DistrictId,
        rigs::{Duty, RigId},
        stations::StationId,
    },
};

/// Where a place is not on the map, its pieces are taken to be an hour away: later than any that is.
const UNKNOWN_MINUTES: f64 = 60.0;

/// Every rig's answer, worked out now.
pub type Answers = HashMap<RigId, Assessment>;

/// The county, with the pieces and rigs that its places in the lists stand for.
pub struct Today<'f> {
    pub judging: Judging<'f>,
    pub rigs: Vec<&'f Aboard>,
    pub held: Vec<&'f FleetPiece>,
    /// What counts.
    pub by: Counted,
}

impl Today<'_> {
    /// Minutes from where a donor is to a rig.
    pub fn minutes(&self, county: &County, donor: usize, rig: usize) -> f64 {
        let way = self
            .held
            .get(donor)
            .zip(self.rigs.get(rig))
            .and_then(|(held, aboard)| minutes(county, held, aboard));
        way.map_or(UNKNOWN_MINUTES, |(minutes, _)| minutes)
    }
}

/// Puts it together. Where only one district is to be mended, rigs elsewhere count as far as they are full, and give what they can spare.
pub fn today<'f>(asked: &PlanInput<'f>, answers: &Answers, rules: &'f Rules) -> Result<Today<'f>, Fault> {
    let PlanInput { fleet, county, now, .. } = *asked;
    let place: HashMap<DistrictId, usize> = county.districts.iter().map(|district| district.id).zip(0..).collect();
    let level = |id: RigId| answers.get(&id).map_or(Level::None, |answer| answer.level);
    let rigs: Vec<&Aboard> = county.rigs.iter().filter_map(|standing| fleet.rigs.get(&standing.rig.id)).collect();
    let rigs: Vec<&Aboard> = rigs.into_iter().filter(|aboard| asked.part(aboard.rig.id) != Part::None).collect();
    let within = |aboard: &Aboard| asked.district.is_none_or(|of| county.district_of(&aboard.rig) == Some(of));
    let reached = county.minutes(None)?.filter(|_| asked.by == Counted::Demand);
    let column_of = county.column_of();
    let target = county.demand.as_ref().map_or(0.0, |demand| demand.target_minutes);
    let zone = |aboard: &&Aboard| Zone {
        id: aboard.rig.id.0,
        weight: 1.0,
    };
    let (zones, by) = match &reached {
        Some((zones, _)) => (zones.clone(), Counted::Demand),
        // Each rig is a zone of its own; one that does not count is reached by nobody and weighs nothing.
        None => (rigs.iter().map(zone).collect(), Counted::Rigs),
    };
    let fleet_rig = |(number, aboard): (usize, &&'f Aboard)| {
        let id = aboard.rig.id;
        let (part, is_full) = (asked.part(id), level(id).is_full());
        let reaches = match &reached {
            None => vec![number],
            Some((_, minutes)) => {
                let column = column_of.get(&aboard.rig.station.0).copied();
                let there = |row: &Vec<f64>| column.and_then(|column| row.get(column)).is_some_and(|minutes| *minutes <= target);
                (0..).zip(&minutes.rows).filter(|(_, row)| there(row)).map(|(at, _)| at).collect()
            }
        };
        FleetRig {
            id: id.0,
            name: aboard.rig.name.clone(),
            district: county.district_of(&aboard.rig).and_then(|district| place.get(&district).copied()),
            reaches,
            view: aboard.view(),
            counts: part == Part::Whole && (is_full || within(aboard)),
            is_sought: part == Part::Whole && within(aboard) && answers.get(&id).is_some_and(|answer| answer.target.is_full()),
            gives: if part == Part::Whole { Gives::Spare } else { Gives::Whatever },
        }
    };
    let fleet_rigs: Vec<FleetRig<'f>> = rigs.iter().enumerate().map(fleet_rig).collect();
    let mut zones = zones;
    if by == Counted::Rigs {
        for (zone, _) in zones.iter_mut().zip(&fleet_rigs).filter(|(_, rig)| !rig.counts) {
            zone.weight = 0.0;
        }
    }
    let number: HashMap<RigId, usize> = rigs.iter().map(|aboard| aboard.rig.id).zip(0..).collect();
    let (donors, held) = donors::donors(asked, answers, &number, &place);
    Ok(Today {
        judging: Judging {
            zones,
            districts: county
                .districts
                .iter()
                .map(|district| District {
                    is_short: is_short(asked, answers, district.id, district.min_full),
                })
                .collect(),
            rigs: fleet_rigs,
            donors,
            rules,
            at: now,
        },
        rigs,
        held,
        by,
    })
}

/// Whether a district has fewer full rigs in the front line than it should have.
fn is_short(asked: &PlanInput<'_>, answers: &Answers, district: DistrictId, min_full: u32) -> bool {
    let front_line = |aboard: &&Aboard| aboard.rig.in_service && aboard.rig.duty == Duty::FrontLine;
    let own = asked
        .fleet
        .rigs
        .values()
        .filter(front_line)
        .filter(|aboard| asked.county.district_of(&aboard.rig) == Some(district));
    let full = own.filter(|aboard| answers.get(&aboard.rig.id).is_some_and(|answer| answer.level.is_full()));
    u32::try_from(full.count()).unwrap_or(u32::MAX) < min_full
}

/// Straight minutes by the published curve from where a piece is to a rig's station; none when either is not on the map.
pub fn minutes(county: &County, held: &FleetPiece, aboard: &Aboard) -> Option<(f64, f64)> {
    let from = held.scope.station?;
    if from == aboard.rig.station.0 {
        return Some((0.0, 0.0));
    }
    let point = |id: StationId| county.station(id)?.point();
    let (from, to) = (point(StationId(from))?, point(aboard.rig.station)?);
    let travel = Travel {
        curve: TravelCurve::PUBLISHED,
        detour: county.demand.as_ref().map_or(1.3, |demand| demand.detour),
    };
    Some((travel.minutes(from, to), great_circle_m(from, to) / 1000.0))
}
