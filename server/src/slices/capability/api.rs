use std::collections::{HashMap, hash_map::Entry};

use actix_web::{HttpResponse, http::Method, web};
use fullset_calc::{
    capability::{self as calc, Level},
    coverage::{Point, great_circle_m},
};
use serde::{Deserialize, Serialize};
use utoipa::{ToSchema, openapi::path::ParameterIn};
use uuid::Uuid;

use super::{
    Capability,
    load::{Aboard, Catalogue},
    ops,
};
use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        http::{Access, Api, Caller, Doc, Shared},
        ids::AgencyId,
        record::{self, Record as _},
    },
    slices::{
        pieces::{Piece, PieceId, PieceState, Place},
        rigs::{Rig, RigId},
        stations::Station,
    },
};

/// Capability's addresses.
pub fn routes(api: &mut Api) {
    api.registry.settle_with(Rig::KIND, ops::settle);
    api.list::<Capability>("/v1/capabilities");
    api.find::<Capability>("/v1/capabilities/{id}");
    api.history::<Capability>("/v1/capabilities/{id}/history");
    api.other(
        Method::GET,
        "/v1/rigs/{id}/stand-ins",
        Doc::new(
            "rigs",
            "list_stand_ins",
            "Pieces that would fill a slot of a rig, nearest first",
            Access::Member,
        )
        .parameter(ParameterIn::Path, "id", true, "The rig")
        .parameter(ParameterIn::Query, "slot", true, "The slot's short name in the rig's complement")
        .answers::<StandIns>("200", "What fits")
        .refuses("400", "The query cannot be read")
        .refuses("404", "No such rig, or its complement has no such slot"),
        stand_ins,
    );
}

/// A piece that would fill the slot.
#[derive(Debug, Serialize, ToSchema)]
struct StandIn {
    /// The piece.
    piece: PieceId,
    /// Its tag.
    tag: String,
    /// The piece's revision, to be named when it is taken off another rig.
    rev: i64,
    /// Its model.
    model: Uuid,
    /// Where it is.
    place: Place,
    /// The station where it is, if it is at one.
    station: Option<Uuid>,
    /// Straight-line distance in km; absent where a station has no point.
    distance_km: Option<f64>,
    /// The level that the rig would have with it.
    restores: Level,
    /// What speaks for it and against it.
    words: String,
    /// What it leaves open behind.
    leaves: Option<String>,
}

/// What fits, nearest first.
#[derive(Debug, Serialize, ToSchema)]
struct StandIns {
    /// The candidates.
    items: Vec<StandIn>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Asked {
    slot: String,
}

async fn stand_ins(shared: web::Data<Shared>, caller: Caller, rig: web::Path<String>, asked: web::Query<Asked>) -> Result<HttpResponse, Fault> {
    let shared = shared.into_inner();
    let (now, agency) = (shared.clock.now(), caller.0.agency);
    let missing = || Fault::new(error::NOT_FOUND, "There is no such rig in this agency");
    let rig = RigId(rig.parse().map_err(|_| missing())?);
    let items = shared
        .read_current(agency, move |db| candidates(db, agency, rig, &asked.slot, now)?.ok_or_else(missing))
        .await?;
    Ok(HttpResponse::Ok().json(StandIns { items }))
}

fn candidates(db: &mut Db, agency: AgencyId, rig: RigId, slot: &str, now: chrono::DateTime<chrono::Utc>) -> Result<Option<Vec<StandIn>>, Fault> {
    let Some(mut catalogue) = Catalogue::open(db, agency)? else { return Ok(None) };
    let Some(aboard) = Aboard::load(db, &mut catalogue, rig)? else {
        return Ok(None);
    };
    let asked = aboard
        .class
        .as_ref()
        .and_then(|class| class.complement.slots.iter().find(|known| known.id == slot));
    let Some(asked) = asked else {
        return Err(Fault::new(error::NOT_FOUND, format!("The complement of {} has no slot '{slot}'", aboard.rig.name)).at("slot"));
    };
    let policy = catalogue.policy.for_capability();
    let points: HashMap<Uuid, Option<Point>> = record::read_all::<Station>(db, agency)?
        .into_iter()
        .map(|station| (station.id.0, station.point()))
        .collect();
    let here = points.get(&aboard.rig.station.0).copied().flatten();
    let mut donors: HashMap<RigId, Option<Aboard>> = HashMap::new();
    let mut items = Vec::new();
    for row in record::all(db, agency, Piece::KIND)? {
        let piece: Piece = row.read()?;
        let elsewhere = match &piece.place {
            Place::Rig { rig: on } => *on != rig,
            Place::Shelf { .. } | Place::Shop { .. } => true,
            _ => false,
        };
        if piece.state != PieceState::InService || !elsewhere || !asked.kinds.contains(&piece.kind) {
            continue;
        }
        let judged = catalogue.judged(db, &piece)?;
        let fit = catalogue.speak(|voice| calc::fits(slot, &judged, &aboard.view(), &policy, now, voice));
        if !fit.fits {
            continue;
        }
        let leaves = match piece.place.rig() {
            None => None,
            Some(donor) => {
                let from = match donors.entry(donor) {
                    Entry::Occupied(known) => known.into_mut(),
                    Entry::Vacant(place) => place.insert(Aboard::load(db, &mut catalogue, donor)?),
                };
                let Some(from) = from else { continue };
                let (with, without) = (
                    calc::level(&from.view(), &policy, now),
                    calc::without_piece(&from.view(), piece.id.0, &policy, now),
                );
                if without.level != with.level {
                    continue; // A stand-in that costs another rig its level mends nothing.
                }
                Some(format!("{} stays {} without it", from.rig.name, without.level.name()))
            }
        };
        let station = row.station.map(|id| id.0);
        let there = station.and_then(|id| points.get(&id).copied().flatten());
        items.push(StandIn {
            piece: piece.id,
            tag: piece.tag,
            rev: row.rev,
            model: piece.model.0,
            place: piece.place,
            station,
            distance_km: here.zip(there).map(|(here, there)| (great_circle_m(here, there) / 100.0).round() / 10.0),
            restores: fit.level,
            words: if fit.level == Level::Full {
                "makes the rig full".into()
            } else {
                format!("fills the slot; the rig is then {}", fit.level.name())
            },
            leaves,
        });
    }
    // Reserves before other rigs' spares, then the nearest; what has no distance comes last.
    items.sort_by(|a, b| {
        let far = |item: &StandIn| item.distance_km.unwrap_or(f64::MAX);
        a.leaves
            .is_some()
            .cmp(&b.leaves.is_some())
            .then(far(a).total_cmp(&far(b)))
            .then(a.tag.cmp(&b.tag))
    });
    Ok(Some(items))
}
