use std::collections::BTreeSet;

use fullset_calc::capability::Complement;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{ClassId, RigClass};
use crate::{
    platform::{
        door::{Act, Permission, Write, name},
        error::Fault,
        record::Scope,
    },
    slices::models::sourced,
};

/// Adds a rig class.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddClass {
    /// Its id, made by the client.
    pub id: ClassId,
    /// Its name.
    pub name: String,
    /// What its rigs must carry.
    pub complement: Complement,
}

/// The most slots that a complement may have.
const MOST_SLOTS: usize = 40;

fn sound(complement: &Complement) -> Result<(), Fault> {
    if complement.slots.is_empty() || complement.slots.len() > MOST_SLOTS {
        return Err(Fault::field("body.complement.slots", format!("A complement has from 1 to {MOST_SLOTS} slots")));
    }
    if complement.simultaneous_min > 20 {
        return Err(Fault::field(
            "body.complement.simultaneous_min",
            "This is the number of tools that must run at once, 20 at most",
        ));
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

impl Act for AddClass {
    const KIND: &'static str = "class.add";
    const SUMMARY: &'static str = "Add a rig class with its complement";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        sound(&self.complement)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<RigClass>(self.id)?;
        write.save(
            RigClass {
                id: self.id,
                name: name("body.name", &self.name)?,
                complement: self.complement,
                rev: 0,
            },
            Scope::default(),
        )
    }
}

/// Changes a rig class. Every rig is worked out again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditClass {
    /// The class.
    pub id: ClassId,
    /// New name.
    pub name: Option<String>,
    /// New complement, whole.
    pub complement: Option<Complement>,
}

impl Act for EditClass {
    const KIND: &'static str = "class.edit";
    const SUMMARY: &'static str = "Change a rig class or its complement";
    const NEEDS: &'static [Permission] = &[Permission::Plan];

    fn prepare(&mut self) -> Result<(), Fault> {
        self.complement.as_ref().map_or(Ok(()), sound)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<RigClass>(self.id)?;
        write.expects(&stored)?;
        let mut class = stored.record;
        if let Some(given) = self.name {
            class.name = name("body.name", &given)?;
        }
        let same = self.complement.is_none();
        class.complement = self.complement.unwrap_or(class.complement);
        write.save(class, Scope::default())?;
        if same { Ok(()) } else { write.reconsider_all() }
    }
}
