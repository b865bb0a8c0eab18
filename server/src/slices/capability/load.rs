//! Brings together what one rig is judged by, in a fixed number of queries.

use std::{collections::HashMap, sync::Arc};

use chrono::{DateTime, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    capability::{self as calc, Grades, Rules, Voice},
    hookup::Mates,
    ratings::Kind,
    units::Units,
};
use uuid::Uuid;

use super::{
    feed::PlanDue,
    rows,
    rules::{PieceRules, SharedModel, judged, last_pass},
};
use crate::{
    platform::{
        db::Db,
        door::Write,
        error::Fault,
        ids::AgencyId,
        record::{self, Record, Scope},
        said::quoted,
    },
    slices::{
        agencies::{Agency, LooseRule, LooserRule, Policy},
        check_plans::{CheckPlan, PlanRule},
        couplings::{self, Coupling},
        models::{Model, ModelId},
        notices::Notice,
        pieces::{Piece, PieceState, Place},
        rig_classes::{RigClass, RigClassId},
        rigs::{Rig, RigId},
        uses::{self, Ran, RanOf},
    },
};

/// What all rigs of an agency are judged by.
pub struct Catalogue {
    pub agency: AgencyId,
    pub policy: Policy,
    looser_rules: Vec<LooserRule>,
    plans: Vec<PlanRule>,
    notices: Vec<Notice>,
    pub zone: Tz,
    pub units: Units,
    grades: Option<Arc<Grades>>,
    mates: Arc<Mates>,
    packs: Arc<Vec<String>>,
    models: HashMap<ModelId, SharedModel>,
    classes: HashMap<RigClassId, Option<Arc<RigClass>>>,
    /// The revision that it is known to be true at.
    rev: i64,
}

/// What a catalogue is read from: when one of these has changed, it is read again.
const READ_FROM: [&str; 6] = [Agency::KIND, Coupling::KIND, RigClass::KIND, Model::KIND, CheckPlan::KIND, Notice::KIND];

