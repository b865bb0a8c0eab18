//! The county's shops, and places on the wire.

use serde_json::{Value, json};
use uuid::Uuid;

use crate::county::{Place, Shop};

/// The ids of the shops; the first one is only known once the agency is there.
#[derive(Debug, Clone, Copy)]
pub struct Shops {
    pub fleet: Uuid,
    pub north: Uuid,
}

impl Shops {
    pub const fn id(&self, shop: Shop) -> Uuid {
        match shop {
            Shop::Fleet => self.fleet,
            Shop::North => self.north,
        }
    }

    /// The place on the wire.
    pub fn place(&self, place: &Place) -> Value {
        match place {
            Place::Rig(rig) => json!({ "at": "rig", "rig": rig }),
            Place::Shelf(station) => json!({ "at": "shelf", "station": station }),
            Place::Shop(shop) => json!({ "at": "shop", "shop": self.id(*shop) }),
            Place::Vendor { name, due_on } => json!({ "at": "vendor", "name": name, "due_on": due_on }),
            Place::Loan { name, due_on } => json!({ "at": "loan", "name": name, "due_on": due_on }),
        }
    }
}
