use chrono::NaiveDate;
use fullset_calc::{
    capability::RatedAt,
    hookup::Hookup,
    ratings::{Gear, Kind, Ratings},
};
use fullset_care::{check::MakersBound, life::ServiceLife};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;
use uuid::Uuid;

use crate::platform::record::{Index, Record};

crate::id!(
    /// A model.
    ModelId
);

/// Something unusual about a model.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct ModelWarning {
    /// The field, for example `ratings.mass`.
    pub field: String,
    /// What is unusual about it.
    pub words: String,
}

/// What one piece of a model costs to buy.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ModelPrice {
    /// What one piece costs, in the agency's money: 0.01 to 10,000,000, to the cent.
    #[schema(minimum = 0.01, maximum = 10_000_000)]
    pub amount: f64,
    /// The day of the price: not in the future.
    pub priced_on: NaiveDate,
    /// Whose price it is: an offer, a contract, an invoice; 1 to 200 characters.
    #[schema(min_length = 1, max_length = 200)]
    pub source: String,
}

/// A catalogue entry.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize, ToSchema)]
pub struct Model {
    /// The UUID that the model was added under; it never changes.
    pub id: ModelId,
    /// Its name; no other model of its kind has it.
    pub name: String,
    /// The kind of gear that it is; it never changes.
    pub kind: Kind,
    /// Which accessory it is, for one; null: nobody has said, and it fills no slot.
    #[serde(default)]
    #[schema(required)]
    pub gear: Option<Gear>,
    /// The family of models that are run alike and take a sign-off of their own; null: a sign-off on its kind is enough.
    #[serde(default)]
    #[schema(required)]
    pub family: Option<String>,
    /// What it connects to.
    pub hookup: Hookup,
    /// What it is rated for, at its rated pressure.
    pub ratings: Ratings,
    /// What its maker states for lower pressures, 4 at most; at any other it meets nothing.
    #[serde(default)]
    #[schema(required, max_items = 4)]
    pub rated_at: Vec<RatedAt>,
    /// What its maker's manual names as limits of a test, 20 at most. A check that asks for one that is not here cannot be passed.
    #[serde(default)]
    #[schema(required, max_items = 20)]
    pub makers_bounds: Vec<MakersBound>,
    /// How long its pieces serve by its maker's manual, as a whole and by part; 6 at most. Of a hose the agency's policy holds as well.
    #[serde(default)]
    #[schema(required, max_items = 6)]
    pub service_lives: Vec<ServiceLife>,
    /// What one piece costs to buy; null: nobody has entered it.
    #[serde(default)]
    #[schema(required)]
    pub price: Option<ModelPrice>,
    /// Of a pump: whether it has a dump valve; null: nobody knows, and it is not put under pressure alone.
    #[serde(default)]
    #[schema(required)]
    pub dump_valve: Option<bool>,
    /// What is possible but so unusual that somebody should look at the plate again.
    #[serde(default)]
    #[schema(required)]
    pub warnings: Vec<ModelWarning>,
    /// Revision of the last change.
    pub rev: i64,
}

impl Record for Model {
    const KIND: &'static str = "model";
    const EVERYWHERE: bool = true;

    fn id(&self) -> Uuid {
        self.id.0
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn states() -> Vec<&'static str> {
        Kind::ALL.iter().map(|kind| kind.name()).collect()
    }

    fn index(&self) -> Index {
        Index {
            label: self.name.clone(),
            uniq: Some(format!("{}:{}", self.kind.name(), self.name.to_lowercase())),
            mark: None,
            state: self.kind.name().into(),
            parent: None,
        }
    }
}
