use std::collections::{BTreeMap, HashMap};

use base64::Engine as _;
use chrono::NaiveDate;
use fullset_calc::{
    hookup::{UnderPressure, fold},
    units::NumberStyle,
};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Import, Report,
    catalogue::{KnownModel, model_key},
    cells::{RowState, gear_named},
    dates::DateOrder,
    feed::ImportId,
    places::{CreatePlaces, KnownPlaces, KnownRig, KnownStation, ReadPlace},
    reading::{self, Known, KnownSerial, Options, Reading, RegisterRow},
};
use crate::{
    platform::{
        db::Db,
        door::{Act, Permission, Write, name},
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record, Scope},
    },
    slices::{
        agencies::Agency,
        couplings::{self, Coupling, CouplingId},
        districts::{District, DistrictId},
        models::{self, Draft, Model, ModelId},
        pieces::{Piece, PieceId, PieceState, Place, Unanswered, scope_at},
        rigs::{Duty, Rig, RigId, scope_of},
        shops::{Shop, ShopId},
        stations::{Station, StationId},
    },
};

/// How a file is to be read, where it does not say so itself.
#[derive(Debug, Clone, Default, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Choices {
    /// What a column holds, by its heading; null passes it over.
    #[serde(default)]
    pub columns: BTreeMap<String, Option<String>>,
    /// The order of dates where the file does not show it; the agency's habit, unless said.
    #[serde(default)]
    pub date_order: Option<DateOrder>,
    /// How numbers are written that may be meant in two ways (`10.500`); what the file's other numbers prove, unless said.
    #[serde(default)]
    pub number_style: Option<NumberStyle>,
    /// Which new stations and rigs the file may bring in.
    #[serde(default)]
    pub create_places: CreatePlaces,
}

/// What the agency has, by name.
#[derive(Default)]
pub struct Held {
    known: Known,
    districts: HashMap<String, DistrictId>,
    stations: HashMap<String, StationId>,
    rigs: HashMap<String, RigId>,
    shops: HashMap<String, ShopId>,
    models: HashMap<String, ModelId>,
    month_first: bool,
    today: NaiveDate,
}

fn each<R: Record>(db: &mut Db, agency: AgencyId, mut take: impl FnMut(R)) -> Result<(), Fault> {
    record::all(db, agency, R::KIND)?.iter().try_for_each(|row| row.read().map(&mut take))
}

impl Held {
    /// Reads what the agency has, in a fixed number of queries.
    pub fn load(db: &mut Db, agency: AgencyId, now: chrono::DateTime<chrono::Utc>) -> Result<Self, Fault> {
        let mut held = Self::default();
        let mut places = KnownPlaces::default();
        each::<Agency>(db, agency, |agency| {
            held.today = now.with_timezone(&agency.time_zone).date_naive();
            held.month_first = agency.units == fullset_calc::units::Units::Us;
        })?;
        let mut district_names = HashMap::new();
        each::<District>(db, agency, |district| {
            held.districts.insert(district.name.to_lowercase(), district.id);
            district_names.insert(district.id, district.name.clone());
            places.districts.push(district.name);
        })?;
        let mut station_names = HashMap::new();
        each::<Station>(db, agency, |station| {
            held.stations.insert(station.name.to_lowercase(), station.id);
            station_names.insert(station.id, station.name.clone());
            let district = district_names.get(&station.district).cloned().unwrap_or_default();
            places.stations.push(KnownStation {
                name: station.name,
                number: station.number,
                district,
            });
        })?;
        each::<Rig>(db, agency, |rig| {
            held.rigs.insert(rig.name.to_lowercase(), rig.id);
            let station = station_names.get(&rig.station).cloned().unwrap_or_default();
            places.rigs.push(KnownRig { name: rig.name, station });
        })?;
        each::<Shop>(db, agency, |shop| {
            held.shops.insert(shop.name.to_lowercase(), shop.id);
            places.shops.push(shop.name);
        })?;
        each::<Model>(db, agency, |model| {
            held.models.insert(model_key(model.kind, &model.name), model.id);
            held.known.models.push(KnownModel {
                name: model.name,
                kind: model.kind,
                hookup: model.hookup,
                ratings: model.ratings,
            });
        })?;
        let mut couplings = Vec::new();
        each::<Coupling>(db, agency, |coupling| couplings.push(coupling))?;
        held.known.couplings = couplings::list(&couplings);
        let keys: HashMap<ModelId, &String> = held.models.iter().map(|(key, id)| (*id, key)).collect();
        each::<Piece>(db, agency, |piece| {
            if let (Some(serial), Some(key), true) = (piece.serial, keys.get(&piece.model), piece.state != PieceState::Retired) {
                held.known.serials.push(KnownSerial {
                    tag: piece.tag.clone(),
                    model_key: (*key).clone(),
                    serial,
                });
            }
            held.known.tags.push(piece.tag);
        })?;
        drop(keys);
        held.known.places = places;
        Ok(held)
    }

