//! What evaluators do in a trial that is open: hand in, measure, strike out a reading.

use fullset_calc::units::Quantity;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    entries::{TrialAnswer, TrialAnswerId, TrialReading, TrialReadingId},
    feed::{FieldTrial, FieldTrialId},
    ops::at_field,
    rows,
    rules::{self, FieldTrialAct, GivenAnswer, MOST_REPEATS, may},
};
use crate::platform::{
    door::{Act, Permission, Reach, Write, text},
    error::Fault,
    ids::MemberId,
    record::Scope,
};

/// Trials are tried wherever the tool is.
const ANYWHERE: Reach = Reach::Anywhere("whoever was asked to answer does so wherever the tool is tried");

/// The most readings of a member of one thing of one candidate, those that were struck out among them.
const MOST_TAKEN: usize = 2 * MOST_REPEATS;

/// The member who acts, where he was asked to answer in the trial.
fn evaluator(write: &Write<'_>, trial: &FieldTrial) -> Result<MemberId, Fault> {
    let acting = write.actor.member;
    let asked = acting.filter(|member| trial.evaluators.iter().any(|evaluator| evaluator.id == Some(*member)));
    asked.ok_or_else(|| Fault::rule("Only who was asked to answer hands in or measures; ask the coordinator to be put on the list"))
}

/// Refuses the number of a candidate that the trial does not have.
fn candidate(trial: &FieldTrial, number: u8) -> Result<&super::feed::TrialCandidate, Fault> {
    trial
        .candidate(number)
        .ok_or_else(|| Fault::field("body.candidate", format!("The trial has candidates 1 to {}", trial.candidates.len())))
}

/// Hands in the answers about a candidate: once, and they stay as they were given. Others’ answers are shown to an evaluator when he has
/// handed in his own about each candidate.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct HandInTrialAnswers {
    /// The trial; one that is open, and asks the sender.
    pub id: FieldTrialId,
    /// The number of the candidate in the trial's list, counted from 1.
    #[schema(minimum = 1, maximum = 8)]
    pub candidate: u8,
    /// One for each question, in the order of the trial; at least one of them with points.
    #[schema(min_items = 1, max_items = 30)]
    pub answers: Vec<GivenAnswer>,
}

impl Act for HandInTrialAnswers {
    const KIND: &'static str = "field_trial.hand_in";
    const SUMMARY: &'static str = "Hand in the answers about a candidate of a field trial";
    const DONE: &'static str = "Answers handed in";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = ANYWHERE;
    const PERSONAL: bool = true;
    const UNTOLD: &'static [&'static str] = &["answers"];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.answers = rules::answers(std::mem::take(&mut self.answers)).map_err(at_field)?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let trial = write.find::<FieldTrial>(self.id)?.record;
        may(FieldTrialAct::HandIn, trial.state).map_err(Fault::rule)?;
        let member = evaluator(write, &trial)?;
        let of = candidate(&trial, self.candidate)?;
        if self.answers.len() != trial.questions.len() {
            let words = format!("The trial asks {} questions; give an answer or none to each", trial.questions.len());
            return Err(Fault::field("body.answers", words));
        }
        let answered = self.answers.iter().filter(|answer| answer.points.is_some()).count();
        if answered == 0 {
            return Err(Fault::field(
                "body.answers",
                "Give points to at least one question; a sheet without any is not handed in",
            ));
        }
        let id = TrialAnswerId::of(self.id, self.candidate, member);
        if write.look::<TrialAnswer>(id)?.is_some() {
            return Err(Fault::rule(format!(
                "Your sheet about {} was handed in before; it stays as it was handed in",
                of.name
            )));
        }
        let agency = write.agency;
        rows::keep(write.beside(), agency, self.id.0, id.0, &self.answers)?;
        let answer = TrialAnswer {
            id,
            trial: self.id,
            candidate: self.candidate,
            evaluator: write.actor.person(),
            answered,
            missing: self.answers.len() - answered,
            handed_in_at: write.head.at,
            rev: 0,
        };
        write.save(answer, Scope::default())
    }
}

