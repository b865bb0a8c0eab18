use std::collections::BTreeSet;

use chrono::NaiveDate;
use fullset_calc::release::{DefectClass, MakersPaper};
use fullset_care::{
    check::{self, Answer, Facts, Outcome, Said, StepResult, StepVerdict, Verdict},
    plan::{Asked, Hand, MOST_STEPS, Proof},
};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Check, CheckId,
    feed::CheckStep,
    rules::{drive, known, may_check, readings, version},
};
use crate::{
    platform::{
        door::{Act, Permission, Stored, Write, text},
        error::Fault,
    },
    slices::{
        agencies::{Agency, day_of},
        check_plans::{CheckPlan, CheckPlanId},
        defects::{Defect, DefectId, DefectState, NoteDefect, ReportDefect, Severity},
        members::Member,
        models::Model,
        photos::PhotoName,
        pieces::{self, Piece, PieceId, Proved, role_of},
    },
};

/// Records a check: what was answered to a plan's steps for one piece. When is the command's `at`. The plan says who may sign. A step that
/// fails is reported as a defect with it: any member may record it for any piece of the agency; one that is passed only within reach.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RecordCheck {
    /// The plan.
    pub plan: CheckPlanId,
    /// The version of the plan that was answered.
    pub version: u32,
    /// The piece.
    pub piece: PieceId,
    /// The answers, in any order: 1 to 120.
    #[schema(min_items = 1, max_items = 120)]
    pub answers: Vec<Answer>,
    /// The steps whose failure leaves the piece usable with a limit, by the member's word; the rules of defects decide whether that may
    /// be said. Of all others the piece is out of service.
    #[serde(default)]
    #[schema(max_items = 60)]
    pub usable: Vec<String>,
    /// What else was seen.
    #[serde(default)]
    pub note: Option<String>,
    /// The paper of the maker's service, where it did the check.
    #[serde(default)]
    pub paper: Option<MakersPaper>,
}

impl Act for RecordCheck {
    const KIND: &'static str = "check.record";
    const SUMMARY: &'static str = "Record the check of a piece by a plan";
    const DONE: &'static str = "Checked";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.note = self.note.as_deref().map(|note| text("body.note", note)).transpose()?;
        if self.answers.is_empty() || self.answers.len() > check::MOST_ANSWERS {
            return Err(Fault::field("body.answers", format!("Answer the steps: 1 to {}", check::MOST_ANSWERS)));
        }
        if self.usable.len() > MOST_STEPS {
            return Err(Fault::field("body.usable", format!("{MOST_STEPS} steps are the most")));
        }
        for (n, answer) in self.answers.iter().enumerate() {
            if let Said::Photo { photo } = &answer.said {
                PhotoName::try_from(photo.clone()).map_err(|why| Fault::field(format!("body.answers[{n}].said.photo"), why))?;
            }
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let plan = write.named::<CheckPlan>("plan", self.plan)?.record;
        let stored = write.named::<Piece>("piece", self.piece)?;
        may_check(&stored.record.tag, stored.record.state).map_err(|why| Fault::rule(why).at("body.piece"))?;
        let model = write.find::<Model>(stored.record.model)?.record;
        if !plan.plan.covers.has(model.kind, Some(model.id.0)) {
            return Err(Fault::rule(format!("{} does not hold for {}", plan.plan.name, stored.record.tag)).at("body.plan"));
        }
        let (asked, counts) = version(&plan, self.version, write.head.at).map_err(|why| Fault::rule(why).at("body.version"))?;
        if let Some(first) = check::faults(&asked, &self.answers).first() {
            return Err(Fault::field(format!("body.{}", first.path), first.words.clone()));
        }
        let agency = write.agency;
        let zone = write.find::<Agency>(agency)?.record.time_zone;
        let on = day_of(write.head.at, zone);
        let signed_off = self.sign(write, &asked, &model, on)?;
        let id = CheckId::of(self.plan, self.piece);
        let before = write.look::<Check>(id)?;
        let verdict = judge(&asked, &self.answers, &stored.record, &model, before.as_ref());
        if verdict.outcome == Outcome::Passed {
            write.reach(stored.scope)?;
        }
        let defects = self.failures(write, &asked, &verdict, before.as_ref())?;
        if before.as_ref().is_some_and(|before| before.record.done_at > write.head.at) {
            return self.report(write, defects);
        }
        let passed = verdict.outcome == Outcome::Passed && counts;
        let earlier = before.map(|before| before.record.readings).unwrap_or_default();
        let piece = stored.record;
        let record = Check {
            id,
            plan: self.plan,
            name: asked.name.clone(),
            version: asked.version,
            piece: self.piece,
            rig: piece.place.rig(),
            tag: piece.tag,
            done_at: write.head.at,
            done_by: write.actor.person(),
            signed_off,
            outcome: verdict.outcome,
            words: verdict.words,
            counts,
            readings: readings(&asked, &self.answers, on, earlier),
            steps: steps(&asked, &self.answers, verdict.steps, &defects),
            note: self.note.clone(),
            paper: self.paper.clone(),
            rev: 0,
        };
        write.save(record, stored.scope)?;
        self.report(write, defects)?;
        if passed { self.prove(write, &asked, on) } else { Ok(()) }
    }
}

