use std::collections::HashSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Rollout, RolloutId, RolloutRig, ShiftMinimum,
    rules::{RolloutAct, eased, may},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
        patch,
        record::Scope,
    },
    slices::models::{Model, ModelId},
};
use fullset_calc::ratings::Kind;

/// The most rollouts that run at once.
const MOST_OPEN: usize = 20;
/// The most models of a set.
const MOST_MODELS: usize = 40;
/// The most banned adapters.
const MOST_BANNED: usize = 20;
/// The most shifts with a minimum.
const MOST_SHIFTS: usize = 12;
/// The longest name of a shift, in characters.
const MOST_SHIFT_NAME: usize = 40;
/// The most that a shift can be asked for.
const MOST_MEMBERS: u32 = 20;
/// The most rigs of a rollout, and of a week.
pub(super) const MOST_RIGS: u32 = 500;

fn each_once(field: &str, models: &[ModelId], least: usize, most: usize) -> Result<(), Fault> {
    if models.len() < least || models.len() > most {
        return Err(Fault::field(format!("body.{field}"), format!("Name {least} to {most} models")));
    }
    let mut before = HashSet::new();
    match models.iter().position(|id| !before.insert(*id)) {
        Some(at) => Err(Fault::field(format!("body.{field}[{at}]"), "This model stands there twice")),
        None => Ok(()),
    }
}

/// The minimums as they are kept.
fn minimums(given: &mut [ShiftMinimum]) -> Result<(), Fault> {
    if given.is_empty() || given.len() > MOST_SHIFTS {
        return Err(Fault::field("body.minimums", format!("Set a minimum for 1 to {MOST_SHIFTS} shifts")));
    }
    let mut before = HashSet::new();
    for (at, one) in given.iter_mut().enumerate() {
        let field = format!("body.minimums[{at}]");
        one.shift = name(&format!("{field}.shift"), &one.shift)?;
        if one.shift.chars().count() > MOST_SHIFT_NAME {
            return Err(Fault::field(
                format!("{field}.shift"),
                format!("Name the shift in {MOST_SHIFT_NAME} characters: “A shift”"),
            ));
        }
        if !(1..=MOST_MEMBERS).contains(&one.members) {
            return Err(Fault::field(
                format!("{field}.members"),
                format!("Ask for 1 to {MOST_MEMBERS} members of a shift"),
            ));
        }
        if !before.insert(one.shift.to_lowercase()) {
            return Err(Fault::field(format!("{field}.shift"), "This shift stands there twice"));
        }
    }
    Ok(())
}

fn most_a_week(most: Option<u32>) -> Result<(), Fault> {
    match most {
        Some(most) if !(1..=MOST_RIGS).contains(&most) => Err(Fault::field("body.most_a_week", format!("Let 1 to {MOST_RIGS} rigs change over in a week"))),
        _ => Ok(()),
    }
}

/// Holds the models of a rollout to the catalogue: what takes a sign-off names a family, so that the sign-off is one on the new set and not
/// on what it replaces.
fn known(write: &mut Write<'_>, rollout: &Rollout) -> Result<(), Fault> {
    for (at, id) in rollout.models.iter().enumerate() {
        let field = format!("models[{at}]");
        let model = write.named::<Model>(&field, *id)?.record;
        if fullset_care::crew::asks_for_sign_off(model.kind) && model.family.is_none() {
            let words = format!(
                "{} names no family, so that a sign-off on what it replaces would count for it; name one on the model first",
                model.name
            );
            return Err(Fault::field(format!("body.{field}"), words));
        }
    }
    for (at, id) in rollout.replaces.iter().enumerate() {
        let model = write.named::<Model>(&format!("replaces[{at}]"), *id)?.record;
        if rollout.models.contains(id) {
            let words = format!("{} is of the new set; it cannot be what leaves as well", model.name);
            return Err(Fault::field(format!("body.replaces[{at}]"), words));
        }
    }
    for (at, id) in rollout.banned_adapters.iter().enumerate() {
        let field = format!("banned_adapters[{at}]");
        let model = write.named::<Model>(&field, *id)?.record;
        if model.kind != Kind::Adapter {
            return Err(Fault::field(format!("body.{field}"), format!("{} is no adapter", model.name)));
        }
        if rollout.models.contains(id) {
            return Err(Fault::field(
                format!("body.{field}"),
                format!("{} is of the new set; it cannot be banned as well", model.name),
            ));
        }
    }
    Ok(())
}

