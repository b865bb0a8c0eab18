use chrono::NaiveDate;
use fullset_calc::release::{DefectClass, MakersPaper};
use fullset_care::{
    check::{self, Answer, Outcome, StepResult, StepSaid, StepVerdict, Verdict},
    plan::{Hand, MOST_STEPS, PlanSnapshot, Proof},
};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Check, CheckId,
    feed::{CheckStep, CheckWalk},
    rules::{facts, known, may_check, meter_minutes, readings, version, walk_can_be},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, Stored, Write, text},
        error::Fault,
    },
    slices::{
        agencies::day_done,
        check_plans::{CheckPlan, CheckPlanId},
        defects::{Defect, DefectId, DefectState, NoteDefect, ReportDefect, Severity},
        members::Member,
        models::Model,
        photos::{PhotoName, named_photos},
        pieces::{self, PassedCheck, Piece, PieceId, role_of},
        uses,
    },
};

/// The most words about one step, in characters: with the step's own there is room for them in a defect.
const MOST_WORDS: usize = 2_000;

/// What was seen where a step is not in order.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Finding {
    /// The id of the step.
    #[schema(max_length = 40)]
    pub step: String,
    /// What was seen, in the crew's own words: up to 2,000 characters. The defect begins with them.
    #[serde(default)]
    #[schema(max_length = 2000)]
    pub words: Option<String>,
    /// Up to 8 photos of it, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
    /// Whether the piece can still be used, with a limit, by the member's word; the rules of defects decide whether that may be said.
    #[serde(default)]
    pub usable: bool,
}

/// Records a check: what was answered to a plan's steps for one piece. When is the command's `at`. The plan says who may sign. A step that
/// fails is reported as a defect with it: any member may record it for any piece of the agency; one that is passed only within reach.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RecordCheck {
    /// The check plan that was answered; it must cover the piece.
    pub plan: CheckPlanId,
    /// The version of the plan that was answered.
    pub version: u32,
    /// The piece that was checked; neither missing nor retired.
    pub piece: PieceId,
    /// The answers, in any order: 1 to 120.
    #[schema(min_items = 1, max_items = 120)]
    pub answers: Vec<Answer>,
    /// What was seen of steps that are not in order, one entry for a step. It is taken up where the step fails; a failed step without an
    /// entry, or that is not said to be usable, puts the piece out of service.
    #[serde(default)]
    #[schema(max_items = 60)]
    pub findings: Vec<Finding>,
    /// What else was seen.
    #[serde(default)]
    pub note: Option<String>,
    /// The paper of the maker's service, where it did the check.
    #[serde(default)]
    pub paper: Option<MakersPaper>,
    /// The round that it was part of, as the device knows it.
    #[serde(default)]
    pub walk: Option<CheckWalk>,
}

impl Act for RecordCheck {
    const KIND: &'static str = "check.record";
    const SUMMARY: &'static str = "Record the check of a piece by a plan";
    const DONE: &'static str = "Checked";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("a check that failed says what is wrong; one that passed asks for reach");
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.note = self.note.as_deref().map(|note| text("body.note", note)).transpose()?;
        if self.answers.is_empty() || self.answers.len() > check::MOST_ANSWERS {
            return Err(Fault::field("body.answers", format!("Answer the steps: 1 to {}", check::MOST_ANSWERS)));
        }
        if self.findings.len() > MOST_STEPS {
            return Err(Fault::field("body.findings", format!("{MOST_STEPS} steps are the most")));
        }
        for n in 0..self.findings.len() {
            let (before, rest) = self.findings.split_at_mut(n);
            let Some(finding) = rest.first_mut() else { break };
            if before.iter().any(|other| other.step == finding.step) {
                return Err(Fault::field(format!("body.findings[{n}].step"), "This step has an entry already; write one"));
            }
            named_photos(&format!("body.findings[{n}].photos"), &finding.photos)?;
            let field = format!("body.findings[{n}].words");
            finding.words = finding.words.as_deref().map(|words| text(&field, words)).transpose()?;
            if finding.words.as_ref().is_some_and(|words| words.chars().count() > MOST_WORDS) {
                return Err(Fault::field(field, format!("Say it in {MOST_WORDS} characters")));
            }
        }
        if let Some(walk) = &self.walk {
            walk_can_be(walk).map_err(|words| Fault::field("body.walk", words))?;
        }
        for (n, answer) in self.answers.iter().enumerate() {
            if let StepSaid::Photo { photo } = &answer.said {
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
        let strange = self.findings.iter().position(|finding| asked.steps.iter().all(|step| step.id != finding.step));
        if let Some(n) = strange {
            return Err(Fault::field(format!("body.findings[{n}].step"), "This check has no such step"));
        }
        let on = day_done(write)?;
        let id = CheckId::of(self.plan, self.piece);
        let before = write.look::<Check>(id)?;
        let verdict = judge(&asked, &self.answers, &stored.record, &model, before.as_ref());
        let (signed_off, refused) = self.sign(write, &asked, &model, on)?;
        // A fault that was found is kept whoever found it; only what would count for the piece is signed.
        if verdict.outcome != Outcome::Failed {
            refused.map_or(Ok(()), Err)?;
        }
        if verdict.outcome == Outcome::Passed {
            write.reach(stored.scope)?;
        }
        let known = known_defects(write, before.as_ref())?;
        let failures = self.failures(write, &asked, &verdict, &known)?;
        if let Some(minutes) = meter_minutes(&asked, &self.answers) {
            uses::read_meter(write, self.piece, minutes)?;
        }
        if before.as_ref().is_some_and(|before| before.record.done_at > write.head.at) {
            return report(write, self.piece, failures);
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
            steps: steps(&asked, &self.answers, verdict.steps, &failures, &known),
            note: self.note.clone(),
            paper: self.paper.clone(),
            walk: self.walk.clone(),
            rev: 0,
        };
        write.save(record, stored.scope)?;
        report(write, self.piece, failures)?;
        if passed { self.prove(write, &asked, on) } else { Ok(()) }
    }
}

impl RecordCheck {
    /// Whether who signs is known to be signed off on such gear, and why the signature does not count, where it does not.
    fn sign(&self, write: &mut Write<'_>, asked: &PlanSnapshot, model: &Model, on: NaiveDate) -> Result<(Option<bool>, Option<Fault>), Fault> {
        let member = match write.actor.member {
            Some(member) => write.look::<Member>(member)?.map(|stored| stored.record),
            None => None,
        };
        let signed_off = member.as_ref().and_then(|member| member.is_signed_off(model.kind, model.family.as_deref(), on));
        let hand = Hand {
            role: role_of(write.actor.role),
            signed_off,
            certificate_until: member.and_then(|member| member.certificate.map(|certificate| certificate.until)),
            paper: self.paper.as_ref(),
            on,
        };
        let refused = asked
            .signer
            .accept(&hand)
            .err()
            .map(|refusal| Fault::rule(refusal.words).hint("What was answered can be sent again by the one who may sign"));
        Ok((signed_off, refused))
    }

