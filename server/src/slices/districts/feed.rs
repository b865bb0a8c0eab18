use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::record::{Index, Record};

crate::id!(
    /// A district.
    DistrictId
);

/// A group of stations under one chief.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct District {
    /// The UUID that the district was added under; it never changes.
    pub id: DistrictId,
    /// Its name; no other district has it.
    pub name: String,
    /// How many full rigs it needs at least.
    pub min_full: u32,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for District {
    const KIND: &'static str = "district";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(self.name.to_lowercase()),
            mark: None,
            ..Index::default()
        }
    }
}