    /// Reads the file against what the agency has.
    pub fn read(&self, bytes: &[u8], choices: &Choices) -> Result<Reading, Fault> {
        let habit = if self.month_first { DateOrder::MonthFirst } else { DateOrder::DayFirst };
        let options = Options {
            columns: choices.columns.clone(),
            default_order: choices.date_order.unwrap_or(habit),
            number_style: choices.number_style,
            create_places: choices.create_places,
            default_district: None,
        };
        reading::read(bytes, &options, &self.known, self.today).map_err(|fault| Fault {
            hint: fault.hint,
            ..Fault::new(error::FILE_UNREADABLE, format!("{} ({})", fault.reason, fault.code)).at("body.file")
        })
    }
}

/// Reads a file into the register: one command, which can be undone.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddImport {
    /// Its id, made by the client.
    pub id: ImportId,
    /// The file's name.
    pub file_name: String,
    /// The file, its bytes as base64.
    pub file: String,
    /// How to read it.
    #[serde(default)]
    pub choices: Choices,
    #[serde(skip)]
    bytes: Vec<u8>,
}

impl Act for AddImport {
    const KIND: &'static str = "import.add";
    const SUMMARY: &'static str = "Read a file into the register";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.file_name = name("body.file_name", &self.file_name)?;
        self.bytes = base64::engine::general_purpose::STANDARD
            .decode(&self.file)
            .map_err(|_| Fault::field("body.file", "This is no base64; send the file's bytes so encoded"))?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Import>(self.id)?;
        let (agency, now, rev) = (write.agency, write.now(), write.rev);
        let mut held = Held::load(write.reading()?, agency, now)?;
        let reading = held.read(&self.bytes, &self.choices)?;
        let import = Import {
            id: self.id,
            file_name: self.file_name,
            at: now,
            by: write.actor.name.clone(),
            report: Report::from(&reading),
            made_rev: rev,
            undone_at: None,
            undone_by: None,
            rev,
        };
        write.save(import, Scope::default())?;
        bring_in(write, self.id, &mut held, &reading)
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

fn bring_in(write: &mut Write<'_>, import: ImportId, held: &mut Held, reading: &Reading) -> Result<(), Fault> {
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
            hookup: model.hookup.clone(),
            ratings: model.ratings.clone(),
            rated_at: Vec::new(),
        };
        write.save(models::model(draft, &couplings)?, Scope::default())?;
    }
    reading.rows.iter().try_for_each(|row| piece(write, import, held, row))
}

fn placed(held: &Held, place: &ReadPlace) -> Result<Place, Fault> {
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

fn piece(write: &mut Write<'_>, import: ImportId, held: &Held, row: &RegisterRow) -> Result<(), Fault> {
    let place = placed(held, &row.place)?;
    let (state, reason) = match row.state {
        RowState::InService => (PieceState::InService, None),
        RowState::OutOfService => (PieceState::OutOfService, Some("out of service in the register file")),
        RowState::Retired => (PieceState::Retired, Some("retired in the register file")),
    };
    let piece = Piece {
        id: PieceId(made(import, Piece::KIND, &row.tag)),
        tag: row.tag.clone(),
        model: held
            .models
            .get(&row.model_key)
            .copied()
            .ok_or_else(|| anyhow::anyhow!("the reading names the model {}, which it does not bring in", row.model_key))?,
        kind: row.kind,
        serial: row.serial.clone(),
        made_on: row.made_on,
        in_service_since: row.in_service_since,
        last_service_on: row.last_service_on,
        state,
        state_since: write.now(),
        state_reason: reason.map(str::to_owned),
        state_by: write.actor.name.clone(),
        planned: false,
        holds: Vec::new(),
        // Why it is out of service the file does not say; a person returns it.
        unanswered: if state == PieceState::OutOfService {
            vec![Unanswered::unnamed()]
        } else {
            Vec::new()
        },
        limits: Vec::new(),
        used_at: None,
        used_while_out: None,
        checked_at: None,
        checked_by: None,
        aboard_since: None,
        tried: None,
        baseline: Vec::new(),
        released: None,
        disposal: None,
        home: matches!(place, Place::Rig { .. } | Place::Shelf { .. } | Place::Shop { .. }).then(|| place.clone()),
        place,
        fixed_to: None,
        tool_set: None,
        note: row.note.clone(),
        allows: Vec::new(),
        rev: 0,
    };
    let scope = scope_at(write, &piece)?;
    if let Some(rig) = scope.rig {
        write.reconsider(rig);
    }
    write.save(piece, scope)
}
