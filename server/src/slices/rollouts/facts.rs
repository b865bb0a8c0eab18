//! What the stages of a rollout's rigs are worked out from: a fixed number of queries, whatever the number of rigs.

use std::collections::{HashMap, HashSet};

use chrono::{DateTime, NaiveDate, Utc};
use uuid::Uuid;

use super::{
    Rollout, RolloutRig,
    kin::{Kin, kin, stays},
    shift::{ShiftAnswer, shift_answers},
    stages::{Ground, RigFacts, StageAnswer, stages},
};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _, Row},
    },
    slices::{
        agencies::{Agency, day_of},
        members::Member,
        models::{Model, ModelId},
        operating_cards::OperatingCard,
        pieces::{Piece, PieceId, PieceState},
        rigs::{Rig, RigId},
        shifts::Shift,
        shops::Shop,
        stations::{Station, StationId},
    },
};

/// The day of an instant, in the agency's time zone.
pub fn today(db: &mut Db, agency: AgencyId, now: DateTime<Utc>) -> Result<NaiveDate, Fault> {
    let own: Option<Agency> = record::find(db, agency, Agency::KIND, agency.0)?.as_ref().map(Row::read).transpose()?;
    Ok(own.map_or_else(|| now.date_naive(), |own| day_of(now, own.time_zone)))
}

/// Everything that is known of the rigs of a rollout.
#[derive(Debug)]
pub struct Facts {
    /// What holds for all of them.
    pub ground: Ground,
    /// All rigs.
    pub rigs: HashMap<RigId, Rig>,
    /// All stations.
    pub stations: HashMap<StationId, Station>,
    shifts: HashMap<StationId, Vec<Shift>>,
    /// The pieces of both sets and the banned adapters that are not retired, and the retired ones of the new set.
    pieces: HashMap<PieceId, Piece>,
    old: HashMap<RigId, Vec<PieceId>>,
    banned: HashMap<RigId, Vec<PieceId>>,
    /// Models of neither set that belong with the old one, and their pieces aboard each rig or on the way there.
    kin: HashMap<ModelId, Kin>,
    staying: HashMap<RigId, Vec<PieceId>>,
}

impl Facts {
    /// Reads it.
    pub fn read(db: &mut Db, agency: AgencyId, rollout: &Rollout, now: DateTime<Utc>) -> Result<Self, Fault> {
        let today = today(db, agency, now)?;
        let rigs: HashMap<RigId, Rig> = record::read_all::<Rig>(db, agency)?.into_iter().map(|rig| (rig.id, rig)).collect();
        let stations: HashMap<StationId, Station> = record::read_all::<Station>(db, agency)?
            .into_iter()
            .map(|station| (station.id, station))
            .collect();
        let mut names: HashMap<Uuid, String> = rigs.values().map(|rig| (rig.id.0, rig.name.clone())).collect();
        names.extend(stations.values().map(|station| (station.id.0, station.name.clone())));
        names.extend(record::read_all::<Shop>(db, agency)?.into_iter().map(|shop| (shop.id.0, shop.name)));
        let mut shifts: HashMap<StationId, Vec<Shift>> = HashMap::new();
        for shift in record::read_all::<Shift>(db, agency)? {
            shifts.entry(shift.station).or_default().push(shift);
        }
        let ids: Vec<Uuid> = rollout.models.iter().map(|model| model.0).collect();
        let cards = record::of_parents(db, agency, OperatingCard::KIND, &ids)?;
        let mut carded: HashSet<ModelId> = HashSet::new();
        for row in &cards {
            let card: OperatingCard = row.read()?;
            if card.text.is_some() {
                carded.insert(ModelId(card.id.0));
            }
        }
        let members = record::read_all::<Member>(db, agency)?.into_iter().map(|member| (member.id, member)).collect();
        let models = record::read_all::<Model>(db, agency)?.into_iter().map(|model| (model.id, model)).collect();
        let mut facts = Self {
            ground: Ground {
                today,
                models,
                carded,
                members,
                names,
            },
            rigs,
            stations,
            shifts,
            pieces: HashMap::new(),
            old: HashMap::new(),
            banned: HashMap::new(),
            kin: HashMap::new(),
            staying: HashMap::new(),
        };
        facts.kin = kin(&facts.ground, rollout).into_iter().collect();
        facts.read_pieces(db, agency, rollout)?;
        Ok(facts)
    }

