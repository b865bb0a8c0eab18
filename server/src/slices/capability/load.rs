//! Brings together what one rig is judged by, in a fixed number of queries.

use std::{collections::HashMap, sync::Arc};

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{self as calc, Grades, Rules, Voice},
    hookup::Mates,
    units::Units,
};
use uuid::Uuid;

use super::{
    rows,
    rules::{SharedModel, judged},
};
use crate::{
    platform::{
        db::Db,
        door::Write,
        error::Fault,
        ids::AgencyId,
        record::{self, Record, Scope},
    },
    slices::{
        agencies::{Agency, LooseRule, LooserRule, Policy},
        classes::{ClassId, RigClass},
        couplings::{self, Coupling},
        models::{Model, ModelId},
        pieces::{Piece, PieceState, Place},
        rigs::{Rig, RigId},
    },
};

/// What all rigs of an agency are judged by.
pub struct Catalogue {
    pub agency: AgencyId,
    pub policy: Policy,
    looser_rules: Vec<LooserRule>,
    pub zone: Tz,
    pub units: Units,
    grades: Option<Arc<Grades>>,
    mates: Arc<Mates>,
    packs: Arc<Vec<String>>,
    models: HashMap<ModelId, SharedModel>,
    classes: HashMap<ClassId, Option<Arc<RigClass>>>,
    /// The revision that it is known to be true at.
    rev: i64,
}

/// What a catalogue is read from: when one of these has changed, it is read again.
const READ_FROM: [&str; 4] = [Agency::KIND, Coupling::KIND, RigClass::KIND, Model::KIND];

impl Catalogue {
    pub fn open(db: &mut Db, agency: AgencyId) -> Result<Option<Self>, Fault> {
        let Some(found) = one::<Agency>(db, agency, agency.0)? else { return Ok(None) };
        Ok(Some(Self {
            agency,
            policy: found.policy,
            looser_rules: found.looser_rules,
            zone: found.time_zone,
            units: found.units,
            grades: found.grades.map(Arc::new),
            mates: Arc::new(Mates::from(&couplings::list(&record::read_all::<Coupling>(db, agency)?))),
            packs: Arc::new(rows::battery_families(db, agency)?),
            models: HashMap::new(),
            classes: HashMap::new(),
            rev: 0,
        }))
    }

    /// The catalogue with every model and class read: two queries instead of one for each.
    pub fn whole(db: &mut Db, agency: AgencyId) -> Result<Option<Self>, Fault> {
        let Some(mut opened) = Self::open(db, agency)? else { return Ok(None) };
        for row in record::all(db, agency, Model::KIND)? {
            let model: Model = row.read()?;
            opened.models.insert(model.id, SharedModel::from(model));
        }
        for row in record::all(db, agency, RigClass::KIND)? {
            let class: RigClass = row.read()?;
            opened.classes.insert(class.id, Some(Arc::new(class)));
        }
        Ok(Some(opened))
    }

    /// The catalogue as of this command: the one kept since an earlier command, where it is still true.
    pub fn current(write: &mut Write<'_>) -> Result<Option<Self>, Fault> {
        let (agency, rev) = (write.agency, write.rev);
        if let Some(mut kept) = write.kept::<Self>()
            && !record::any_since(write.reading(), agency, &READ_FROM, kept.rev)?
        {
            kept.rev = rev;
            kept.packs = Arc::new(rows::battery_families(write.reading(), agency)?);
            return Ok(Some(kept));
        }
        Ok(Self::open(write.reading(), agency)?.map(|opened| Self { rev, ..opened }))
    }

    pub fn model(&mut self, db: &mut Db, id: ModelId) -> Result<SharedModel, Fault> {
        if let Some(model) = self.models.get(&id) {
            return Ok(model.clone());
        }
        let model: Model = one(db, self.agency, id.0)?.ok_or_else(|| anyhow::anyhow!("a piece names the model {id}, which is not there"))?;
        let shared = SharedModel::from(model);
        self.models.insert(id, shared.clone());
        Ok(shared)
    }

    pub fn class(&mut self, db: &mut Db, id: ClassId) -> Result<Option<Arc<RigClass>>, Fault> {
        if let Some(class) = self.classes.get(&id) {
            return Ok(class.clone());
        }
        let class = one::<RigClass>(db, self.agency, id.0)?.map(Arc::new);
        self.classes.insert(id, class.clone());
        Ok(class)
    }

    /// Everything that rigs and pieces are judged by.
    pub fn rules(&self) -> Rules {
        Rules {
            grades: self.grades.clone(),
            policy: self.policy.for_capability(),
            mates: Arc::clone(&self.mates),
            packs_on_record: Arc::clone(&self.packs),
        }
    }

