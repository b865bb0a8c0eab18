//! What a piece is released on: brings together what `fullset_calc::release` judges by, and says what is missing.

use chrono::{DateTime, NaiveDate, Utc};
use chrono_tz::Tz;
use fullset_calc::{
    ratings::Kind,
    release::{self as calc, AgencyRules, Cleared, DefectClass, Evidence, HoseLife, MakersPaper, Missing, MissingWhat, Needed, Plate},
};
use fullset_care::life::{End, LifePart};
use serde::Serialize;
use utoipa::ToSchema;

use super::{Piece, Released, dates::lives, role_of};
use crate::{
    platform::{
        db::Db,
        door::{Write, name, text},
        error::{self, Fault},
        ids::AgencyId,
        record::{self, Record},
    },
    slices::{
        agencies::{Agency, day_of},
        models::Model,
    },
};

/// What the register knows of a piece, as releases are judged by it.
#[derive(Debug)]
pub struct Subject {
    model: Model,
    life: HoseLife,
    baseline: Vec<calc::Baseline>,
    rules: AgencyRules,
    /// The agency's time zone.
    pub zone: Tz,
}

impl Subject {
    /// Reads it inside a command.
    pub fn find(write: &mut Write<'_>, piece: &Piece) -> Result<Self, Fault> {
        let agency = write.agency;
        let agency = write.find::<Agency>(agency)?.record;
        let model = write.find::<Model>(piece.model)?.record;
        Ok(Self::of(piece, model, &agency))
    }

    /// Reads it for an answer.
    pub fn read(db: &mut Db, agency: AgencyId, piece: &Piece) -> Result<Option<Self>, Fault> {
        let (Some(found), Some(model)) = (one::<Agency>(db, agency, agency.0)?, one::<Model>(db, agency, piece.model.0)?) else {
            return Ok(None);
        };
        Ok(Some(Self::of(piece, model, &found)))
    }

    fn of(piece: &Piece, model: Model, agency: &Agency) -> Self {
        let life = if model.kind == Kind::Hose {
            let all = lives(piece, model.kind, &model.service_lives, &agency.policy);
            match all.iter().find(|life| life.part == LifePart::Whole).map(|life| life.end) {
                Some(End::On(day)) => HoseLife::EndsOn(day),
                _ => HoseLife::Unknown,
            }
        } else {
            HoseLife::NotAHose
        };
        let baseline = piece.baseline.iter().map(|known| calc::Baseline {
            measure: known.measure,
            value: known.value,
        });
        Self {
            baseline: baseline.collect(),
            model,
            life,
            rules: agency.rules(),
            zone: agency.time_zone,
        }
    }

    fn plate(&self) -> Plate<'_> {
        Plate {
            kind: self.model.kind,
            on_battery: self.model.hookup.battery.is_some(),
            nominal: self.model.hookup.pressure,
            ratings: &self.model.ratings,
            life: self.life,
        }
    }

    /// What its release asks for.
    pub fn needed(&self, classes: &[DefectClass]) -> Needed {
        self.rules.needed(&self.plate(), classes, &self.baseline)
    }

    /// What the shipped rules ask of its release.
    fn needed_by_table(&self, classes: &[DefectClass]) -> Needed {
        calc::needed_for_release(&self.plate(), classes, &self.baseline)
    }

    /// What its annual service asks for.
    pub fn needed_for_annual(&self) -> Needed {
        calc::needed_for_annual(&self.plate(), &self.baseline)
    }

    /// Whether fluid runs in it.
    pub fn is_wet(&self) -> bool {
        let kind = self.model.kind;
        kind.is_source() || kind == Kind::Hose || (kind.is_tool() && self.model.hookup.battery.is_none())
    }
}

fn one<R: Record>(db: &mut Db, agency: AgencyId, id: uuid::Uuid) -> Result<Option<R>, Fault> {
    record::find(db, agency, R::KIND, id)?.filter(|row| !row.gone).map(|row| row.read()).transpose()
}

