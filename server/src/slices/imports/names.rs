//! The words of a register file for a piece's place and state.

use std::collections::HashMap;

use fullset_register::{ReadPlace, RowState};
use uuid::Uuid;

use crate::slices::pieces::{PieceState, Place};

/// The names of an agency's places, by their ids.
#[derive(Default)]
pub struct PlaceNames {
    pub stations: HashMap<Uuid, String>,
    pub rigs: HashMap<Uuid, String>,
    pub shops: HashMap<Uuid, String>,
}

impl PlaceNames {
    /// A place by its name, as a file names it.
    pub fn place(&self, place: &Place) -> ReadPlace {
        let of = |known: &HashMap<Uuid, String>, id: Uuid| known.get(&id).cloned().unwrap_or_default();
        match place {
            Place::Rig { rig } => ReadPlace::Rig { rig: of(&self.rigs, rig.0) },
            Place::Shelf { station } => ReadPlace::Shelf {
                station: of(&self.stations, station.0),
            },
            Place::Shop { shop } => ReadPlace::Shop { shop: of(&self.shops, shop.0) },
            Place::Vendor { name, due_on } => ReadPlace::Vendor {
                name: name.clone(),
                due_on: *due_on,
            },
            Place::Loan { name, due_on } => ReadPlace::Loan {
                name: name.clone(),
                due_on: *due_on,
            },
            Place::Transit { to } => ReadPlace::Transit { to: Box::new(self.place(to)) },
            Place::Retired => ReadPlace::Retired,
        }
    }
}

/// The state of a file: it knows no missing pieces; out of service is the nearest that is true.
pub const fn row_state(state: PieceState) -> RowState {
    match state {
        PieceState::InService => RowState::InService,
        PieceState::OutOfService | PieceState::Missing => RowState::OutOfService,
        PieceState::Retired => RowState::Retired,
    }
}
