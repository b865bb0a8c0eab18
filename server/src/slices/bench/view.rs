use std::collections::HashMap;

use chrono::{DateTime, Utc};
use fullset_calc::{
    bench as calc,
    capability::{Level, Piece, Rig, State, assess},
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
        districts::DistrictId,
        rigs::RigId,
        tickets::{Ticket, TicketState},
    },
};

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
    let asked: Vec<calc::Ticket> = tickets
        .iter()
        .map(|ticket| calc::Ticket {
            id: ticket.id.0,
            number: Written(ticket.opened_at).to_string(),
            rig: fleet.as_ref().and_then(|fleet| home(fleet, &county, weights.as_ref(), ticket, now)),
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

/// What the rig where a ticket's piece is at home can do now, and with the piece back.
fn home(fleet: &Fleet, county: &County, weights: Option<&HashMap<RigId, f64>>, ticket: &Ticket, now: DateTime<Utc>) -> Option<calc::Home> {
    let held = fleet.piece(ticket.piece)?;
    let aboard = fleet.rigs.get(&held.piece.home.as_ref()?.rig()?)?;
    let mut back = held.judged.clone();
    back.state = State::InService;
    let mut pieces: Vec<Piece> = aboard.pieces.iter().filter(|piece| piece.id != back.id).cloned().collect();
    pieces.push(back);
    let whole = Rig {
        pieces: &pieces,
        ..aboard.view()
    };
    let then = fleet.speak(|voice| assess(&whole, &fleet.rules(), now, voice));
    let level = |rig: RigId| {
        county
            .rigs
            .iter()
            .find(|standing| standing.rig.id == rig)
            .map_or(Level::None, |standing| standing.level)
    };
    let district = county.district_of(&aboard.rig)?;
    let of_district = |id: DistrictId| county.districts.iter().find(|district| district.id == id);
    Some(calc::Home {
        rig: aboard.rig.name.clone(),
        weight: weights.map_or(1.0, |weights| weights.get(&aboard.rig.id).copied().unwrap_or(0.0)),
        now: level(aboard.rig.id),
        then: then.level,
        others_missing: then.restore.len(),
        district: of_district(district)?.name.clone(),
        district_full: county
            .rigs
            .iter()
            .filter(|standing| standing.is_full() && county.district_of(&standing.rig) == Some(district))
            .count(),
        district_minimum: usize::try_from(of_district(district)?.min_full).unwrap_or(usize::MAX),
    })
}
