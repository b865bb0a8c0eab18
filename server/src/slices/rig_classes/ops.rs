use std::collections::BTreeSet;

use fullset_calc::{
    capability::{Complement, Level},
    ratings::Kind,
};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{RigClass, RigClassId, rules};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, each_once, name},
        error::Fault,
        patch,
        record::Scope,
    },
    slices::models::sourced,
};

/// Adds a rig class.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddRigClass {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: RigClassId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// What its rigs must carry.
    pub complement: Complement,
    /// The level that its rigs are expected to reach: limited, full or heavy.
    pub expects: Option<Level>,
}

fn expected(level: Option<Level>) -> Result<(), Fault> {
    match level {
        Some(Level::NotJudged | Level::None) => Err(Fault::field("body.expects", "Rigs are expected to reach limited, full or heavy")),
        _ => Ok(()),
    }
}

/// The most slots that a complement may have.
const MOST_SLOTS: usize = 40;

fn sound(complement: &Complement) -> Result<(), Fault> {
    if complement.slots.is_empty() || complement.slots.len() > MOST_SLOTS {
        return Err(Fault::field("body.complement.slots", format!("A complement has from 1 to {MOST_SLOTS} slots")));
    }
    let mut ids = BTreeSet::new();
    for (at, slot) in complement.slots.iter().enumerate() {
        name(&format!("body.complement.slots[{at}].id"), &slot.id)?;
        name(&format!("body.complement.slots[{at}].name"), &slot.name)?;
        if !ids.insert(slot.id.as_str()) {
            return Err(Fault::field(
                format!("body.complement.slots[{at}].id"),
                format!("Another slot is called '{}' already", slot.id),
            ));
        }
        if slot.kinds.is_empty() {
            return Err(Fault::field(
                format!("body.complement.slots[{at}].kinds"),
                "A slot asks for one kind of piece at least",
            ));
        }
        each_once(&format!("body.complement.slots[{at}].kinds"), &slot.kinds, Kind::ALL.len(), "kind")?;
        if slot.kinds.contains(&Kind::Accessory) != slot.gear.is_some() {
            return Err(Fault::field(
                format!("body.complement.slots[{at}].gear"),
                "A slot for an accessory names which one, and only such a slot does",
            ));
        }
        sourced(&format!("body.complement.slots[{at}].minimums"), &slot.minimums)?;
        if let Some(fault) = slot.minimums.minimum_faults(&slot.kinds).into_iter().next() {
            let field = format!("body.complement.slots[{at}].minimums.{}", fault.term.name());
            return Err(Fault {
                hint: fault.hint,
                ..Fault::field(field, fault.reason)
            });
        }
    }
    Ok(())
}

impl Act for AddRigClass {
    const KIND: &'static str = "rig_class.add";
    const SUMMARY: &'static str = "Add a rig class with its complement";
    const DONE: &'static str = "Rig class added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        expected(self.expects)?;
        sound(&self.complement)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<RigClass>(self.id)?;
        write.save(
            RigClass {
                id: self.id,
                name: name("body.name", &self.name)?,
                complement: self.complement,
                expects: self.expects,
                rev: 0,
            },
            Scope::default(),
        )
    }
}

/// Changes a rig class. Every rig is worked out again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditRigClass {
    /// The rig class to change; what is left out stays.
    pub id: RigClassId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New complement of 1 to 40 slots, which replaces the old one whole; left out: that stays.
    pub complement: Option<Complement>,
    /// New expected level; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Level>)]
    pub expects: Option<Option<Level>>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditRigClass {
    const KIND: &'static str = "rig_class.edit";
    const SUMMARY: &'static str = "Change a rig class or its complement";
    const DONE: &'static str = "Rig class changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rig_class");

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn prepare(&mut self) -> Result<(), Fault> {
        expected(self.expects.flatten())?;
        self.complement.as_ref().map_or(Ok(()), sound)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<RigClass>(self.id)?;
        write.expects(&stored)?;
        let before = stored.record.clone();
        let mut class = stored.record;
        if let Some(given) = self.name {
            class.name = name("body.name", &given)?;
        }
        let same = self.complement.is_none() && self.expects.is_none();
        class.expects = self.expects.unwrap_or(class.expects);
        class.complement = self.complement.unwrap_or(class.complement);
        for words in rules::eased(&before, &class) {
            write.note_eased(words);
        }
        write.save(class, Scope::default())?;
        if same { Ok(()) } else { write.reconsider_all() }
    }
}
