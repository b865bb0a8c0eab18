//! All rigs of an agency at once, with everything that they and the shelves hold: what decisions over several rigs are
//! worked out from. A fixed number of queries, whatever the number of rigs.

use std::collections::{BTreeMap, HashMap};

use fullset_calc::capability::{self as calc, Voice};

use super::load::{Aboard, Catalogue};
use crate::{
    platform::{
        db::Db,
        error::Fault,
        ids::AgencyId,
        record::{self, Record as _, Scope},
    },
    slices::{
        agencies::Policy,
        pieces::{Piece, PieceId, PieceState, Place},
        rigs::{Rig, RigId},
    },
};

/// A piece with where it belongs.
#[derive(Debug)]
pub struct FleetPiece {
    /// The piece.
    pub piece: Piece,
    /// Its revision.
    pub rev: i64,
    /// The district and station where it is.
    pub scope: Scope,
    /// The piece as it is judged.
    pub judged: calc::Piece,
}

/// All rigs and all pieces.
pub struct Fleet {
    catalogue: Catalogue,
    /// The rigs, each with what is aboard.
    pub rigs: BTreeMap<RigId, Aboard>,
    /// Every piece that is not retired, by tag.
    pub pieces: Vec<FleetPiece>,
}

impl std::fmt::Debug for Fleet {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Fleet")
            .field("rigs", &self.rigs.len())
            .field("pieces", &self.pieces.len())
            .finish_non_exhaustive()
    }
}

impl Fleet {
    /// Reads it; none where the agency has not been founded.
    pub fn read(db: &mut Db, agency: AgencyId) -> Result<Option<Self>, Fault> {
        let Some(mut catalogue) = Catalogue::whole(db, agency)? else {
            return Ok(None);
        };
        let mut aboard: HashMap<RigId, Vec<calc::Piece>> = HashMap::new();
        let mut pieces = Vec::new();
        let mut all: Vec<(record::Row, Piece)> = Vec::new();
        for row in record::all(db, agency, Piece::KIND)? {
            let piece: Piece = row.read()?;
            if piece.state != PieceState::Retired {
                all.push((row, piece));
            }
        }
        let ran = catalogue.ran(db, all.iter().map(|(_, piece)| piece))?;
        for (row, piece) in all {
            let judged = catalogue.judged(db, &piece, &ran)?;
            if let Some(rig) = piece.place.rig() {
                aboard.entry(rig).or_default().push(judged.clone());
            }
            pieces.push(FleetPiece {
                rev: row.rev,
                scope: row.scope(),
                piece,
                judged,
            });
        }
        let mut rigs = BTreeMap::new();
        for row in record::all(db, agency, Rig::KIND)? {
            let rig: Rig = row.read()?;
            let class = match rig.rig_class {
                Some(class) => catalogue.class(db, class)?,
                None => None,
            };
            let held = aboard.remove(&rig.id).unwrap_or_default();
            rigs.insert(rig.id, Aboard::of(rig, row.scope(), class, held));
        }
        Ok(Some(Self { catalogue, rigs, pieces }))
    }

    /// Puts what is on its way to a rig aboard, as it will be; answers how many pieces that are. A decision that did not look
    /// ahead would send a second piece after the first.
    pub fn arrive(&mut self) -> usize {
        let mut arrived = 0;
        for held in &self.pieces {
            let Place::Transit { to } = &held.piece.place else { continue };
            if let Some(aboard) = to.rig().and_then(|rig| self.rigs.get_mut(&rig)) {
                aboard.pieces.push(held.judged.clone());
                arrived += 1;
            }
        }
        arrived
    }

    /// The rules that rigs are judged by.
    pub fn rules(&self) -> calc::Rules {
        self.catalogue.rules()
    }

    /// Judges by another policy and other grades from here on: what a decision would do.
    pub fn decide(&mut self, policy: Policy, grades: Option<calc::Grades>) {
        self.catalogue.decide(policy, grades);
    }

    /// Works something out in the agency's units and time zone.
    pub fn speak<T>(&self, work: impl FnOnce(&Voice<'_>) -> T) -> T {
        self.catalogue.speak(work)
    }

    /// A piece by its id.
    pub fn piece(&self, id: PieceId) -> Option<&FleetPiece> {
        self.pieces.iter().find(|held| held.piece.id == id)
    }
}
