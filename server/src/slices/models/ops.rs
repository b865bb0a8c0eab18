use fullset_calc::{
    capability::RatedAt,
    hookup::Hookup,
    ratings::{Gear, Kind, Ratings},
};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Model, ModelId,
    rules::{Draft, model},
};
use crate::{
    platform::{
        door::{Act, Permission, Write},
        error::Fault,
        record::Scope,
    },
    slices::couplings::{Coupling, CouplingId, coupling, couplings},
};

/// Adds a model.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddModel {
    /// Its id, made by the client.
    pub id: ModelId,
    /// Its name.
    pub name: String,
    /// What it is.
    pub kind: Kind,
    /// Which accessory it is, for one.
    pub gear: Option<Gear>,
    /// What it connects to; couplings by a name or spelling of the agency's list.
    #[serde(default)]
    pub hookup: Hookup,
    /// What it is rated for.
    #[serde(default)]
    pub ratings: Ratings,
    /// What its maker states for lower pressures, 4 at most.
    #[serde(default)]
    #[schema(max_items = 4)]
    pub rated_at: Vec<RatedAt>,
}

impl Act for AddModel {
    const KIND: &'static str = "model.add";
    const SUMMARY: &'static str = "Add a model to the catalogue";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Model>(self.id)?;
        let draft = Draft {
            id: self.id,
            name: self.name,
            kind: self.kind,
            gear: self.gear,
            hookup: self.hookup,
            ratings: self.ratings,
            rated_at: self.rated_at,
        };
        let model = model(draft, &couplings(write)?)?;
        write.save(model, Scope::default())
    }
}

/// Changes a model. Every rig is worked out again. Its kind stays: a piece does not turn from a ram into a hose.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditModel {
    /// The model.
    pub id: ModelId,
    /// New name.
    pub name: Option<String>,
    /// New hook-up, whole.
    pub hookup: Option<Hookup>,
    /// New ratings, whole.
    pub ratings: Option<Ratings>,
    /// New ratings at lower pressures, whole.
    #[schema(max_items = 4)]
    pub rated_at: Option<Vec<RatedAt>>,
    /// Which accessory it is.
    pub gear: Option<Gear>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditModel {
    const KIND: &'static str = "model.edit";
    const SUMMARY: &'static str = "Change a model's name, hook-up or ratings";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Model>(self.id)?;
        write.expects(&stored)?;
        let same = self.hookup.is_none() && self.ratings.is_none() && self.rated_at.is_none() && self.gear.is_none();
        let own = stored.record;
        let draft = Draft {
            id: own.id,
            name: self.name.unwrap_or(own.name),
            kind: own.kind,
            gear: self.gear.or(own.gear),
            hookup: self.hookup.unwrap_or(own.hookup),
            ratings: self.ratings.unwrap_or(own.ratings),
            rated_at: self.rated_at.unwrap_or(own.rated_at),
        };
        let model = model(draft, &couplings(write)?)?;
        write.save(model, Scope::default())?;
        if same { Ok(()) } else { write.reconsider_all() }
    }
}

/// Gives a coupling family another name. The old name stays as a spelling, and the models that carry it carry the new one.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RenameCoupling {
    /// The coupling.
    pub id: CouplingId,
    /// New name.
    pub name: String,
}

impl Act for RenameCoupling {
    const KIND: &'static str = "coupling.rename";
    const SUMMARY: &'static str = "Give a coupling family another name";
    const NEEDS: &'static [Permission] = &[Permission::Plan];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Coupling>(self.id)?;
        write.expects(&stored)?;
        let before = stored.record.name.clone();
        let others: Vec<Coupling> = write.all::<Coupling>()?.into_iter().map(|stored| stored.record).collect();
        let mut draft = Coupling {
            name: self.name,
            ..stored.record
        };
        draft.spellings.push(before.clone());
        let renamed = coupling(draft, &others)?;
        let name = renamed.name.clone();
        write.save(renamed, Scope::default())?;
        for stored in write.all::<Model>()? {
            let mut model = stored.record;
            let hookup = &mut model.hookup;
            let mut changed = false;
            for written in [&mut hookup.coupling, &mut hookup.tool_coupling]
                .into_iter()
                .flatten()
                .filter(|written| **written == before)
            {
                written.clone_from(&name);
                changed = true;
            }
            if changed {
                write.save(model, stored.scope)?;
            }
        }
        write.reconsider_all()
    }
}