    /// The rules of the agency that are looser than the shipped ones and decide what a rig can do, each with the rules as they
    /// would be without it.
    pub fn looser_for_rigs(&self) -> Vec<(&LooserRule, Rules)> {
        let (mine, shipped) = (self.policy.for_capability(), Policy::default().for_capability());
        let stricter = |own: &LooserRule| {
            let policy = match own.rule {
                LooseRule::PressureTolerance => calc::Policy {
                    pressure_tolerance: shipped.pressure_tolerance,
                    ..mine
                },
                LooseRule::Batteries => calc::Policy {
                    batteries: shipped.batteries,
                    ..mine
                },
                _ => return None,
            };
            Some(Rules { policy, ..self.rules() })
        };
        self.looser_rules.iter().filter_map(|own| Some((own, stricter(own)?))).collect()
    }

    /// Works out the rest with other grades or another policy: what a decision would do.
    pub fn decide(&mut self, policy: Policy, grades: Option<Grades>) {
        self.policy = policy;
        self.grades = grades.map(Arc::new);
    }

    pub fn judged(&mut self, db: &mut Db, piece: &Piece) -> Result<calc::Piece, Fault> {
        let model = self.model(db, piece.model)?;
        Ok(judged(piece, &model, &self.policy, &self.looser_rules, self.zone))
    }

    /// Works something out in the agency's units and time zone.
    pub fn speak<T>(&self, work: impl FnOnce(&Voice<'_>) -> T) -> T {
        let zone = self.zone;
        let time = |at: DateTime<Utc>| at.with_timezone(&zone).format("%Y-%m-%d %H:%M").to_string();
        work(&Voice {
            units: self.units,
            time: &time,
        })
    }
}

fn one<R: Record>(db: &mut Db, agency: AgencyId, id: Uuid) -> Result<Option<R>, Fault> {
    record::find(db, agency, R::KIND, id)?.filter(|row| !row.gone).map(|row| row.read()).transpose()
}

/// One rig with everything aboard.
#[derive(Debug)]
pub struct Aboard {
    /// The rig.
    pub rig: Rig,
    /// Where it belongs.
    pub scope: Scope,
    /// Its class, with the complement.
    pub class: Option<Arc<RigClass>>,
    /// What is aboard, as it is judged.
    pub pieces: Vec<calc::Piece>,
    notice: Option<calc::Notice>,
}

impl Aboard {
    pub fn load(db: &mut Db, catalogue: &mut Catalogue, rig: RigId) -> Result<Option<Self>, Fault> {
        let Some(row) = record::find(db, catalogue.agency, Rig::KIND, rig.0)?.filter(|row| !row.gone) else {
            return Ok(None);
        };
        let scope = row.scope();
        let rig: Rig = row.read()?;
        let class = match rig.rig_class {
            Some(class) => catalogue.class(db, class)?,
            None => None,
        };
        let mut pieces = Vec::new();
        for row in record::on_rig(db, catalogue.agency, Piece::KIND, rig.id.0)? {
            let piece: Piece = row.read()?;
            if piece.place.rig() == Some(rig.id) {
                pieces.push(catalogue.judged(db, &piece)?);
            }
        }
        Ok(Some(Self::of(rig, scope, class, pieces)))
    }

    pub fn of(rig: Rig, scope: Scope, class: Option<Arc<RigClass>>, pieces: Vec<calc::Piece>) -> Self {
        let notice = rig.out_since.filter(|_| !rig.in_service).map(|since| calc::Notice {
            since,
            words: rig.out_reason.clone().unwrap_or_default(),
        });
        Self {
            rig,
            scope,
            class,
            pieces,
            notice,
        }
    }

    /// Whether a rig at this level is below full for planned service alone: with what is out for that back, wherever it is
    /// now, it would be full. Judged a second time only where something is.
    pub fn is_planned(&self, db: &mut Db, catalogue: &mut Catalogue, level: calc::Level, now: DateTime<Utc>) -> Result<bool, Fault> {
        if level.is_full() || level == calc::Level::NotJudged {
            return Ok(false);
        }
        let mut back = Vec::new();
        for row in rows::out_for_service(db, catalogue.agency)? {
            let piece: Piece = row.read()?;
            let home = piece.home.as_ref().and_then(Place::rig);
            if [home, piece.place.rig()].contains(&Some(self.rig.id)) {
                let state = PieceState::InService;
                back.push(catalogue.judged(db, &Piece { state, ..piece })?);
            }
        }
        if back.is_empty() && !self.rig.planned {
            return Ok(false);
        }
        let stayed = self.pieces.iter().filter(|piece| back.iter().all(|other| other.id != piece.id));
        let pieces: Vec<calc::Piece> = stayed.cloned().chain(back.iter().cloned()).collect();
        let whole = calc::Rig {
            out_of_service: self.notice.as_ref().filter(|_| !self.rig.planned),
            pieces: &pieces,
            ..self.view()
        };
        Ok(calc::level(&whole, &catalogue.rules(), now).level.is_full())
    }

    /// As capability is worked out from it.
    pub fn view(&self) -> calc::Rig<'_> {
        calc::Rig {
            out_of_service: self.notice.as_ref(),
            complement: self.class.as_ref().map(|class| &class.complement),
            expects: self.class.as_ref().and_then(|class| class.expects),
            pieces: &self.pieces,
        }
    }
}