    /// What each failed step is reported as: a defect of its own, or one that is known from a check before and open.
    fn failures(&self, write: &mut Write<'_>, asked: &PlanSnapshot, verdict: &Verdict, known: &[(String, DefectId)]) -> Result<Vec<Failure>, Fault> {
        let mut all = Vec::new();
        for (step, found) in asked.steps.iter().zip(&verdict.steps) {
            let StepResult::Failed { why, class } = &found.result else { continue };
            let known = known.iter().find(|(of, _)| *of == step.id).map(|(_, defect)| *defect);
            let open = match known {
                Some(known) => write.look::<Defect>(known)?.filter(|stored| stored.record.class == *class),
                None => None,
            };
            let finding = self.findings.iter().find(|finding| finding.step == step.id);
            let usable = finding.is_some_and(|finding| finding.usable);
            let of_plan = format!("{}: {}: {why}", asked.name, step.title);
            all.push(Failure {
                step: step.id.clone(),
                what: match finding.and_then(|finding| finding.words.as_deref()) {
                    Some(words) => format!("{words} ({of_plan})"),
                    None => of_plan,
                },
                class: *class,
                severity: if usable { Severity::Usable } else { Severity::OutOfService },
                photos: finding.map(|finding| finding.photos.clone()).unwrap_or_default(),
                defect: open
                    .as_ref()
                    .map_or_else(|| DefectId(Uuid::new_v5(&write.head.id, step.id.as_bytes())), |open| open.record.id),
                known_as: open.map(|open| open.record.severity),
            });
        }
        Ok(all)
    }

    /// Puts what a pass proves on the piece.
    fn prove(&self, write: &mut Write<'_>, asked: &PlanSnapshot, on: NaiveDate) -> Result<(), Fault> {
        let proves = |proof| asked.proves.contains(&proof);
        let proved = PassedCheck {
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
    severity: Severity,
    photos: Vec<PhotoName>,
    defect: DefectId,
    /// How bad it was said to be, where the defect is known.
    known_as: Option<Severity>,
}

fn judge(asked: &PlanSnapshot, answers: &[Answer], piece: &Piece, model: &Model, before: Option<&Stored<Check>>) -> Verdict {
    let baseline = known(&piece.baseline);
    let earlier = before.map_or(&[][..], |before| &before.record.readings);
    check::judge(asked, answers, &facts(model, &baseline, earlier))
}

/// The defects of the check before that are still open, by step. A step that was passed since keeps its own, because a passed check ends
/// none.
fn known_defects(write: &mut Write<'_>, before: Option<&Stored<Check>>) -> Result<Vec<(String, DefectId)>, Fault> {
    let mut open = Vec::new();
    for step in before.into_iter().flat_map(|before| &before.record.steps) {
        if let Some(defect) = step.defect
            && write.look::<Defect>(defect)?.is_some_and(|stored| stored.record.state == DefectState::Open)
        {
            open.push((step.step.clone(), defect));
        }
    }
    Ok(open)
}

/// Reports the failures.
fn report(write: &mut Write<'_>, piece: PieceId, failures: Vec<Failure>) -> Result<(), Fault> {
    for failure in failures {
        match failure.known_as {
            Some(known) => NoteDefect {
                id: failure.defect,
                text: failure.what,
                class: None,
                severity: (failure.severity == Severity::OutOfService && known == Severity::Usable).then_some(failure.severity),
                limit: None,
                photos: failure.photos,
            }
            .apply(write)?,
            None => ReportDefect {
                id: failure.defect,
                piece,
                what: failure.what,
                class: failure.class,
                severity: failure.severity,
                limit: None,
                photos: failure.photos,
            }
            .report(write)?,
        }
    }
    Ok(())
}

fn steps(asked: &PlanSnapshot, answers: &[Answer], found: Vec<StepVerdict>, failures: &[Failure], known: &[(String, DefectId)]) -> Vec<CheckStep> {
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
        defect: failures
            .iter()
            .find(|failure| failure.step == step.id)
            .map(|failure| failure.defect)
            .or_else(|| known.iter().find(|(of, _)| *of == step.id).map(|(_, defect)| *defect)),
    })
    .collect()
}
