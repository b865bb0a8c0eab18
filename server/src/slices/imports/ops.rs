use std::{collections::HashMap, sync::Arc};

use base64::Engine as _;
use fullset_calc::hookup::{UnderPressure, fold};
use fullset_register::{ReadPlace, Reading, RegisterFile, RegisterRow, RowState, gear_named};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Import, Report,
    feed::ImportId,
    load::{AgencyNames, Choices},
    progress::Told,
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Write, name},
        error::Fault,
        record::{Record, Scope},
    },
    slices::{
        couplings::{self, Coupling, CouplingId},
        districts::{District, DistrictId},
        models::{self, Draft, Model, ModelId},
        pieces::{Lender, Piece, PieceId, PieceState, Place, Unanswered, scope_at},
        rigs::{Duty, Rig, RigId, scope_of},
        shops::{Shop, ShopId},
        stations::{Station, StationId},
    },
};

/// Reads a file into the register: one command, which can be undone.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddImport {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ImportId,
    /// Name of the file, one line of 1 to 200 characters.
    pub file_name: String,
    /// The file, its bytes as base64.
    pub file: String,
    /// How to read it.
    #[serde(default)]
    pub choices: Choices,
    #[serde(skip)]
    parsed: Option<Arc<RegisterFile>>,
    #[serde(skip)]
    told: Told,
}

impl Act for AddImport {
    const KIND: &'static str = "import.add";
    const SUMMARY: &'static str = "Read a file into the register";
    const DONE: &'static str = "Read in from a file";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;
    const SLOW: bool = true;
    // Megabytes, in the history of each piece that it brought in, with columns that nobody asked for.
    const UNTOLD: &'static [&'static str] = &["file"];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.told = Told::of_command(self.id.0);
        self.file_name = name("body.file_name", &self.file_name)?;
        let bytes = base64::engine::general_purpose::STANDARD
            .decode(std::mem::take(&mut self.file))
            .map_err(|_| Fault::field("body.file", "This is no base64; send the file's bytes so encoded"))?;
        self.parsed = Some(Arc::new(self.choices.parse(&bytes)?));
        self.told.read();
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Import>(self.id)?;
        let (agency, now, rev) = (write.agency, write.now(), write.rev);
        let told = self.told.within(agency);
        told.matching();
        let mut held = AgencyNames::load(write.reading()?, agency, now)?;
        let parsed = self.parsed.ok_or_else(|| anyhow::anyhow!("a file that was not read"))?;
        let reading = held.read(&parsed);
        told.writing(reading.rows.len());
        let import = Import {
            id: self.id,
            file_name: self.file_name,
            at: now,
            by: write.actor.person(),
            report: Report::from(&reading),
            made_rev: rev,
            undone_at: None,
            undone_by: None,
            rev,
        };
        write.save(import, Scope::default())?;
        bring_in(write, self.id, &mut held, &reading)?;
        for row in &reading.rows {
            piece(write, self.id, &held, row)?;
            told.row();
        }
        told.judging();
        Ok(())
    }
}

/// The id of what an import makes: the same file under the same import makes the same ids.
fn made(import: ImportId, kind: &str, key: &str) -> Uuid {
    Uuid::new_v5(&import.0, format!("{kind}/{}", key.to_lowercase()).as_bytes())
}

fn of<I: Copy>(known: &HashMap<String, I>, name: &str) -> Result<I, Fault> {
    known
        .get(&name.to_lowercase())
        .copied()
        .ok_or_else(|| anyhow::anyhow!("the reading names '{name}', which it does not bring in").into())
}

