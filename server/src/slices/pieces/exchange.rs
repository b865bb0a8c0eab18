use std::collections::BTreeSet;

use serde::Deserialize;
use utoipa::ToSchema;

use super::{Piece, PieceId, PieceState, Place, fluids::refuse_mix_with, ops::scope_at};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, text},
        error::Fault,
    },
    slices::rigs::{self, Duty, Rig, RigId},
};

/// The most pieces that one exchange moves.
const MOST_PIECES: usize = 200;

/// Exchanges two rigs in one act: the tools move, the reserve rig takes the front line and the station of the other.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ExchangeRigs {
    /// The rig that leaves the front line.
    pub id: RigId,
    /// The reserve rig that takes its place.
    pub to: RigId,
    /// The pieces that go along, up to 200; all that are aboard, unless said.
    #[schema(max_items = 200)]
    pub pieces: Option<Vec<PieceId>>,
    /// Why, in the member's own words.
    pub reason: String,
}

impl Act for ExchangeRigs {
    const KIND: &'static str = "rig.exchange";
    const SUMMARY: &'static str = "Let a reserve rig take another's place, with all its tools or chosen ones, in one act";
    const DONE: &'static str = "A reserve rig took its place, or it took another's";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rig");

    fn prepare(&mut self) -> Result<(), Fault> {
        text("body.reason", &self.reason)?;
        let Some(pieces) = &self.pieces else { return Ok(()) };
        if pieces.len() > MOST_PIECES {
            return Err(Fault::field("body.pieces", format!("Name at most {MOST_PIECES} pieces")));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let from = write.find::<Rig>(self.id)?;
        write.reach(from.scope)?;
        write.expects(&from)?;
        let to = write.named::<Rig>("to", self.to)?;
        write.reach(to.scope).map_err(|fault| fault.at("body.to"))?;
        rigs::may_exchange(&from.record, &to.record)?;
        let aboard: Vec<Stored<Piece>> = write
            .on_rig::<Piece>(self.id)?
            .into_iter()
            .filter(|stored| stored.record.place.rig() == Some(self.id) && stored.record.state != PieceState::Retired)
            .collect();
        let already = write.on_rig::<Piece>(self.to)?;
        let chosen: Option<BTreeSet<PieceId>> = self.pieces.map(|pieces| pieces.into_iter().collect());
        if let Some(stray) = chosen.iter().flatten().find(|id| aboard.iter().all(|stored| stored.record.id != **id)) {
            return Err(Fault::field("body.pieces", format!("The piece {stray} is not aboard {}", from.record.name)));
        }
        let (goes, stays): (Vec<_>, Vec<_>) = aboard
            .into_iter()
            .partition(|stored| chosen.as_ref().is_none_or(|chosen| chosen.contains(&stored.record.id)));
        // The station first, so that the pieces arrive in the right scope.
        let station = from.record.station;
        rigs::put_in_place(write, to, station, Duty::FrontLine)?;
        rigs::put_in_place(write, from, station, rigs::duty_after(stays.len()))?;
        for stored in goes {
            refuse_mix_with(write, &stored.record, self.to, &already)?;
            let place = Place::Rig { rig: self.to };
            let home = stored
                .record
                .home
                .clone()
                .map(|home| if home.rig() == Some(self.id) { place.clone() } else { home });
            let mut piece = Piece { home, ..stored.record };
            piece.put_at(place, write.head.at);
            let scope = scope_at(write, &piece)?;
            write.save(piece, scope)?;
        }
        Ok(())
    }
}
