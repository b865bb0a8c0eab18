use fullset_calc::hookup::{UnderPressure, fold};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::record::{Index, Record};

crate::id!(
    /// A coupling family.
    CouplingId
);

/// A coupling family of the agency.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct Coupling {
    /// The UUID that the coupling family was added under; it never changes.
    pub id: CouplingId,
    /// Its name, as models carry it; no other family is called so, whatever the case, blanks and hyphens.
    pub name: String,
    /// What else people write for it; 20 at most.
    #[schema(max_items = 20)]
    pub spellings: Vec<String>,
    /// Families besides its own that it mates with; 20 at most. Said on one side it holds on both.
    #[schema(max_items = 20)]
    pub mates_with: Vec<CouplingId>,
    /// Whether a joint of it may be made under pressure.
    pub under_pressure: UnderPressure,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Coupling {
    const KIND: &'static str = "coupling";
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
            uniq: Some(fold(&self.name)),
            mark: None,
            ..Index::default()
        }
    }
}