impl Catalogue {
    pub fn open(db: &mut Db, agency: AgencyId) -> Result<Option<Self>, Fault> {
        let Some(found) = db.one::<Agency>(agency, agency.0)? else { return Ok(None) };
        Ok(Some(Self {
            agency,
            policy: found.policy,
            looser_rules: found.looser_rules,
            plans: record::read_all::<CheckPlan>(db, agency)?.into_iter().filter_map(PlanRule::of).collect(),
            notices: in_force(record::read_all::<Notice>(db, agency)?),
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
            && !write.changed_since(&READ_FROM, kept.rev)?
        {
            if !write.knows_all_since(kept.rev) {
                kept.read_packs(write)?;
            }
            kept.rev = rev;
            return Ok(Some(kept));
        }
        Ok(Self::open(write.reading()?, agency)?.map(|opened| Self { rev, ..opened }))
    }

    /// Looks anew for which battery families packs are on record: a pack has come, gone or changed.
    pub fn read_packs(&mut self, write: &mut Write<'_>) -> Result<(), Fault> {
        self.packs = Arc::new(rows::battery_families(write.reading()?, self.agency)?);
        Ok(())
    }

    pub fn model(&mut self, from: &mut impl Source, id: ModelId) -> Result<SharedModel, Fault> {
        if let Some(model) = self.models.get(&id) {
            return Ok(model.clone());
        }
        let model: Model = from
            .one(self.agency, id.0)?
            .ok_or_else(|| anyhow::anyhow!("a piece names the model {id}, which is not there"))?;
        let shared = SharedModel::from(model);
        self.models.insert(id, shared.clone());
        Ok(shared)
    }

    /// The models that it knows of some kinds: all of them, once it is [`whole`](Self::whole).
    pub fn models_of(&self, is_asked: impl Fn(Kind) -> bool) -> Vec<Uuid> {
        let asked = self.models.iter().filter(|(_, model)| is_asked(model.kind));
        asked.map(|(id, _)| id.0).collect()
    }

    pub fn class(&mut self, from: &mut impl Source, id: RigClassId) -> Result<Option<Arc<RigClass>>, Fault> {
        if let Some(class) = self.classes.get(&id) {
            return Ok(class.clone());
        }
        let class = from.one::<RigClass>(self.agency, id.0)?.map(Arc::new);
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

    /// What these pieces ran since they last passed the plans that count it. Nothing is asked where no plan does.
    pub fn ran<'p>(&self, from: &mut impl Source, pieces: impl IntoIterator<Item = &'p Piece>) -> Result<RanOf, Fault> {
        let counting: Vec<&PlanRule> = self.plans.iter().filter(|rule| rule.plan.rhythm.counts()).collect();
        if counting.is_empty() {
            return Ok(RanOf::new());
        }
        let (mut ids, mut since) = (Vec::new(), None::<DateTime<Utc>>);
        for piece in pieces {
            let covering = counting.iter().filter(|rule| rule.plan.covers.has(piece.kind, Some(piece.model.0)));
            if let Some(first) = covering.filter_map(|rule| last_pass(piece, rule, self.zone)).min() {
                ids.push(piece.id.0);
                since = Some(since.map_or(first, |since| since.min(first)));
            }
        }
        match since {
            Some(since) => from.ran(self.agency, &ids, since),
            None => Ok(RanOf::new()),
        }
    }

    /// A piece as it is judged.
    pub fn judged(&mut self, from: &mut impl Source, piece: &Piece, ran: &RanOf) -> Result<calc::Piece, Fault> {
        Ok(self.judged_with_due(from, piece, ran)?.0)
    }

    /// A piece as it is judged, and when each check that a plan asks of it is due.
    pub fn judged_with_due(&mut self, from: &mut impl Source, piece: &Piece, ran: &RanOf) -> Result<(calc::Piece, Vec<PlanDue>), Fault> {
        let model = self.model(from, piece.model)?;
        let rules = PieceRules {
            policy: &self.policy,
            looser: &self.looser_rules,
            plans: &self.plans,
            notices: &self.notices,
            zone: self.zone,
        };
        let ran = ran.get(&piece.id.0);
        Ok(judged(piece, &model, rules, ran.unwrap_or(&Ran::default())))
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

fn in_force(mut notices: Vec<Notice>) -> Vec<Notice> {
    notices.retain(|notice| notice.withdrawn_at.is_none());
    notices.sort_by_key(|notice| (notice.since, notice.id));
    notices
}

/// Where records are read from: the database, or a command's own view of it, in which what the command has done counts already.
pub trait Source {
    /// A live record.
    fn one<R: Record>(&mut self, agency: AgencyId, id: Uuid) -> Result<Option<R>, Fault>;
    /// A rig, and where it belongs.
    fn rig(&mut self, agency: AgencyId, id: RigId) -> Result<Option<(Rig, Scope)>, Fault>;
    /// The pieces in the scope of a rig.
    fn on_rig(&mut self, agency: AgencyId, id: RigId) -> Result<Vec<Piece>, Fault>;
    /// The pieces that are out for planned service.
    fn out_for_service(&mut self, agency: AgencyId) -> Result<Vec<Piece>, Fault>;
    /// What pieces ran from an instant on.
    fn ran(&mut self, agency: AgencyId, pieces: &[Uuid], since: DateTime<Utc>) -> Result<RanOf, Fault>;
}

impl Source for Db {
    fn one<R: Record>(&mut self, agency: AgencyId, id: Uuid) -> Result<Option<R>, Fault> {
        record::find(self, agency, R::KIND, id)?
            .filter(|row| !row.gone)
            .map(|row| row.read())
            .transpose()
    }

    fn rig(&mut self, agency: AgencyId, id: RigId) -> Result<Option<(Rig, Scope)>, Fault> {
        let row = record::find(self, agency, Rig::KIND, id.0)?.filter(|row| !row.gone);
        row.map(|row| Ok((row.read()?, row.scope()))).transpose()
    }

    fn on_rig(&mut self, agency: AgencyId, id: RigId) -> Result<Vec<Piece>, Fault> {
        record::on_rig(self, agency, Piece::KIND, id.0)?.iter().map(record::Row::read).collect()
    }

    fn out_for_service(&mut self, agency: AgencyId) -> Result<Vec<Piece>, Fault> {
        rows::out_for_service(self, agency)?.iter().map(record::Row::read).collect()
    }

    fn ran(&mut self, agency: AgencyId, pieces: &[Uuid], since: DateTime<Utc>) -> Result<RanOf, Fault> {
        uses::ran_since(self, agency, pieces, since)
    }
}

impl Source for Write<'_> {
    fn one<R: Record>(&mut self, _: AgencyId, id: Uuid) -> Result<Option<R>, Fault> {
        Ok(self.look::<R>(id)?.map(|stored| stored.record))
    }

    fn rig(&mut self, _: AgencyId, id: RigId) -> Result<Option<(Rig, Scope)>, Fault> {
        Ok(self.look::<Rig>(id)?.map(|stored| (stored.record, stored.scope)))
    }

    fn on_rig(&mut self, _: AgencyId, id: RigId) -> Result<Vec<Piece>, Fault> {
        Ok(Write::on_rig::<Piece>(self, id)?.into_iter().map(|stored| stored.record).collect())
    }

    fn out_for_service(&mut self, _: AgencyId) -> Result<Vec<Piece>, Fault> {
        let out = self.found::<Piece>(
            |db, agency| Ok(rows::out_for_service(db, agency)?),
            (PieceState::OutOfService.word(), |piece| piece.planned),
        )?;
        Ok(out.into_iter().map(|stored| stored.record).collect())
    }

    fn ran(&mut self, agency: AgencyId, pieces: &[Uuid], since: DateTime<Utc>) -> Result<RanOf, Fault> {
        uses::ran_since(self.reading_beside(), agency, pieces, since)
    }
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
    /// When each check that a plan asks of them is due; only of a rig that was loaded by itself.
    pub due: HashMap<Uuid, Vec<PlanDue>>,
    notice: Option<calc::Notice>,
}

impl Aboard {
    pub fn load(from: &mut impl Source, catalogue: &mut Catalogue, rig: RigId) -> Result<Option<Self>, Fault> {
        let Some((rig, scope)) = from.rig(catalogue.agency, rig)? else {
            return Ok(None);
        };
        let class = match rig.rig_class {
            Some(class) => catalogue.class(from, class)?,
            None => None,
        };
        let (mut pieces, mut all_due) = (Vec::new(), HashMap::new());
        let mut on_rig = from.on_rig(catalogue.agency, rig.id)?;
        on_rig.retain(|piece| piece.place.rig() == Some(rig.id));
        let ran = catalogue.ran(from, &on_rig)?;
        for piece in &on_rig {
            let (judged, due) = catalogue.judged_with_due(from, piece, &ran)?;
            all_due.insert(judged.id, due);
            pieces.push(judged);
        }
        Ok(Some(Self {
            due: all_due,
            ..Self::of(rig, scope, class, pieces)
        }))
    }

    pub fn of(rig: Rig, scope: Scope, class: Option<Arc<RigClass>>, pieces: Vec<calc::Piece>) -> Self {
        let notice = rig.out_since.filter(|_| !rig.in_service).map(|since| calc::Notice {
            since,
            words: quoted(rig.out_reason.as_deref().unwrap_or_default()),
        });
        Self {
            rig,
            scope,
            class,
            pieces,
            due: HashMap::new(),
            notice,
        }
    }

    /// Whether a rig at this level is below full for planned service alone: with what is out for that back, wherever it is
    /// now, it would be full. Judged a second time only where something is.
    pub fn is_planned(&self, from: &mut impl Source, catalogue: &mut Catalogue, level: calc::Level, now: DateTime<Utc>) -> Result<bool, Fault> {
        if level.is_full() || level == calc::Level::NotJudged {
            return Ok(false);
        }
        let mut back = Vec::new();
        let out = from.out_for_service(catalogue.agency)?;
        let ran = catalogue.ran(from, &out)?;
        for piece in out {
            let home = piece.home.as_ref().and_then(Place::rig);
            if [home, piece.place.rig()].contains(&Some(self.rig.id)) {
                let state = PieceState::InService;
                back.push(catalogue.judged(from, &Piece { state, ..piece }, &ran)?);
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