/// What is asked of evidence.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Purpose<'a> {
    /// That it answers for these classes.
    Release(&'a [DefectClass]),
    /// That it passes the annual service.
    Annual,
    /// Both.
    Both(&'a [DefectClass]),
}

/// What a test form asks for: `GET /v1/pieces/{id}/release`.
#[derive(Debug, Serialize, ToSchema)]
pub struct Clearance {
    /// What its return must answer for; empty where nothing was found wrong.
    pub classes: Vec<DefectClass>,
    /// What its return asks for.
    pub release: Needed,
    /// What its annual service asks for.
    pub annual: Needed,
}

/// Evidence as it is kept, or the field that cannot be read. `at` is the path of its fields, such as `body.evidence`.
pub fn read_evidence(at: &str, evidence: Evidence) -> Result<Evidence, Fault> {
    if let Some(fault) = evidence.faults().into_iter().next() {
        let field = match fault.index {
            Some(n) => format!("{at}.readings[{n}].{}", fault.field),
            None => format!("{at}.{}", fault.field),
        };
        return Err(Fault::field(field, fault.words));
    }
    let said = |field: &str, given: Option<String>| -> Result<Option<String>, Fault> {
        given
            .filter(|given| !given.trim().is_empty())
            .map(|given| name(&format!("{at}.{field}"), &given))
            .transpose()
    };
    let paper = |paper: MakersPaper| -> Result<MakersPaper, Fault> {
        Ok(MakersPaper {
            by: name(&format!("{at}.makers_service.by"), &paper.by)?,
            reference: name(&format!("{at}.makers_service.reference"), &paper.reference)?,
            on: paper.on,
        })
    };
    Ok(Evidence {
        manual: said("manual", evidence.manual)?,
        makers_service: evidence.makers_service.map(paper).transpose()?,
        note: evidence
            .note
            .filter(|note| !note.trim().is_empty())
            .map(|note| text(&format!("{at}.note"), &note))
            .transpose()?,
        readings: evidence.readings,
    })
}

/// Whether the evidence, signed by who acts on the day of the act, is all that is asked. `found` is when the last of what it answers for
/// was found: the maker's paper is not older.
pub fn clear(write: &mut Write<'_>, piece: &Piece, (asked, found): (Purpose<'_>, Option<DateTime<Utc>>), evidence: &Evidence) -> Result<Released, Fault> {
    let subject = Subject::find(write, piece)?;
    let (role, on) = (role_of(write.actor.role), day_of_act(write, subject.zone));
    let found = found.map(|found| day_of(found, subject.zone));
    if let Some(words) = evidence.makers_service.as_ref().and_then(|paper| paper.fault(found, on)) {
        return Err(lacking(&piece.tag, &[Missing::new(MissingWhat::MakersService, words)]));
    }
    let judge = |needed: Needed| needed.met_by(&subject.plate(), evidence, role, on);
    let (classes, judged) = match asked {
        Purpose::Release(classes) => (classes, judge(subject.needed(classes))),
        Purpose::Annual => (&[][..], judge(subject.needed_for_annual())),
        Purpose::Both(classes) => (classes, both(judge(subject.needed(classes)), judge(subject.needed_for_annual()))),
    };
    let cleared = judged.map_err(|missing| lacking(&piece.tag, &missing))?;
    let own_rule = match asked {
        // The agency's own rule is told only where the shipped one would have refused.
        Purpose::Release(_) | Purpose::Both(_) if judge(subject.needed_by_table(classes)).is_err() => subject.rules.why_returned(piece.kind, classes),
        _ => Vec::new(),
    };
    Ok(Released {
        at: write.head.at,
        by: write.actor.person(),
        classes: classes.to_vec(),
        without_limit: cleared.without_limit,
        manual: evidence.manual.clone(),
        makers_service: evidence.makers_service.clone(),
        paper_words: evidence.makers_service.as_ref().map(MakersPaper::words),
        own_rule,
        note: evidence.note.clone(),
    })
}

fn day_of_act(write: &Write<'_>, zone: Tz) -> NaiveDate {
    day_of(write.head.at, zone)
}

fn both(one: Result<Cleared, Vec<Missing>>, other: Result<Cleared, Vec<Missing>>) -> Result<Cleared, Vec<Missing>> {
    match (one, other) {
        (Ok(mut one), Ok(other)) => {
            let more = other.without_limit.into_iter().filter(|measure| !one.without_limit.contains(measure));
            let more: Vec<_> = more.collect();
            one.without_limit.extend(more);
            Ok(one)
        }
        (Err(mut one), Err(other)) => {
            let more: Vec<_> = other.into_iter().filter(|missing| !one.contains(missing)).collect();
            one.extend(more);
            Err(one)
        }
        (Err(missing), Ok(_)) | (Ok(_), Err(missing)) => Err(missing),
    }
}

fn lacking(tag: &str, missing: &[Missing]) -> Fault {
    let words: Vec<&str> = missing.iter().map(|missing| missing.words.as_str()).collect();
    let mut fault = Fault::new(error::EVIDENCE_MISSING, format!("{tag} cannot be released on this. {}", words.join(". ")));
    fault.missing = missing.iter().filter_map(|missing| serde_json::to_value(missing).ok()).collect();
    fault
}