/// Brings in what the rows lean on: places, couplings and models.
fn bring_in(write: &mut Write<'_>, import: ImportId, held: &mut AgencyNames, reading: &Reading) -> Result<(), Fault> {
    for district in reading.places.districts.iter().filter(|district| district.new) {
        let id = DistrictId(made(import, District::KIND, &district.name));
        held.districts.insert(district.name.to_lowercase(), id);
        let scope = Scope {
            district: Some(id.0),
            ..Scope::default()
        };
        write.save(
            District {
                id,
                name: district.name.clone(),
                min_full: 1,
                rev: 0,
            },
            scope,
        )?;
    }
    for station in reading.places.stations.iter().filter(|station| station.new) {
        let id = StationId(made(import, Station::KIND, &station.name));
        held.stations.insert(station.name.to_lowercase(), id);
        let district = of(&held.districts, &station.district)?;
        let scope = Scope {
            district: Some(district.0),
            station: Some(id.0),
            ..Scope::default()
        };
        let record = Station {
            id,
            name: station.name.clone(),
            number: station.number.clone(),
            district,
            lat: None,
            lon: None,
            rev: 0,
        };
        write.save(record, scope)?;
    }
    for shop in reading.places.shops.iter().filter(|shop| shop.new) {
        let id = ShopId(made(import, Shop::KIND, &shop.name));
        held.shops.insert(shop.name.to_lowercase(), id);
        write.save(
            Shop {
                id,
                name: shop.name.clone(),
                rev: 0,
            },
            Scope::default(),
        )?;
    }
    for rig in reading.places.rigs.iter().filter(|rig| rig.new) {
        let id = RigId(made(import, Rig::KIND, &rig.name));
        held.rigs.insert(rig.name.to_lowercase(), id);
        let station = of(&held.stations, &rig.station)?;
        let scope = scope_of(write, id, station)?;
        let record = Rig {
            id,
            name: rig.name.clone(),
            station,
            rig_class: None,
            duty: Duty::FrontLine,
            out_at: None,
            in_service: true,
            out_reason: None,
            out_since: None,
            planned: false,
            allows: Vec::new(),
            rev: 0,
        };
        write.save(record, scope)?;
        write.reconsider(id);
    }
    for new in &reading.couplings {
        let record = Coupling {
            id: CouplingId(made(import, Coupling::KIND, &fold(&new.name))),
            name: new.name.clone(),
            spellings: Vec::new(),
            mates_with: Vec::new(),
            under_pressure: UnderPressure::Unknown,
            rev: 0,
        };
        write.save(record, Scope::default())?;
    }
    let couplings = couplings::couplings(write)?;
    for model in reading.models.iter().filter(|model| model.new) {
        let id = ModelId(made(import, Model::KIND, &model.key));
        held.models.insert(model.key.clone(), id);
        let draft = Draft {
            id,
            name: model.name.clone(),
            kind: model.kind,
            gear: gear_named(&model.name),
            family: None,
            hookup: model.hookup.clone(),
            ratings: model.ratings.clone(),
            rated_at: Vec::new(),
            makers_bounds: Vec::new(),
            service_lives: Vec::new(),
            dump_valve: None,
        };
        write.save(models::model(draft, &couplings)?, Scope::default())?;
    }
    Ok(())
}

fn placed(held: &AgencyNames, place: &ReadPlace) -> Result<Place, Fault> {
    Ok(match place {
        ReadPlace::Rig { rig } => Place::Rig { rig: of(&held.rigs, rig)? },
        ReadPlace::Shelf { station } => Place::Shelf {
            station: of(&held.stations, station)?,
        },
        ReadPlace::Shop { shop } => Place::Shop { shop: of(&held.shops, shop)? },
        ReadPlace::Vendor { name, due_on } => Place::Vendor {
            name: name.clone(),
            due_on: *due_on,
        },
        ReadPlace::Loan { name, due_on } => Place::Loan {
            name: name.clone(),
            due_on: *due_on,
        },
        ReadPlace::Transit { to } => Place::Transit {
            to: Box::new(placed(held, to)?),
        },
        ReadPlace::Retired => Place::Retired,
    })
}

fn piece(write: &mut Write<'_>, import: ImportId, held: &AgencyNames, row: &RegisterRow) -> Result<(), Fault> {
    let place = placed(held, &row.place)?;
    let (state, reason) = match row.state {
        RowState::InService => (PieceState::InService, None),
        RowState::OutOfService => (PieceState::OutOfService, Some("the register file says “out of service”")),
        RowState::Retired => (PieceState::Retired, Some("the register file says “retired”")),
    };
    let id = PieceId(made(import, Piece::KIND, &row.tag));
    let model = held.models.get(&row.model_key).copied();
    let model = model.ok_or_else(|| anyhow::anyhow!("the reading names the model {}, which it does not bring in", row.model_key))?;
    let piece = Piece {
        serial: row.serial.clone(),
        made_on: row.made_on,
        in_service_since: row.in_service_since,
        last_service_on: row.last_service_on,
        lent_by: row.lent_by.as_ref().map(|lender| Lender {
            name: lender.name.clone(),
            due_on: lender.due_on,
        }),
        state,
        state_reason: row.state_reason.clone().or_else(|| reason.map(str::to_owned)),
        // What the file says of why it is out of service is no defect that anybody has reported; a person returns it.
        unanswered: if state == PieceState::OutOfService {
            vec![Unanswered::unnamed()]
        } else {
            Vec::new()
        },
        home: matches!(place, Place::Rig { .. } | Place::Shelf { .. } | Place::Shop { .. }).then(|| place.clone()),
        note: row.note.clone(),
        ..Piece::new(id, row.tag.clone(), (model, row.kind), place, (write.now(), write.actor.person()))
    };
    let scope = scope_at(write, &piece)?;
    if let Some(rig) = scope.rig {
        write.reconsider(rig);
    }
    write.save(piece, scope)
}