/// Starts a rollout: which models of a new set take the place of which old ones, and what each shift must have before a rig changes over.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct StartRollout {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: RolloutId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// The models of the new set, each once, 1 to 40; what is driven or does the work names a family.
    #[schema(min_items = 1, max_items = 40)]
    pub models: Vec<ModelId>,
    /// The models of the old set, each once, 1 to 40; none of the new set.
    #[schema(min_items = 1, max_items = 40)]
    pub replaces: Vec<ModelId>,
    /// The minimum of each shift, 1 to 12.
    #[schema(min_items = 1, max_items = 12)]
    pub minimums: Vec<ShiftMinimum>,
    /// Models of adapters that are banned from the rigs of the rollout while it runs, each once, at most 20.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub banned_adapters: Vec<ModelId>,
    /// How many rigs are planned for one week at most: 1 to 500; left out: no limit.
    #[serde(default)]
    #[schema(minimum = 1, maximum = 500)]
    pub most_a_week: Option<u32>,
    /// What else is worth knowing: 1 to 4,000 characters.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for StartRollout {
    const KIND: &'static str = "rollout.start";
    const SUMMARY: &'static str = "Start the rollout of a new set";
    const DONE: &'static str = "Rollout started";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = name("body.name", &self.name)?;
        each_once("models", &self.models, 1, MOST_MODELS)?;
        each_once("replaces", &self.replaces, 1, MOST_MODELS)?;
        each_once("banned_adapters", &self.banned_adapters, 0, MOST_BANNED)?;
        minimums(&mut self.minimums)?;
        most_a_week(self.most_a_week)?;
        self.note = self.note.as_deref().map(|note| text("body.note", note)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Rollout>(self.id)?;
        let open = write.all::<Rollout>()?.into_iter().filter(|stored| stored.record.is_open()).count();
        if open >= MOST_OPEN {
            return Err(Fault::rule(format!("{MOST_OPEN} rollouts run, which is the most; close one first")));
        }
        let rollout = Rollout {
            id: self.id,
            name: self.name,
            models: self.models,
            replaces: self.replaces,
            minimums: self.minimums,
            banned_adapters: self.banned_adapters,
            most_a_week: self.most_a_week,
            note: self.note,
            started_by: write.actor.person(),
            started_at: write.head.at,
            closed_at: None,
            closed_by: None,
            closing_note: None,
            allows: Vec::new(),
            rev: 0,
        };
        known(write, &rollout)?;
        write.save(rollout, Scope::default())
    }
}

/// Changes the plan of a rollout that runs. Which models are new and which leave never changes: that is another rollout.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditRollout {
    /// The rollout to change; what is left out stays.
    pub id: RolloutId,
    /// Its new name: 1 to 200 characters.
    pub name: Option<String>,
    /// The minimum of each shift, all of them, 1 to 12. To ask less needs a reason.
    #[schema(min_items = 1, max_items = 12)]
    pub minimums: Option<Vec<ShiftMinimum>>,
    /// Models of adapters that are banned, all of them, each once, at most 20. To ban fewer needs a reason.
    #[schema(max_items = 20)]
    pub banned_adapters: Option<Vec<ModelId>>,
    /// How many rigs are planned for one week at most: 1 to 500; null for no limit. Rigs that are planned stay so.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<u32>, minimum = 1, maximum = 500)]
    pub most_a_week: Option<Option<u32>>,
    /// What else is worth knowing: 1 to 4,000 characters; null for nothing.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub note: Option<Option<String>>,
    /// Why; the journal keeps it. Needed where it asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditRollout {
    const KIND: &'static str = "rollout.edit";
    const SUMMARY: &'static str = "Change what a rollout asks of the shifts, and which adapters it bans";
    const DONE: &'static str = "Rollout changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rollout");

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        self.name = self.name.as_deref().map(|given| name("body.name", given)).transpose()?;
        self.minimums.as_deref_mut().map_or(Ok(()), minimums)?;
        self.banned_adapters
            .as_deref()
            .map_or(Ok(()), |banned| each_once("banned_adapters", banned, 0, MOST_BANNED))?;
        most_a_week(self.most_a_week.flatten())?;
        if let Some(Some(note)) = &mut self.note {
            *note = text("body.note", note)?;
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Rollout>(self.id)?;
        write.expects(&stored)?;
        may(RolloutAct::Edit, &stored.record).map_err(Fault::rule)?;
        let mut rollout = stored.record;
        if let Some(minimums) = self.minimums {
            for words in eased(&rollout.minimums, &minimums) {
                write.note_eased(words);
            }
            rollout.minimums = minimums;
        }
        if let Some(banned) = self.banned_adapters {
            for dropped in rollout.banned_adapters.iter().filter(|known| !banned.contains(known)) {
                let model = write.find::<Model>(*dropped)?.record;
                write.note_eased(format!("lifts the ban of {}", model.name));
            }
            rollout.banned_adapters = banned;
        }
        rollout.name = self.name.unwrap_or(rollout.name);
        rollout.most_a_week = self.most_a_week.unwrap_or(rollout.most_a_week);
        rollout.note = self.note.unwrap_or(rollout.note);
        known(write, &rollout)?;
        write.save(rollout, stored.scope)
    }
}

/// Closes a rollout all of whose rigs have changed over or were taken out of it. What stands open of the old set stays to be read.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseRollout {
    /// The rollout to close; one that runs.
    pub id: RolloutId,
    /// What is to be said at its end: 1 to 4,000 characters.
    pub note: String,
}

impl Act for CloseRollout {
    const KIND: &'static str = "rollout.close";
    const SUMMARY: &'static str = "Close a rollout";
    const DONE: &'static str = "Rollout closed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rollout");
    const PERSONAL: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Rollout>(self.id)?;
        write.expects(&stored)?;
        may(RolloutAct::Close, &stored.record).map_err(Fault::rule)?;
        let rigs = write.of_parent::<RolloutRig>(self.id)?;
        let waiting: Vec<String> = rigs
            .into_iter()
            .filter(|rig| rig.record.changed_over.is_none())
            .map(|rig| rig.record.rig_name)
            .collect();
        if let Some(first) = waiting.first() {
            let more = match waiting.len() - 1 {
                0 => String::new(),
                more => format!(" and {more} more"),
            };
            return Err(Fault::rule(format!(
                "{first}{more} did not change over yet; change over what is planned, or take it out of the rollout first"
            )));
        }
        let rollout = Rollout {
            closed_at: Some(write.head.at),
            closed_by: Some(write.actor.person()),
            closing_note: Some(text("body.note", &self.note)?),
            ..stored.record
        };
        write.save(rollout, stored.scope)
    }
}
