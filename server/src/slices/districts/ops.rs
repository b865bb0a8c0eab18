use serde::Deserialize;
use utoipa::ToSchema;

use super::{District, DistrictId};
use crate::platform::{
    door::{Act, Permission, Reach, RevisionNeed, Write, name},
    error::Fault,
    record::Scope,
};

/// Adds a district.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddDistrict {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: DistrictId,
    /// Its name: 1 to 200 characters, without the spaces around it.
    pub name: String,
    /// How many full rigs it needs at least.
    #[serde(default = "one")]
    pub min_full: u32,
}

fn one() -> u32 {
    1
}

fn scope(id: DistrictId) -> Scope {
    Scope {
        district: Some(id.0),
        ..Scope::default()
    }
}

impl Act for AddDistrict {
    const KIND: &'static str = "district.add";
    const SUMMARY: &'static str = "Add a district";
    const DONE: &'static str = "District added";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::WholeAgency;
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<District>(self.id)?;
        let district = District {
            id: self.id,
            name: name("body.name", &self.name)?,
            min_full: self.min_full,
            rev: 0,
        };
        write.save(district, scope(self.id))
    }
}

/// Changes a district.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditDistrict {
    /// The district to change; what is left out stays.
    pub id: DistrictId,
    /// Its new name: 1 to 200 characters, without the spaces around it.
    pub name: Option<String>,
    /// New least number of full rigs.
    pub min_full: Option<u32>,
}

impl Act for EditDistrict {
    const KIND: &'static str = "district.edit";
    const SUMMARY: &'static str = "Change a district's name or its least number of full rigs";
    const DONE: &'static str = "District changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("district");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<District>(self.id)?;
        write.decide_for(stored.scope)?;
        write.expects(&stored)?;
        let mut district = stored.record;
        if let Some(given) = self.name {
            district.name = name("body.name", &given)?;
        }
        district.min_full = self.min_full.unwrap_or(district.min_full);
        write.save(district, scope(self.id))
    }
}
