//! How a file is to be read, and what the agency has, by name.

use std::collections::{BTreeMap, HashMap};

use chrono::NaiveDate;
use fullset_calc::units::NumberStyle;
use fullset_register::{
    CreatePlaces, DateOrder, KnownModel, KnownPlaces, KnownRegister, KnownRig, KnownStation, LookAlikes, Options, ReadLender, Reading, RegisterFile,
    RegisterRow, model_key,
};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::names::{PlaceNames, row_state};

use crate::{
    platform::{
        db::Db,
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record},
    },
    slices::{
        agencies::Agency,
        couplings::{self, Coupling},
        districts::{District, DistrictId},
        models::{Model, ModelId},
        pieces::Piece,
        rigs::{Rig, RigId},
        shops::{Shop, ShopId},
        stations::{Station, StationId},
    },
};

/// How a file is to be read, where it does not say so itself.
#[derive(Debug, Clone, Default, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Choices {
    /// What a column holds, by its heading; null passes it over.
    #[serde(default)]
    pub columns: BTreeMap<String, Option<String>>,
    /// Which sheet of a workbook is read, by its name; the first that has a register's headings, unless said.
    #[serde(default)]
    pub sheet: Option<String>,
    /// The order of dates where their column does not show it; without it their rows are refused.
    #[serde(default)]
    pub date_order: Option<DateOrder>,
    /// How numbers are written that may be meant in two ways (`10.500`); what the file's other numbers prove, unless said.
    #[serde(default)]
    pub number_style: Option<NumberStyle>,
    /// Which new stations and rigs the file may bring in.
    #[serde(default)]
    pub create_places: CreatePlaces,
    /// `ask` refuses a row whose tag is easily taken for another one (`HT-1O01`, `HT-1001`); `apart` says that somebody has looked.
    #[serde(default)]
    pub look_alikes: LookAlikes,
}

impl Choices {
    /// Reads a file's bytes, as far as that goes without the agency.
    pub fn parse(&self, bytes: &[u8]) -> Result<RegisterFile, Fault> {
        let options = Options {
            columns: self.columns.clone(),
            date_order: self.date_order,
            number_style: self.number_style,
            create_places: self.create_places,
            sheet: self.sheet.clone(),
            default_district: None,
            look_alikes: self.look_alikes,
        };
        RegisterFile::parse(bytes, options).map_err(|fault| Fault {
            hint: fault.hint,
            ..Fault::new(error::FILE_UNREADABLE, format!("{} ({})", fault.reason, fault.code)).at("body.file")
        })
    }
}

/// What the agency has, by name.
#[derive(Default)]
pub struct AgencyNames {
    known: KnownRegister,
    pub(super) districts: HashMap<String, DistrictId>,
    pub(super) stations: HashMap<String, StationId>,
    pub(super) rigs: HashMap<String, RigId>,
    pub(super) shops: HashMap<String, ShopId>,
    pub(super) models: HashMap<String, ModelId>,
    today: NaiveDate,
}

fn each<R: Record>(db: &mut Db, agency: AgencyId, mut take: impl FnMut(R)) -> Result<(), Fault> {
    record::all(db, agency, R::KIND)?.iter().try_for_each(|row| row.read().map(&mut take))
}

/// A piece as a row of a file would say it.
fn known_piece(piece: Piece, model_key: String, names: &PlaceNames) -> RegisterRow {
    RegisterRow {
        line: 0,
        kind: piece.kind,
        model_key,
        place: names.place(&piece.place),
        station: None,
        district: None,
        made_on: piece.made_on,
        in_service_since: piece.in_service_since,
        last_service_on: piece.last_service_on,
        lent_by: piece.lent_by.map(|lender| ReadLender {
            name: lender.name,
            due_on: lender.due_on,
        }),
        state: row_state(piece.state),
        state_reason: piece.state_reason,
        note: piece.note,
        serial: piece.serial,
        tag: piece.tag,
    }
}

impl AgencyNames {
    /// Reads what the agency has, in a fixed number of queries.
    pub fn load(db: &mut Db, agency: AgencyId, now: chrono::DateTime<chrono::Utc>) -> Result<Self, Fault> {
        let mut held = Self::default();
        let mut places = KnownPlaces::default();
        each::<Agency>(db, agency, |agency| {
            held.today = now.with_timezone(&agency.time_zone).date_naive();
            let us = agency.units == fullset_calc::units::Units::Us;
            held.known.date_order = if us { DateOrder::MonthFirst } else { DateOrder::DayFirst };
        })?;
        let mut district_names = HashMap::new();
        each::<District>(db, agency, |district| {
            held.districts.insert(district.name.to_lowercase(), district.id);
            district_names.insert(district.id, district.name.clone());
            places.districts.push(district.name);
        })?;
        let mut names = PlaceNames::default();
        let mut station_names = HashMap::new();
        each::<Station>(db, agency, |station| {
            names.stations.insert(station.id.0, station.name.clone());
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
            names.rigs.insert(rig.id.0, rig.name.clone());
            let station = station_names.get(&rig.station).cloned().unwrap_or_default();
            places.rigs.push(KnownRig { name: rig.name, station });
        })?;
        each::<Shop>(db, agency, |shop| {
            held.shops.insert(shop.name.to_lowercase(), shop.id);
            names.shops.insert(shop.id.0, shop.name.clone());
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
            let model_key = keys.get(&piece.model).map(|key| (*key).clone()).unwrap_or_default();
            held.known.pieces.push(known_piece(piece, model_key, &names));
        })?;
        drop(keys);
        held.known.places = places;
        Ok(held)
    }

    /// Reads a file against what the agency has.
    pub fn read(&self, file: &RegisterFile) -> Reading {
        file.against(&self.known, self.today)
    }
}
