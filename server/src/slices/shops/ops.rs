use serde::Deserialize;
use utoipa::ToSchema;

use super::{Shop, ShopId};
use crate::platform::{
    door::{Act, Permission, Reach, RevisionNeed, Write, name},
    error::Fault,
    record::Scope,
};

/// Adds a shop.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddShop {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: ShopId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
}

impl Act for AddShop {
    const KIND: &'static str = "shop.add";
    const SUMMARY: &'static str = "Add a shop";
    const DONE: &'static str = "Shop added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Shop>(self.id)?;
        write.save(
            Shop {
                id: self.id,
                name: name("body.name", &self.name)?,
                rev: 0,
            },
            Scope::default(),
        )
    }
}

/// Changes a shop.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditShop {
    /// The shop that gets the new name.
    pub id: ShopId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: String,
}

impl Act for EditShop {
    const KIND: &'static str = "shop.edit";
    const SUMMARY: &'static str = "Change a shop's name";
    const DONE: &'static str = "Shop renamed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("shop");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Shop>(self.id)?;
        write.expects(&stored)?;
        write.save(
            Shop {
                name: name("body.name", &self.name)?,
                ..stored.record
            },
            Scope::default(),
        )
    }
}
