//! A rig of a rollout: planned, spoken for, changed over.

use std::collections::HashSet;

use chrono::NaiveDate;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{
    Rollout, RolloutId, RolloutRig, RolloutRigId, RolloutWord,
    ops::MOST_RIGS,
    rules::{RolloutAct, RolloutRigAct, is_monday, is_over, may, may_rig},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, text},
        error::Fault,
        patch,
    },
    slices::{
        agencies::day_received,
        pieces::{self, Piece, PieceId, PieceState},
        rigs::{Rig, RigId},
    },
};

/// The most pieces of a rig's new set.
const MOST_PIECES: usize = 60;
/// The longest that a person's word is, in characters.
const MOST_WORDS: usize = 500;

fn each_once(pieces: &[PieceId]) -> Result<(), Fault> {
    if pieces.len() > MOST_PIECES {
        return Err(Fault::field("body.pieces", format!("A rig's new set has {MOST_PIECES} pieces at most")));
    }
    let mut before = HashSet::new();
    match pieces.iter().position(|id| !before.insert(*id)) {
        Some(at) => Err(Fault::field(format!("body.pieces[{at}]"), "This piece stands there twice")),
        None => Ok(()),
    }
}

pub(super) fn words(given: &str) -> Result<String, Fault> {
    let words = text("body.words", given)?;
    if words.chars().count() > MOST_WORDS {
        return Err(Fault::field("body.words", format!("Say it in {MOST_WORDS} characters")));
    }
    Ok(words)
}

pub(super) fn running(write: &mut Write<'_>, id: RolloutId, field: &str) -> Result<Rollout, Fault> {
    let rollout = write.named::<Rollout>(field, id)?.record;
    may(RolloutAct::Edit, &rollout).map_err(Fault::rule)?;
    Ok(rollout)
}

/// Holds a week to what can be planned: a Monday, not over, with room for one more rig.
fn week(write: &mut Write<'_>, rollout: &Rollout, plan: &RolloutRig) -> Result<(), Fault> {
    let Some(week) = plan.week else { return Ok(()) };
    if !is_monday(week) {
        return Err(Fault::field("body.week", "Name the Monday on which the week begins"));
    }
    if is_over(week, day_received(write)?) {
        return Err(Fault::field("body.week", "This week is over; plan one that is not"));
    }
    let Some(most) = rollout.most_a_week else { return Ok(()) };
    let others = write.of_parent::<RolloutRig>(rollout.id)?.into_iter().map(|stored| stored.record);
    let same: Vec<String> = others
        .filter(|other| other.id != plan.id && other.week == Some(week))
        .map(|other| other.rig_name)
        .collect();
    if u32::try_from(same.len()).unwrap_or(u32::MAX) >= most {
        let words = format!("At most {most} change over in a week, and {} are planned for that one", same.join(", "));
        return Err(Fault::rule(words).at("body.week"));
    }
    Ok(())
}

/// Assigns the pieces of a rig's new set, and lets those go that were assigned before and are not any more.
fn assign(write: &mut Write<'_>, rollout: &Rollout, plan: &RolloutRig, before: &[PieceId]) -> Result<(), Fault> {
    for id in before.iter().filter(|id| !plan.pieces.contains(id)) {
        pieces::keep_for(write, *id, None)?;
    }
    for (at, id) in plan.pieces.iter().enumerate().filter(|(_, id)| !before.contains(id)) {
        let field = format!("pieces[{at}]");
        let piece = write.named::<Piece>(&field, *id)?.record;
        let refuse = |words: String| Err(Fault::field(format!("body.{field}"), words));
        if !rollout.models.contains(&piece.model) {
            return refuse(format!("{} is of no model of the new set", piece.tag));
        }
        if piece.state == PieceState::Retired {
            return refuse(format!("{} is retired", piece.tag));
        }
        if piece.place.end().rig().is_some() {
            return refuse(format!(
                "{} is aboard a rig or on its way to one; bring it to a shelf or the shop first",
                piece.tag
            ));
        }
        if piece.kept_for.is_some() {
            return refuse(format!("{} is kept for another rig's changeover; take it out of that plan first", piece.tag));
        }
        pieces::keep_for(write, *id, Some(plan.id.0))?;
    }
    Ok(())
}

/// Refuses a rig that stands, not changed over, in another rollout that runs: neither would know what the other takes off it.
fn free(write: &mut Write<'_>, id: RolloutId, rig: &Rig) -> Result<(), Fault> {
    let others = write.all::<Rollout>()?.into_iter().map(|stored| stored.record);
    for other in others.filter(|other| other.is_open() && other.id != id) {
        let rigs = write.of_parent::<RolloutRig>(other.id)?;
        if rigs.iter().any(|one| one.record.rig == rig.id && one.record.changed_over.is_none()) {
            let words = format!(
                "{} is planned in the rollout {} and has not changed over there; take it out of that one first",
                rig.name, other.name
            );
            return Err(Fault::rule(words).at("body.rig"));
        }
    }
    Ok(())
}

/// Plans a rig in a rollout: its week and the pieces of its new set. From then on those pieces go aboard no rig before its changeover.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlanRolloutRig {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: RolloutRigId,
    /// The rollout; one that runs.
    pub rollout: RolloutId,
    /// The rig; it stands once in a rollout, and in no other that runs until it has changed over there.
    pub rig: RigId,
    /// The Monday of its week, in the agency's time zone; left out: not planned yet. A week that is over is refused.
    #[serde(default)]
    pub week: Option<NaiveDate>,
    /// The pieces of its new set, each once, at most 60; of models of the new set, aboard no rig.
    #[serde(default)]
    #[schema(max_items = 60)]
    pub pieces: Vec<PieceId>,
}

