//! The register of an agency as a file, read in a fixed number of queries.

use std::collections::HashMap;

use fullset_register::{ExportRow, ReadLender, RowState};

use super::names::{PlaceNames, row_state};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record},
    },
    slices::{districts::District, models::Model, pieces::Piece, rigs::Rig, shops::Shop, stations::Station},
};

fn labels<R: Record>(db: &mut Db, agency: AgencyId) -> Result<HashMap<uuid::Uuid, String>, Fault> {
    Ok(record::all(db, agency, R::KIND)?.into_iter().map(|row| (row.id.0, row.label)).collect())
}

/// The register as CSV, UTF-8, pieces by tag.
pub fn export(db: &mut Db, agency: AgencyId) -> Result<String, Fault> {
    let districts = labels::<District>(db, agency)?;
    let names = PlaceNames {
        stations: labels::<Station>(db, agency)?,
        rigs: labels::<Rig>(db, agency)?,
        shops: labels::<Shop>(db, agency)?,
    };
    let models: HashMap<_, Model> = record::all(db, agency, Model::KIND)?
        .iter()
        .map(|row| row.read::<Model>().map(|model| (model.id, model)))
        .collect::<Result<_, _>>()?;
    let mut pieces = Vec::new();
    for row in record::all(db, agency, Piece::KIND)? {
        let piece: Piece = row.read()?;
        let place = names.place(&piece.place);
        let station = row.station.and_then(|id| names.stations.get(&id.0));
        let district = row.district.and_then(|id| districts.get(&id.0));
        pieces.push((piece, place, station, district));
    }
    let rows: Vec<ExportRow<'_>> = pieces
        .iter()
        .filter_map(|(piece, place, station, district)| {
            let model = models.get(&piece.model)?;
            Some(ExportRow {
                tag: &piece.tag,
                kind: piece.kind,
                model: &model.name,
                hookup: &model.hookup,
                ratings: &model.ratings,
                serial: piece.serial.as_deref(),
                place,
                station: station.map(String::as_str),
                district: district.map(String::as_str),
                made_on: piece.made_on,
                in_service_since: piece.in_service_since,
                last_service_on: piece.last_service_on,
                lent_by: piece.lent_by.as_ref().map(|lender| ReadLender {
                    name: lender.name.clone(),
                    due_on: lender.due_on,
                }),
                state: row_state(piece.state),
                state_reason: piece.state_reason.as_deref().filter(|_| row_state(piece.state) != RowState::InService),
                note: piece.note.as_deref(),
            })
        })
        .collect();
    Ok(fullset_register::write(&rows))
}
