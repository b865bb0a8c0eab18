//! The county as the search for a swap plan sees it.

use std::collections::HashMap;

use chrono::{DateTime, Utc};
use fullset_calc::{
    capability::{self as judge, Act, ActKind, Assessment, GapIn, Level},
    coverage::{Travel, TravelCurve, Zone, great_circle_m},
    ratings::Kind,
    swaps::{Day, Fit, Gap, Rig},
};

use super::{
    donors::Donors,
    rules::Part,
    view::{Counted, PlanInput},
};
use crate::{
    platform::error::Fault,
    slices::{
        capability::{Aboard, Fleet, FleetPiece},
        coverage::County,
        rigs::RigId,
        stations::StationId,
    },
};

/// Where a place is not on the map, its pieces are taken to be an hour away: later than any that is.
pub const UNKNOWN_MINUTES: f64 = 60.0;

/// What a rig lacks for full.
#[derive(Debug, Clone, PartialEq)]
pub struct Lack {
    /// The need of the rig's target grade that it would serve; `None`: it is needed behind the scenes, as a further hose is.
    pub need: Option<String>,
    /// As people read it.
    pub name: String,
    /// The kinds that may be it.
    pub kinds: Vec<Kind>,
}

/// The rigs of the day, by name; and for each what it wants. A rig that no piece mends wants nothing.
pub struct Rigs {
    pub rigs: Vec<Rig>,
    pub wants: Vec<Vec<Lack>>,
    pub zones: Vec<Zone>,
    /// What counts.
    pub by: Counted,
}

/// Puts the rigs in order. Outside of `district` only full rigs count, as it is there that nothing is to be mended.
pub fn rigs(asked: &PlanInput<'_>, answers: &HashMap<RigId, Assessment>) -> Result<Rigs, Fault> {
    let PlanInput { fleet, county, district, .. } = *asked;
    let within = |standing: &RigId| {
        fleet
            .rigs
            .get(standing)
            .is_some_and(|aboard| district.is_none_or(|of| county.district_of(&aboard.rig) == Some(of)))
    };
    let level = |id: &RigId| answers.get(id).map_or(Level::None, |answer| answer.level);
    let listed: Vec<&Aboard> = county
        .rigs
        .iter()
        .map(|standing| standing.rig.id)
        .filter(|id| asked.part(*id) == Part::Whole && (level(id).is_full() || within(id)))
        .filter_map(|id| fleet.rigs.get(&id))
        .collect();
    let reached = county.minutes(None)?.filter(|_| asked.by == Counted::Demand);
    let column_of = county.column_of();
    let target = county.demand.as_ref().map_or(0.0, |demand| demand.target_minutes);
    let (zones, by) = match &reached {
        Some((zones, _)) => (zones.clone(), Counted::Demand),
        None => (
            listed
                .iter()
                .map(|aboard| Zone {
                    id: aboard.rig.id.0,
                    weight: 1.0,
                })
                .collect(),
            Counted::Rigs,
        ),
    };
    let mut found = Rigs {
        rigs: Vec::with_capacity(listed.len()),
        wants: Vec::with_capacity(listed.len()),
        zones,
        by,
    };
    for (number, aboard) in listed.iter().enumerate() {
        let reaches = match &reached {
            None => vec![number],
            Some((_, minutes)) => {
                let column = column_of.get(&aboard.rig.station.0).copied();
                let there = |row: &Vec<f64>| column.and_then(|column| row.get(column)).is_some_and(|minutes| *minutes <= target);
                (0..).zip(&minutes.rows).filter(|(_, row)| there(row)).map(|(at, _)| at).collect()
            }
        };
        let full = level(&aboard.rig.id).is_full();
        found.rigs.push(Rig {
            id: aboard.rig.id.0,
            name: aboard.rig.name.clone(),
            full,
            reaches,
        });
        let answer = answers.get(&aboard.rig.id);
        found.wants.push(match answer {
            Some(answer) if !full && answer.target.is_full() => wants(aboard, answer).unwrap_or_default(),
            _ => Vec::new(),
        });
    }
    Ok(found)
}

/// What would have to be put aboard, one want for each act of the restoring set; none when an act is something that no other
/// piece replaces.
fn wants(aboard: &Aboard, answer: &Assessment) -> Option<Vec<Lack>> {
    answer.restore.iter().map(|act| want(aboard, answer, act)).collect()
}

