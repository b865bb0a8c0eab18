use std::collections::HashMap;

use chrono::{DateTime, Utc};
use serde::Serialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        db::Db,
        door::{HistoryItem, Registry, happened, lapses},
        error::Fault,
        ids::AgencyId,
        past::{self, Then},
        record::Record as _,
    },
    slices::{
        capability::RigStanding,
        defects::{Defect, DefectNote, DefectState},
        models::Model,
        pieces::Piece,
        rigs::Rig,
        stations::Station,
        swaps::{Swap, SwapState},
    },
};

/// A piece that was aboard.
#[derive(Debug, Serialize, ToSchema)]
struct Aboard {
    /// The piece as it stood.
    piece: Piece,
    /// Its model's name then.
    model: String,
    /// The defects that were open on it.
    defects: Vec<Defect>,
    /// What had been seen of them again, in the order of time.
    notes: Vec<DefectNote>,
}

/// A rig at an instant, by what the service had been told.
#[derive(Debug, Serialize, ToSchema)]
pub struct Sheet {
    /// The instant that the sheet is of (UTC): the one that was asked of, or now.
    #[serde(serialize_with = "fullset_calc::instant::serialize")]
    at: DateTime<Utc>,
    /// The last revision that counts.
    revision: i64,
    /// The rig as it was on record then.
    rig: Rig,
    /// The name that its station had then.
    station: String,
    /// What it could do, and why not more.
    capability: Option<RigStanding>,
    /// What was aboard, by tag.
    aboard: Vec<Aboard>,
    /// The stand-ins that were aboard.
    swaps: Vec<Swap>,
    /// What had been done to the rig, to what was aboard and to its defects, newest first, at most 50.
    before: Vec<HistoryItem>,
    /// What has been done to them since, newest first, at most 50.
    since: Vec<HistoryItem>,
}

/// Reads the sheet; none when there was no such rig.
pub fn sheet(db: &mut Db, registry: &Registry, agency: AgencyId, rig: Uuid, then: Then, now: DateTime<Utc>) -> Result<Option<Sheet>, Fault> {
    let revision = then.revision;
    let Some(row) = past::one(db, agency, Rig::KIND, rig, revision)?.filter(|row| !row.gone) else {
        return Ok(None);
    };
    let found: Rig = past::read(&row)?;
    let station = past::one(db, agency, Station::KIND, found.station.0, revision)?
        .map(|row| past::read::<Station>(&row))
        .transpose()?
        .map_or_else(String::new, |station| station.name);
    // What waits to be judged anew now says nothing about an instant that has passed.
    let late = if now == then.at {
        lapses::late(db, agency, Rig::KIND, now)?
    } else {
        HashMap::new()
    };
    let capability = past::one(db, agency, RigStanding::KIND, rig, revision)?
        .map(|row| past::read::<RigStanding>(&row))
        .transpose()?
        .map(|capability| capability.as_read(then.at, &late));
    let on_rig = past::all(db, agency, &[Piece::KIND], revision)?
        .iter()
        .filter(|row| row.rig.is_some_and(|of| of.0 == rig))
        .map(past::read::<Piece>)
        .collect::<Result<Vec<_>, _>>()?;
    // A piece on its way to the rig is in its scope and not aboard.
    let mut pieces: Vec<Piece> = on_rig.into_iter().filter(|piece| piece.place.rig() == Some(found.id)).collect();
    pieces.sort_by(|a, b| a.tag.cmp(&b.tag));
    let models: HashMap<Uuid, String> = past::all(db, agency, &[Model::KIND], revision)?
        .iter()
        .map(|row| Ok((row.id.0, past::read::<Model>(row)?.name)))
        .collect::<Result<_, Fault>>()?;
    let ids: Vec<Uuid> = pieces.iter().map(|piece| piece.id.0).collect();
    let mut defects: HashMap<Uuid, Vec<Defect>> = HashMap::new();
    for row in past::of_parents(db, agency, Defect::KIND, &ids, revision)? {
        let defect: Defect = past::read(&row)?;
        if defect.state == DefectState::Open {
            defects.entry(defect.piece.0).or_default().push(defect);
        }
    }
    let mut notes: HashMap<Uuid, Vec<DefectNote>> = HashMap::new();
    for row in past::of_parents(db, agency, DefectNote::KIND, &ids, revision)? {
        let note: DefectNote = past::read(&row)?;
        if note.state == DefectState::Open {
            notes.entry(note.piece.0).or_default().push(note);
        }
    }
    notes.values_mut().for_each(|notes| notes.sort_by_key(|note| note.at));
    let swaps = past::of_parents(db, agency, Swap::KIND, &ids, revision)?
        .iter()
        .map(past::read::<Swap>)
        .filter(|swap| swap.as_ref().map_or(true, |swap| swap.state == SwapState::Open && swap.rig == found.id))
        .collect::<Result<Vec<_>, _>>()?;
    let mut concerned = ids;
    concerned.push(rig);
    concerned.extend(defects.values().flatten().map(|defect| defect.id.0));
    let before = happened(db, registry, agency, &concerned, 0, revision)?;
    let since = happened(db, registry, agency, &concerned, revision, i64::MAX)?;
    let aboard = pieces
        .into_iter()
        .map(|piece| Aboard {
            model: models.get(&piece.model.0).cloned().unwrap_or_default(),
            defects: defects.remove(&piece.id.0).unwrap_or_default(),
            notes: notes.remove(&piece.id.0).unwrap_or_default(),
            piece,
        })
        .collect();
    Ok(Some(Sheet {
        at: then.at,
        revision,
        rig: found,
        station,
        capability,
        aboard,
        swaps,
        before,
        since,
    }))
}
