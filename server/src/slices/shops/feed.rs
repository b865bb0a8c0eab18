use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::record::{Index, Record};

crate::id!(
    /// A shop.
    ShopId
);

/// A repair shop of the agency.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Shop {
    /// The UUID that the shop was added under; it never changes.
    pub id: ShopId,
    /// Its name; no other shop has it.
    pub name: String,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Shop {
    const KIND: &'static str = "shop";
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