impl RecordCheck {
    /// Refuses who may not sign; answers whether who signs is known to be signed off on such gear.
    fn sign(&self, write: &mut Write<'_>, asked: &Asked, model: &Model, on: NaiveDate) -> Result<Option<bool>, Fault> {
        let member = match write.actor.member {
            Some(member) => write.look::<Member>(member)?.map(|stored| stored.record),
            None => None,
        };
        let signed_off = member.as_ref().and_then(|member| member.is_signed_off(model.kind, on));
        let hand = Hand {
            role: role_of(write.actor.role),
            signed_off,
            certificate_until: member.and_then(|member| member.certificate.map(|certificate| certificate.until)),
            paper: self.paper.as_ref(),
            on,
        };
        asked
            .signer
            .accept(&hand)
            .map_err(|refusal| Fault::rule(refusal.words).hint("What was answered can be sent again by the one who may sign"))?;
        Ok(signed_off)
    }

    /// What each failed step is reported as: a defect of its own, or one that is known from the check before and open.
    fn failures(&self, write: &mut Write<'_>, asked: &Asked, verdict: &Verdict, before: Option<&Stored<Check>>) -> Result<Vec<Failure>, Fault> {
        let mut all = Vec::new();
        for (step, found) in asked.steps.iter().zip(&verdict.steps) {
            let StepResult::Failed { why, class } = &found.result else { continue };
            let known = before.and_then(|before| before.record.steps.iter().find(|known| known.step == step.id)?.defect);
            let open = match known {
                Some(known) => write
                    .look::<Defect>(known)?
                    .filter(|stored| stored.record.state == DefectState::Open && stored.record.class == *class),
                None => None,
            };
            all.push(Failure {
                step: step.id.clone(),
                what: format!("{}: {}: {why}", asked.name, step.title),
                class: *class,
                defect: open
                    .as_ref()
                    .map_or_else(|| DefectId(Uuid::new_v5(&write.head.id, step.id.as_bytes())), |open| open.record.id),
                known_as: open.map(|open| open.record.severity),
            });
        }
        Ok(all)
    }

    /// Reports the failures.
    fn report(&self, write: &mut Write<'_>, failures: Vec<Failure>) -> Result<(), Fault> {
        let usable: BTreeSet<&str> = self.usable.iter().map(String::as_str).collect();
        for failure in failures {
            let severity = if usable.contains(failure.step.as_str()) {
                Severity::Usable
            } else {
                Severity::OutOfService
            };
            let photos = photos(&self.answers);
            match failure.known_as {
                Some(known) => NoteDefect {
                    id: failure.defect,
                    text: failure.what,
                    class: None,
                    severity: (severity == Severity::OutOfService && known == Severity::Usable).then_some(severity),
                    limit: None,
                    photos,
                }
                .apply(write)?,
                None => ReportDefect {
                    id: failure.defect,
                    piece: self.piece,
                    what: failure.what,
                    class: failure.class,
                    severity,
                    limit: None,
                    photos,
                }
                .apply(write)?,
            }
        }
        Ok(())
    }

    /// Puts what a pass proves on the piece.
    fn prove(&self, write: &mut Write<'_>, asked: &Asked, on: NaiveDate) -> Result<(), Fault> {
        let proves = |proof| asked.proves.contains(&proof);
        let proved = Proved {
            plan: self.plan,
            checked: proves(Proof::Checked),
            tried: proves(Proof::TriedAboard),
            serviced_on: proves(Proof::Serviced).then_some(on),
        };
        pieces::mark_passed(write, self.piece, &proved)?;
        if proves(Proof::Baseline) {
            pieces::accept(write, self.piece, &check::readings(asked, &self.answers), on, None)?;
        }
        Ok(())
    }
}

/// A failed step, and the defect that it is.
struct Failure {
    step: String,
    what: String,
    class: DefectClass,
    defect: DefectId,
    /// How bad it was said to be, where the defect is known.
    known_as: Option<Severity>,
}

fn judge(asked: &Asked, answers: &[Answer], piece: &Piece, model: &Model, before: Option<&Stored<Check>>) -> Verdict {
    let baseline = known(&piece.baseline);
    let facts = Facts {
        ratings: &model.ratings,
        nominal: model.hookup.allowable_pressure.or(model.hookup.pressure),
        drive: drive(model.kind, &model.hookup),
        gear: model.gear,
        dump_valve: model.dump_valve,
        baseline: &baseline,
        makers_bounds: &model.makers_bounds,
        earlier: before.map_or(&[], |before| &before.record.readings),
    };
    check::judge(asked, answers, &facts)
}

fn photos(answers: &[Answer]) -> Vec<PhotoName> {
    let mut named: Vec<PhotoName> = Vec::new();
    for answer in answers {
        if let Said::Photo { photo } = &answer.said
            && let Ok(name) = PhotoName::try_from(photo.clone())
            && !named.contains(&name)
            && named.len() < 8
        {
            named.push(name);
        }
    }
    named
}

fn steps(asked: &Asked, answers: &[Answer], found: Vec<StepVerdict>, defects: &[Failure]) -> Vec<CheckStep> {
    let told = asked.steps.iter().zip(found).filter(|(_, found)| found.result != StepResult::NotAsked);
    told.map(|(step, found)| CheckStep {
        step: step.id.clone(),
        title: step.title.clone(),
        said: answers
            .iter()
            .filter(|answer| answer.step == step.id)
            .map(|answer| answer.said.clone())
            .collect(),
        shows: found.result,
        trend: found.trend,
        defect: defects.iter().find(|failure| failure.step == step.id).map(|failure| failure.defect),
    })
    .collect()
}
