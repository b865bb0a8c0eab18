use std::collections::HashMap;

use chrono::{DateTime, Utc};
use fullset_calc::{
    bench as calc,
    capability::{Level, Piece, Rig, State, assess, fits_anywhere},
    instant::Written,
};
use serde::Serialize;
use utoipa::ToSchema;

use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        past::{self, When},
        record,
    },
    slices::{
        capability::Fleet,
        coverage::County,
        pieces::Place,
        rigs::{Rig as RigRecord, RigId},
        tickets::{Ticket, TicketState},
    },
};

/// So many times at most it is worked out what a rig could do with a reserve piece aboard; what is beyond is said as not looked at.
const MOST_LOOKS: usize = 20_000;

/// The open tickets in the order in which the shop should take them.
#[derive(Debug, Serialize, ToSchema)]
pub struct BenchOrder {
    /// The revision that it shows.
    revision: i64,
    /// When it was read.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// What full capability of a rig counts: the demand that it would reach first, or 1 for each rig without zones.
    by: Weighed,
    /// The open tickets, the one to take first in front.
    items: Vec<calc::Ranked>,
}

/// What a rig counts by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum Weighed {
    /// By the demand of the zones that it is nearest to.
    Demand,
    /// There are no zones: every rig counts the same.
    Rigs,
}

/// Puts the open tickets in order.
pub fn order(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<BenchOrder, Fault> {
    let then = past::then(db, agency, When::default(), now)?;
    let county = County::read(db, agency, None, now)?;
    let mut tickets = record::read_all::<Ticket>(db, agency)?;
    tickets.retain(|ticket| ticket.state != TicketState::Closed);
    let fleet = Fleet::read(db, agency)?;
    let weights = first_due(&county)?;
    let mut looks = MOST_LOOKS;
    let asked: Vec<calc::Ticket> = tickets
        .iter()
        .map(|ticket| calc::Ticket {
            id: ticket.id.0,
            number: Written(ticket.opened_at).to_string(),
            back: back(fleet.as_ref(), &county, weights.as_ref(), ticket, &mut looks, now),
            age_days: (now - ticket.opened_at).as_seconds_f64().max(0.0) / 86_400.0,
        })
        .collect();
    let items = calc::order(&asked).map_err(|unfit| anyhow::anyhow!("the bench could not be put in order: {unfit}"))?;
    Ok(BenchOrder {
        revision: then.revision,
        at: now,
        by: if weights.is_some() { Weighed::Demand } else { Weighed::Rigs },
        items,
    })
}

/// For each rig the demand of the zones that it is nearest to by minutes, whatever its level; of rigs as near the first by
/// name. None without zones.
fn first_due(county: &County) -> Result<Option<HashMap<RigId, f64>>, Fault> {
    let Some((zones, minutes)) = county.minutes(None)? else { return Ok(None) };
    let column_of = county.column_of();
    let mut weights = HashMap::new();
    for (zone, row) in zones.iter().zip(&minutes.rows) {
        let nearest = county
            .rigs
            .iter()
            .filter_map(|standing| Some((row.get(*column_of.get(&standing.rig.station.0)?)?, standing.rig.id)))
            .filter(|(minutes, _)| minutes.is_finite())
            .min_by(|a, b| a.0.total_cmp(b.0));
        if let Some((_, rig)) = nearest {
            *weights.entry(rig).or_insert(0.0) += zone.weight;
        }
    }
    Ok(Some(weights))
}

/// Where a ticket's piece goes, and what that lifts. As it is judged but for being out: what is due, too old or of another fluid counts
/// against it here as it does aboard.
fn back(fleet: Option<&Fleet>, county: &County, weights: Option<&HashMap<RigId, f64>>, ticket: &Ticket, looks: &mut usize, now: DateTime<Utc>) -> calc::Back {
    let Some((fleet, held)) = fleet.and_then(|fleet| Some((fleet, fleet.piece(ticket.piece)?))) else {
        return calc::Back::Reserve(Vec::new());
    };
    // What is kept for a changeover goes aboard no rig before it.
    if held.piece.kept_for.is_some() {
        return calc::Back::Reserve(Vec::new());
    }
    let mut back = held.judged.clone();
    back.state = State::InService;
    if let Some(rig) = held.piece.home.as_ref().and_then(Place::rig) {
        let home = home(fleet, county, weights, rig, back, now);
        return home.map_or_else(|| calc::Back::Reserve(Vec::new()), calc::Back::Home);
    }
    let short = county.rigs.iter().filter(|standing| standing.is_front_line() && !standing.level.is_full());
    let mut lifted = Vec::new();
    for standing in short {
        let Some(aboard) = fleet.rigs.get(&standing.rig.id) else { continue };
        let Some(left) = looks.checked_sub(1) else { return calc::Back::NotLookedAt };
        *looks = left;
        let fit = fleet.speak(|voice| fits_anywhere(&back, &aboard.view(), &fleet.rules(), now, voice));
        // What would be joined to another fluid goes aboard by nobody's order.
        if !fit.mixes_fluids && fit.with.level > standing.level {
            lifted.extend(rig_of(county, weights, &standing.rig, (standing.level, fit.with.level), 0));
        }
    }
    calc::Back::Reserve(lifted)
}

/// What the rig where a piece is at home can do now, and with the piece back.
fn home(fleet: &Fleet, county: &County, weights: Option<&HashMap<RigId, f64>>, rig: RigId, back: Piece, now: DateTime<Utc>) -> Option<calc::Home> {
    let aboard = fleet.rigs.get(&rig)?;
    let mut pieces: Vec<Piece> = aboard.pieces.iter().filter(|piece| piece.id != back.id).cloned().collect();
    pieces.push(back);
    let whole = Rig {
        pieces: &pieces,
        ..aboard.view()
    };
    let then = fleet.speak(|voice| assess(&whole, &fleet.rules(), now, voice));
    let level = county
        .rigs
        .iter()
        .find(|standing| standing.rig.id == rig)
        .map_or(Level::None, |standing| standing.level);
    rig_of(county, weights, &aboard.rig, (level, then.level), then.restore.len())
}

/// A rig as the bench counts it: its level now and then, and how its district stands.
fn rig_of(county: &County, weights: Option<&HashMap<RigId, f64>>, rig: &RigRecord, (now, then): (Level, Level), others_missing: usize) -> Option<calc::Home> {
    let of = county.district_of(rig)?;
    let district = county.districts.iter().find(|district| district.id == of)?;
    Some(calc::Home {
        rig: rig.name.clone(),
        weight: weights.map_or(1.0, |weights| weights.get(&rig.id).copied().unwrap_or(0.0)),
        now,
        then,
        others_missing,
        district: district.name.clone(),
        district_full: county
            .rigs
            .iter()
            .filter(|standing| standing.is_full() && county.district_of(&standing.rig) == Some(of))
            .count(),
        district_minimum: usize::try_from(district.min_full).unwrap_or(usize::MAX),
    })
}