impl Act for PlanRolloutRig {
    const KIND: &'static str = "rollout_rig.plan";
    const SUMMARY: &'static str = "Plan a rig in a rollout: its week and its new pieces";
    const DONE: &'static str = "Rig planned in a rollout";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        each_once(&self.pieces)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<RolloutRig>(self.id)?;
        let rollout = running(write, self.rollout, "rollout")?;
        let rig = write.named::<Rig>("rig", self.rig)?;
        let others = write.of_parent::<RolloutRig>(self.rollout)?;
        if u32::try_from(others.len()).unwrap_or(u32::MAX) >= MOST_RIGS {
            return Err(Fault::rule(format!("{MOST_RIGS} rigs are the most of one rollout; start another one")));
        }
        if others.iter().any(|other| other.record.rig == self.rig) {
            return Err(Fault::rule(format!("{} is in this rollout already", rig.record.name)).at("body.rig"));
        }
        free(write, self.rollout, &rig.record)?;
        let plan = RolloutRig {
            id: self.id,
            rollout: self.rollout,
            rig: self.rig,
            rig_name: rig.record.name,
            week: self.week,
            pieces: self.pieces,
            marked: None,
            stowed: None,
            changed_over: None,
            went: Vec::new(),
            allows: Vec::new(),
            rev: 0,
        };
        week(write, &rollout, &plan)?;
        // The answer is about what is saved first.
        write.save(plan.clone(), rig.scope)?;
        assign(write, &rollout, &plan, &[])
    }
}

fn planned(write: &mut Write<'_>, id: RolloutRigId, act: RolloutRigAct) -> Result<Stored<RolloutRig>, Fault> {
    let stored = write.find::<RolloutRig>(id)?;
    may_rig(act, &stored.record).map_err(Fault::rule)?;
    Ok(stored)
}

/// Plans another week for a rig of a rollout, or other pieces. Where the pieces change, what was said of the old choice counts no more.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReplanRolloutRig {
    /// The rig's place in the rollout; what is left out stays.
    pub id: RolloutRigId,
    /// The Monday of its week; null: not planned.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<NaiveDate>)]
    pub week: Option<Option<NaiveDate>>,
    /// The pieces of its new set, all of them, each once, at most 60.
    #[schema(max_items = 60)]
    pub pieces: Option<Vec<PieceId>>,
}

impl Act for ReplanRolloutRig {
    const KIND: &'static str = "rollout_rig.replan";
    const SUMMARY: &'static str = "Plan another week or other pieces for a rig of a rollout";
    const DONE: &'static str = "Plan of a rig in a rollout changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rollout_rig");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.pieces.as_deref().map_or(Ok(()), each_once)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = planned(write, self.id, RolloutRigAct::Replan)?;
        write.expects(&stored)?;
        let rollout = running(write, stored.record.rollout, "id")?;
        let mut plan = stored.record;
        let before = plan.pieces.clone();
        if let Some(pieces) = self.pieces.filter(|pieces| *pieces != before) {
            plan = RolloutRig {
                pieces,
                marked: None,
                stowed: None,
                ..plan
            };
        }
        if let Some(given) = self.week.filter(|given| *given != plan.week) {
            plan.week = given;
            week(write, &rollout, &plan)?;
        }
        write.save(plan.clone(), stored.scope)?;
        assign(write, &rollout, &plan, &before)
    }
}

/// Takes a rig out of a rollout. Its new pieces are free again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DropRolloutRig {
    /// The rig's place in the rollout; one that has not changed over.
    pub id: RolloutRigId,
}

impl Act for DropRolloutRig {
    const KIND: &'static str = "rollout_rig.drop";
    const SUMMARY: &'static str = "Take a rig out of a rollout";
    const DONE: &'static str = "Rig taken out of a rollout";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rollout_rig");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = planned(write, self.id, RolloutRigAct::Drop)?;
        write.expects(&stored)?;
        write.remove::<RolloutRig>(self.id)?;
        for id in stored.record.pieces {
            pieces::keep_for(write, id, None)?;
        }
        Ok(())
    }
}

/// What only a person can say of a rig's new set.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum RolloutClaim {
    /// The tags are on the pieces, hose ends are paired and numbered.
    Marked,
    /// The set has its compartment on this rig.
    Stowed,
}

/// Says what no record shows: that the pieces are marked, or in which compartment they lie. Said again, the later counts.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ConfirmRolloutRig {
    /// The rig's place in the rollout; one that has not changed over, with pieces.
    pub id: RolloutRigId,
    /// What is said.
    pub what: RolloutClaim,
    /// How the pieces are marked, or which compartment it is: 1 to 500 characters.
    #[schema(min_length = 1, max_length = 500)]
    pub words: String,
}

impl Act for ConfirmRolloutRig {
    const KIND: &'static str = "rollout_rig.confirm";
    const SUMMARY: &'static str = "Say that a rig's new pieces are marked, or where they lie";
    const DONE: &'static str = "New set of a rig marked, or its place said";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.words = words(&self.words)?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<RolloutRig>(self.id)?;
        write.reach(stored.scope)?;
        may_rig(RolloutRigAct::Confirm, &stored.record).map_err(Fault::rule)?;
        if stored.record.pieces.is_empty() {
            return Err(Fault::rule("No piece of the new set is assigned to this rig; there is nothing to speak for"));
        }
        let word = Some(RolloutWord {
            at: write.head.at,
            by: write.actor.person(),
            words: Some(self.words),
        });
        let mut plan = stored.record;
        match self.what {
            RolloutClaim::Marked => plan.marked = word,
            RolloutClaim::Stowed => plan.stowed = word,
        }
        write.save(plan, stored.scope)
    }
}
