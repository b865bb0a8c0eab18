use std::collections::HashSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    entries::TrialAnswer,
    feed::{FieldTrial, FieldTrialId, FieldTrialState, TrialCandidate, TrialMeasurement, TrialQuestion},
    rules::{self, FieldTrialAct, FieldWords, may},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
        ids::MemberId,
        person::Person,
        record::Scope,
    },
    slices::{members::Member, models::Model},
};

/// The most trials that are open at once.
const MOST_OPEN: usize = 10;
/// The most trials that an agency has on record.
const MOST_TRIALS: usize = 100;

/// A fault of a rule as one of the body.
pub(super) fn at_field((field, words): FieldWords) -> Fault {
    Fault::field(format!("body.{field}"), words)
}

/// Opens a field trial: what is tried, what is asked and measured, and who answers. Candidates, questions and measurements stay as they are
/// from then on, so that every sheet asks the same.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenFieldTrial {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: FieldTrialId,
    /// What it is called: 1 to 200 characters; no other trial has the name.
    #[schema(min_length = 1, max_length = 200)]
    pub name: String,
    /// The candidates, 2 to 8, in the order in which every sheet has them.
    #[schema(min_items = 2, max_items = 8)]
    pub candidates: Vec<TrialCandidate>,
    /// The questions, 1 to 30.
    #[schema(min_items = 1, max_items = 30)]
    pub questions: Vec<TrialQuestion>,
    /// What is measured, at most 8 things.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub measurements: Vec<TrialMeasurement>,
    /// The members who answer, each once, 1 to 12.
    #[schema(min_items = 1, max_items = 12)]
    pub evaluators: Vec<MemberId>,
}

/// The members of some ids, who are here and stand there once; `before` are those who answer already.
fn members(write: &mut Write<'_>, ids: &[MemberId], before: &[Person]) -> Result<Vec<Member>, Fault> {
    let mut known: HashSet<MemberId> = before.iter().filter_map(|person| person.id).collect();
    let mut found = Vec::with_capacity(ids.len());
    for (n, id) in ids.iter().enumerate() {
        let field = format!("evaluators[{n}]");
        let member = write.named::<Member>(&field, *id)?.record;
        if !member.active {
            return Err(Fault::field(format!("body.{field}"), format!("{} has left the agency", member.name)));
        }
        if !known.insert(*id) {
            let words = format!("{} answers already; name each evaluator once", member.name);
            return Err(Fault::field(format!("body.{field}"), words));
        }
        found.push(member);
    }
    Ok(found)
}

fn person(member: Member) -> Person {
    Person {
        id: Some(member.id),
        name: member.name,
    }
}

impl OpenFieldTrial {
    /// Trims what people read.
    fn trim(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        for (n, candidate) in self.candidates.iter_mut().enumerate() {
            candidate.name = name(&format!("body.candidates[{n}].name"), &candidate.name)?;
        }
        for (n, question) in self.questions.iter_mut().enumerate() {
            let at = |field: &str| format!("body.questions[{n}].{field}");
            question.text = name(&at("text"), &question.text)?;
            question.lowest = name(&at("lowest"), &question.lowest)?;
            question.highest = name(&at("highest"), &question.highest)?;
        }
        for (n, measurement) in self.measurements.iter_mut().enumerate() {
            measurement.how = name(&format!("body.measurements[{n}].how"), &measurement.how)?;
        }
        Ok(())
    }

    /// Holds the candidates to the catalogue where they name a model of it.
    fn known_models(&self, write: &mut Write<'_>) -> Result<(), Fault> {
        for (n, candidate) in self.candidates.iter().enumerate() {
            let Some(model) = candidate.model else { continue };
            let model = write.named::<Model>(&format!("candidates[{n}].model"), model)?.record;
            if model.kind != candidate.kind {
                let words = format!(
                    "{} is a {} in the catalogue; choose another model or another kind",
                    model.name,
                    model.kind.word()
                );
                return Err(Fault::field(format!("body.candidates[{n}].model"), words));
            }
        }
        Ok(())
    }
}

