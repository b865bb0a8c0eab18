use fullset_calc::capability::{Complement, Level};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::record::{Index, Record};

crate::id!(
    /// A rig class.
    RigClassId
);

/// Rigs that must carry the same complement.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct RigClass {
    /// The UUID that the rig class was added under; it never changes.
    pub id: RigClassId,
    /// Its name; no other class has it.
    pub name: String,
    /// What its rigs must carry.
    pub complement: Complement,
    /// The level that its rigs are expected to reach: limited, full or heavy; null: not set, and they stand in no count of
    /// what should be able.
    #[serde(default)]
    #[schema(required)]
    pub expects: Option<Level>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for RigClass {
    const KIND: &'static str = "rig_class";
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
