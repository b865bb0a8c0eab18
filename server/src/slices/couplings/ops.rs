use fullset_calc::hookup::{Couplings, UnderPressure};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Coupling, CouplingId,
    rules::{coupling, list},
};
use crate::platform::{
    door::{Act, Permission, Reach, RevisionNeed, Write},
    error::Fault,
    record::Scope,
};

fn entries(write: &mut Write<'_>) -> Result<Vec<Coupling>, Fault> {
    Ok(write.all::<Coupling>()?.into_iter().map(|stored| stored.record).collect())
}

/// The agency's list, to look names up in.
pub fn couplings(write: &mut Write<'_>) -> Result<Couplings, Fault> {
    Ok(list(&entries(write)?))
}

/// Adds a coupling family to the list.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddCoupling {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: CouplingId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// What else people write for it; 20 at most.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub spellings: Vec<String>,
    /// Families besides its own that it mates with; 20 at most.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub mates_with: Vec<CouplingId>,
    /// Whether a joint of it may be made under pressure; unknown, unless said.
    #[serde(default)]
    pub under_pressure: UnderPressure,
}

impl Act for AddCoupling {
    const KIND: &'static str = "coupling.add";
    const SUMMARY: &'static str = "Add a coupling family to the agency's list";
    const DONE: &'static str = "Coupling family added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Coupling>(self.id)?;
        let draft = Coupling {
            id: self.id,
            name: self.name,
            spellings: self.spellings,
            mates_with: self.mates_with,
            under_pressure: self.under_pressure,
            rev: 0,
        };
        let coupling = coupling(draft, &entries(write)?)?;
        write.save(coupling, Scope::default())
    }
}

/// Changes what else a coupling family is called, what it mates with, or whether it may be joined under pressure. Every
/// rig is worked out again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditCoupling {
    /// The coupling family to change; another name is given by `coupling.rename`.
    pub id: CouplingId,
    /// New spellings, all of them; 20 at most.
    #[schema(max_items = 20)]
    pub spellings: Option<Vec<String>>,
    /// New families that it mates with, all of them; 20 at most. What another family says of this one stays.
    #[schema(max_items = 20)]
    pub mates_with: Option<Vec<CouplingId>>,
    /// Whether a joint of it may be made under pressure.
    pub under_pressure: Option<UnderPressure>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditCoupling {
    const KIND: &'static str = "coupling.edit";
    const SUMMARY: &'static str = "Change a coupling family's spellings and what it mates with";
    const DONE: &'static str = "Coupling family changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("coupling");
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Coupling>(self.id)?;
        write.expects(&stored)?;
        let own = stored.record;
        let draft = Coupling {
            spellings: self.spellings.unwrap_or(own.spellings),
            mates_with: self.mates_with.unwrap_or(own.mates_with),
            under_pressure: self.under_pressure.unwrap_or(own.under_pressure),
            ..own
        };
        let coupling = coupling(draft, &entries(write)?)?;
        write.save(coupling, Scope::default())?;
        write.reconsider_all()
    }
}