impl Act for OpenFieldTrial {
    const KIND: &'static str = "field_trial.open";
    const SUMMARY: &'static str = "Open a field trial of candidate tools";
    const DONE: &'static str = "Field trial opened";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        // First, so that names which differ in blanks alone are the same.
        self.trim()?;
        rules::evaluators("evaluators", self.evaluators.len()).map_err(at_field)?;
        rules::bounds(&self.candidates, &self.questions, &self.measurements).map_err(at_field)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<FieldTrial>(self.id)?;
        let all = write.all::<FieldTrial>()?;
        let open = all.iter().filter(|stored| stored.record.state == FieldTrialState::Open).count();
        if open >= MOST_OPEN {
            return Err(Fault::rule(format!(
                "{MOST_OPEN} trials are open, which is the most; close or withdraw one first"
            )));
        }
        if all.len() >= MOST_TRIALS {
            return Err(Fault::rule(format!("{MOST_TRIALS} trials are on record, which is the most of an agency")));
        }
        self.known_models(write)?;
        let evaluators = members(write, &self.evaluators, &[])?.into_iter().map(person).collect();
        let trial = FieldTrial {
            id: self.id,
            name: self.name,
            state: FieldTrialState::Open,
            candidates: self.candidates,
            questions: self.questions,
            measurements: self.measurements,
            evaluators,
            opened_at: write.head.at,
            opened_by: write.actor.person(),
            ended_at: None,
            ended_by: None,
            conclusion: None,
            allows: Vec::new(),
            rev: 0,
        };
        write.save(trial, Scope::default())
    }
}

/// Asks further members to answer. Nobody is taken off the list: whoever hands in nothing is said to be missing.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct InviteToFieldTrial {
    /// The trial; one that is open.
    pub id: FieldTrialId,
    /// The members who answer from now on as well, each once; 12 evaluators in all. Once anything was handed in, nobody who keeps the
    /// programme: he could have read it.
    #[schema(min_items = 1, max_items = 12)]
    pub evaluators: Vec<MemberId>,
}

impl Act for InviteToFieldTrial {
    const KIND: &'static str = "field_trial.invite";
    const SUMMARY: &'static str = "Ask further members to answer in a field trial";
    const DONE: &'static str = "Further evaluators asked";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;

    fn prepare(&mut self) -> Result<(), Fault> {
        rules::evaluators("evaluators", self.evaluators.len()).map_err(at_field)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<FieldTrial>(self.id)?;
        may(FieldTrialAct::Invite, stored.record.state).map_err(Fault::rule)?;
        let mut trial = stored.record;
        let begun = !write.of_parent::<TrialAnswer>(self.id)?.is_empty();
        let invited = members(write, &self.evaluators, &trial.evaluators)?;
        if let Some(n) = invited.iter().position(|member| begun && member.role.grants(Permission::Plan)) {
            return Err(
                Fault::rule("Answers were handed in, and whoever keeps the register could have read them: ask somebody who could not")
                    .at(format!("body.evaluators[{n}]")),
            );
        }
        trial.evaluators.extend(invited.into_iter().map(person));
        rules::evaluators("evaluators", trial.evaluators.len()).map_err(at_field)?;
        write.save(trial, stored.scope)
    }
}

/// What ends a trial, and as what.
fn end(write: &mut Write<'_>, id: FieldTrialId, act: FieldTrialAct, state: FieldTrialState, words: Option<String>) -> Result<(), Fault> {
    let stored = write.find::<FieldTrial>(id)?;
    write.expects(&stored)?;
    may(act, stored.record.state).map_err(Fault::rule)?;
    if state == FieldTrialState::Closed && write.of_parent::<TrialAnswer>(id)?.is_empty() {
        return Err(Fault::rule(
            "Nobody has handed in an answer, so there is no result to keep; withdraw the trial instead",
        ));
    }
    let trial = FieldTrial {
        state,
        ended_at: Some(write.head.at),
        ended_by: Some(write.actor.person()),
        conclusion: words,
        ..stored.record
    };
    write.save(trial, stored.scope)
}

/// Closes a field trial: its answers and readings stay as they are, for the purchase file. Every member may read them from then on.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseFieldTrial {
    /// The trial; one that is open and to which somebody has handed in an answer.
    pub id: FieldTrialId,
    /// What the agency takes from it: 1 to 4,000 characters; null: nothing is said.
    #[serde(default)]
    pub conclusion: Option<String>,
}

impl Act for CloseFieldTrial {
    const KIND: &'static str = "field_trial.close";
    const SUMMARY: &'static str = "Close a field trial: its answers and readings stay as they are";
    const DONE: &'static str = "Field trial closed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("field_trial");

    fn prepare(&mut self) -> Result<(), Fault> {
        let said = self.conclusion.take().filter(|words| !words.trim().is_empty());
        self.conclusion = said.map(|words| text("body.conclusion", &words)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        end(write, self.id, FieldTrialAct::Close, FieldTrialState::Closed, self.conclusion)
    }
}

/// Gives a field trial up: nothing is handed in any more.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WithdrawFieldTrial {
    /// The trial; one that is open.
    pub id: FieldTrialId,
    /// Why: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for WithdrawFieldTrial {
    const KIND: &'static str = "field_trial.withdraw";
    const SUMMARY: &'static str = "Give a field trial up";
    const DONE: &'static str = "Field trial withdrawn";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("field_trial");

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        self.reason = text("body.reason", &self.reason)?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        end(write, self.id, FieldTrialAct::Withdraw, FieldTrialState::Withdrawn, Some(self.reason))
    }
}
