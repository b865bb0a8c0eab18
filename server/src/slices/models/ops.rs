use fullset_calc::{
    capability::RatedAt,
    hookup::Hookup,
    ratings::{Gear, Kind, Ratings},
};
use fullset_care::{check::MakersBound, life::ServiceLife};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Model, ModelId, ModelPrice,
    rules::{Draft, model, price},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write},
        error::Fault,
        record::Scope,
    },
    slices::{
        agencies::day_received,
        couplings::{Coupling, CouplingId, coupling, couplings},
    },
};

/// Adds a model.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddModel {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ModelId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// The kind of gear that it is; it cannot be changed later.
    pub kind: Kind,
    /// Which accessory it is, for one.
    pub gear: Option<Gear>,
    /// The family of models that are run alike and take a sign-off of their own, 1 to 200 characters; none: a sign-off on its kind is enough.
    #[serde(default)]
    pub family: Option<String>,
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
    /// What its maker's manual names as limits of a test, 20 at most.
    #[serde(default)]
    #[schema(max_items = 20)]
    pub makers_bounds: Vec<MakersBound>,
    /// How long its pieces serve by its maker's manual; 6 at most.
    #[serde(default)]
    #[schema(max_items = 6)]
    pub service_lives: Vec<ServiceLife>,
    /// Of a pump: whether it has a dump valve.
    #[serde(default)]
    pub dump_valve: Option<bool>,
}

impl Act for AddModel {
    const KIND: &'static str = "model.add";
    const SUMMARY: &'static str = "Add a model to the catalogue";
    const DONE: &'static str = "Model added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Model>(self.id)?;
        let draft = Draft {
            id: self.id,
            name: self.name,
            kind: self.kind,
            gear: self.gear,
            family: self.family,
            hookup: self.hookup,
            ratings: self.ratings,
            rated_at: self.rated_at,
            makers_bounds: self.makers_bounds,
            service_lives: self.service_lives,
            dump_valve: self.dump_valve,
        };
        let model = model(draft, &couplings(write)?)?;
        write.save(model, Scope::default())
    }
}

/// Enters what one piece of a model costs to buy, or takes the price away. Nothing is judged by it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PriceModel {
    /// The model that has the price.
    pub id: ModelId,
    /// What one piece costs; null or left out: no price is known any more.
    #[serde(default)]
    pub price: Option<ModelPrice>,
}

impl Act for PriceModel {
    const KIND: &'static str = "model.price";
    const SUMMARY: &'static str = "Enter what a piece of a model costs";
    const DONE: &'static str = "The model's price was entered";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("model");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Model>(self.id)?;
        write.expects(&stored)?;
        let today = day_received(write)?;
        let price = self.price.map(|given| price(given, today)).transpose()?;
        write.save(Model { price, ..stored.record }, stored.scope)
    }
}

/// Gives a coupling family another name. The old name stays as a spelling, and the models that carry it carry the new one.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RenameCoupling {
    /// The coupling family to rename; the old name stays as a spelling.
    pub id: CouplingId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: String,
}

impl Act for RenameCoupling {
    const KIND: &'static str = "coupling.rename";
    const SUMMARY: &'static str = "Give a coupling family another name";
    const DONE: &'static str = "Coupling family renamed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("coupling");

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