/// Adds a reading about a candidate. Each evaluator takes up to 5 readings of one thing of one candidate.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddTrialReading {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: TrialReadingId,
    /// The trial; one that is open, and asks the sender.
    pub trial: FieldTrialId,
    /// The number of the candidate in the trial's list, counted from 1.
    #[schema(minimum = 1, maximum = 8)]
    pub candidate: u8,
    /// The number of the measurement in the trial's list, counted from 1.
    #[schema(minimum = 1, maximum = 8)]
    pub measurement: u8,
    /// What was read, in the unit that was read; one of what is measured, and of a size that such gear can show.
    pub value: Quantity,
}

impl Act for AddTrialReading {
    const KIND: &'static str = "trial_reading.add";
    const SUMMARY: &'static str = "Add a reading of a field trial";
    const DONE: &'static str = "Reading added";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = ANYWHERE;
    const PERSONAL: bool = true;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<TrialReading>(self.id)?;
        let trial = write.named::<FieldTrial>("trial", self.trial)?.record;
        may(FieldTrialAct::HandIn, trial.state).map_err(Fault::rule)?;
        let member = evaluator(write, &trial)?;
        let kind = candidate(&trial, self.candidate)?.kind;
        let most = trial.measurements.len();
        let measurement = trial.measurement(self.measurement).ok_or_else(|| {
            let words = if most == 0 {
                "The trial measures nothing".into()
            } else {
                format!("The trial has measurements 1 to {most}")
            };
            Fault::field("body.measurement", words)
        })?;
        if let Err(fault) = measurement.what.fit(kind, self.value) {
            return Err(Fault::field("body.value", rules::sentence(&fault)));
        }
        let taken = write.of_parent::<TrialReading>(self.trial)?;
        let own = taken
            .iter()
            .map(|stored| &stored.record)
            .filter(|one| one.taken_by.id == Some(member) && one.candidate == self.candidate && one.measurement == self.measurement);
        let (all, count) = own.fold((0, 0), |(all, count), one| (all + 1, count + usize::from(one.struck_at.is_none())));
        if count >= MOST_REPEATS || all >= MOST_TAKEN {
            return Err(Fault::rule(format!(
                "You have {count} readings of this, and {MOST_REPEATS} are the most; strike one out that was a slip, {} times at most",
                MOST_TAKEN - MOST_REPEATS
            )));
        }
        let reading = TrialReading {
            id: self.id,
            trial: self.trial,
            candidate: self.candidate,
            measurement: self.measurement,
            value: self.value,
            taken_at: write.head.at,
            taken_by: write.actor.person(),
            struck_at: None,
            struck_by: None,
            struck_reason: None,
            rev: 0,
        };
        write.save(reading, Scope::default())
    }
}

/// Strikes out a reading that was a slip. It stays on record and counts no more.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StrikeTrialReading {
    /// The reading; one that counts, of a trial that is open.
    pub id: TrialReadingId,
    /// Why: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for StrikeTrialReading {
    const KIND: &'static str = "trial_reading.strike";
    const SUMMARY: &'static str = "Strike out a reading of a field trial";
    const DONE: &'static str = "Reading struck out";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = ANYWHERE;
    const PERSONAL: bool = true;

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        self.reason = text("body.reason", &self.reason)?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<TrialReading>(self.id)?;
        let trial = write.named::<FieldTrial>("id", stored.record.trial)?.record;
        may(FieldTrialAct::HandIn, trial.state).map_err(Fault::rule)?;
        let own = write.actor.member.is_some() && stored.record.taken_by.id == write.actor.member;
        if !own && !write.actor.role.grants(Permission::Plan) {
            return Err(Fault::rule(format!(
                "{} took this reading; only that member or the coordinator strikes it out",
                stored.record.taken_by.name
            )));
        }
        if stored.record.struck_at.is_some() {
            return Err(Fault::rule("This reading was struck out before"));
        }
        let reading = TrialReading {
            struck_at: Some(write.head.at),
            struck_by: Some(write.actor.person()),
            struck_reason: Some(self.reason),
            ..stored.record
        };
        write.save(reading, stored.scope)
    }
}