    fn read_pieces(&mut self, db: &mut Db, agency: AgencyId, rollout: &Rollout) -> Result<(), Fault> {
        let all = [&rollout.models, &rollout.replaces, &rollout.banned_adapters];
        let ids: HashSet<Uuid> = all.into_iter().flatten().chain(self.kin.keys()).map(|model| model.0).collect();
        let ids: Vec<Uuid> = ids.into_iter().collect();
        for row in record::of_parents(db, agency, Piece::KIND, &ids)? {
            let piece: Piece = row.read()?;
            if piece.state != PieceState::Retired {
                let there = piece.place.end().rig();
                if rollout.replaces.contains(&piece.model) {
                    let home = piece.home.as_ref().and_then(|home| home.rig());
                    for rig in HashSet::from([there, home]).into_iter().flatten() {
                        self.old.entry(rig).or_default().push(piece.id);
                    }
                }
                if let Some(rig) = there.filter(|_| rollout.is_open() && rollout.banned_adapters.contains(&piece.model)) {
                    self.banned.entry(rig).or_default().push(piece.id);
                }
                if let Some(rig) = there.filter(|_| self.kin.contains_key(&piece.model)) {
                    self.staying.entry(rig).or_default().push(piece.id);
                }
            }
            self.pieces.insert(piece.id, piece);
        }
        Ok(())
    }

    fn of_rig<'a>(&'a self, all: &'a HashMap<RigId, Vec<PieceId>>, rig: RigId) -> Vec<&'a Piece> {
        all.get(&rig).into_iter().flatten().filter_map(|id| self.pieces.get(id)).collect()
    }

    /// A piece of either set.
    pub fn piece(&self, id: PieceId) -> Option<&Piece> {
        self.pieces.get(&id)
    }

    /// What of the old set is aboard a rig, on its way there, or has its home there.
    pub fn old_of(&self, rig: RigId) -> Vec<&Piece> {
        self.of_rig(&self.old, rig)
    }

    /// What belongs with the old set and stays aboard a rig, as sentences.
    pub fn stays(&self, rig: RigId) -> Vec<String> {
        let aboard = self.of_rig(&self.staying, rig).into_iter();
        let aboard: Vec<(&Piece, Kin)> = aboard.filter_map(|piece| Some((piece, *self.kin.get(&piece.model)?))).collect();
        stays(&self.ground, &aboard)
    }

    /// The station's name, and its shifts for the rollout.
    pub fn shifts(&self, rollout: &Rollout, station: StationId) -> (String, Vec<ShiftAnswer>) {
        let own = self.shifts.get(&station).map_or(&[][..], Vec::as_slice);
        let name = self
            .stations
            .get(&station)
            .map_or_else(|| "its station".to_owned(), |station| station.name.clone());
        (name, shift_answers(&self.ground, rollout, own))
    }

    /// The stages of a rig. The shifts of its station are worked out once for all its rigs.
    pub fn stages(&self, rollout: &Rollout, plan: &RolloutRig, (station, shifts): (&str, &[ShiftAnswer])) -> Vec<StageAnswer> {
        let facts = RigFacts {
            rollout,
            plan,
            station,
            shifts,
            own: plan.pieces.iter().map(|id| self.pieces.get(id)).collect(),
            old: self.old_of(plan.rig),
            gone: plan.went.iter().filter_map(|went| self.pieces.get(&went.piece)).collect(),
            banned: self.of_rig(&self.banned, plan.rig),
        };
        stages(&self.ground, &facts)
    }
}