fn want(aboard: &Aboard, answer: &Assessment, act: &Act) -> Option<Lack> {
    let further = |kind: Kind| Lack {
        need: None,
        name: format!("a further {}", kind.word()),
        kinds: vec![kind],
    };
    let for_need = |id: &str, kinds: Vec<Kind>| {
        let need = answer.needs.iter().find(|need| need.need == id)?;
        Some(Lack {
            need: Some(need.need.clone()),
            name: need.name.clone(),
            kinds,
        })
    };
    match (act.act, &act.need, act.piece) {
        (ActKind::PutRigBack, ..) => None,
        (ActKind::PutAboard, Some(need), _) => {
            let kind = act.kind?;
            Some(for_need(need, vec![kind]).unwrap_or_else(|| further(kind)))
        }
        (ActKind::PutAboard, None, _) => act.kind.map(further),
        (ActKind::Check | ActKind::PutRight, _, piece) => {
            // Another piece in the place of the one that would be mended.
            let broken = aboard.pieces.iter().find(|aboard| Some(aboard.id) == piece)?;
            let gap = answer
                .gaps
                .iter()
                .find(|gap| gap.r#in == GapIn::Need && gap.near.iter().any(|near| near.piece == piece));
            Some(gap.and_then(|gap| for_need(&gap.id, vec![broken.kind])).unwrap_or_else(|| further(broken.kind)))
        }
    }
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

/// The whole day.
pub fn day(fleet: &Fleet, county: &County, rigs: &Rigs, donors: &Donors<'_>, now: DateTime<Utc>) -> Day {
    let rules = fleet.rules();
    let (mut gaps, mut fits) = (Vec::new(), Vec::new());
    for (number, (rig, wants)) in rigs.rigs.iter().zip(&rigs.wants).enumerate() {
        let Some(aboard) = fleet.rigs.get(&RigId(rig.id)) else { continue };
        // Where a source is wanted too, hoses and tools are judged with the sources that might come.
        let source = wants.iter().find(|want| want.kinds.iter().any(|kind| kind.is_source()));
        let mut with_sources = aboard.pieces.clone();
        if let Some(want) = source.filter(|_| wants.len() > 1) {
            let fitting = donors.held.iter().filter(|held| fills(fleet, aboard, &aboard.pieces, want, held, &rules, now));
            with_sources.extend(fitting.map(|held| held.judged.clone()).take(12));
        }
        for want in wants {
            let is_source = source.is_some_and(|source| source == want);
            let base = if is_source { &aboard.pieces } else { &with_sources };
            let gap = gaps.len();
            gaps.push(Gap {
                rig: number,
                slot: want.name.clone(),
            });
            for (donor, held) in donors.held.iter().enumerate() {
                let own = held.piece.place.rig() == Some(RigId(rig.id));
                if own || !fills(fleet, aboard, base, want, held, &rules, now) {
                    continue;
                }
                // Where one piece is all that is wanted, the whole rig can be judged at once.
                if wants.len() == 1 && !judge::with_piece(&aboard.view(), &held.judged, &rules, now).level.is_full() {
                    continue;
                }
                fits.push(Fit {
                    gap,
                    donor,
                    minutes: minutes(county, held, aboard).map_or(UNKNOWN_MINUTES, |(minutes, _)| minutes),
                });
            }
        }
    }
    Day {
        zones: rigs.zones.clone(),
        rigs: rigs.rigs.clone(),
        gaps,
        donors: donors.donors.clone(),
        groups: donors.groups.clone(),
        fits,
    }
}

fn fills(fleet: &Fleet, aboard: &Aboard, base: &[judge::Piece], want: &Lack, held: &FleetPiece, rules: &judge::Rules, now: DateTime<Utc>) -> bool {
    if !want.kinds.contains(&held.piece.kind) {
        return false;
    }
    let view = judge::Rig { pieces: base, ..aboard.view() };
    let Some(need) = &want.need else {
        return judge::is_of_use(&view, &held.judged, rules, now);
    };
    let target = view.expects.filter(|level| level.is_full()).unwrap_or(Level::Full);
    let fit = fleet.speak(|voice| judge::fits((GapIn::Need, need), target, &held.judged, &view, rules, now, voice));
    fit.serves && !fit.mixes_fluids
}
