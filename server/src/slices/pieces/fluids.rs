//! Fluids are never mixed, whatever act would put two of them together: refused here for every door by which a piece comes aboard, and
//! for what would change the fluid that is on record.

use fullset_calc::{
    capability::{Wet, would_mix},
    hookup::Mates,
    ratings::Kind,
};

use super::{
    Piece, PieceState,
    rules::{FluidChange, may_change_fluid},
};
use crate::{
    platform::{
        door::{Stored, Write},
        error::Fault,
    },
    slices::{
        couplings::couplings,
        models::Model,
        rigs::{Rig, RigId},
    },
};

/// Refuses a piece that would be aboard a rig, or on its way there, with something that it could be joined to and that holds
/// another fluid.
pub fn refuse_mix(write: &mut Write<'_>, piece: &Piece, rig: RigId) -> Result<(), Fault> {
    let aboard = write.on_rig::<Piece>(rig)?;
    refuse_mix_with(write, piece, rig, &aboard)
}

/// The same, of what was aboard before.
pub(super) fn refuse_mix_with(write: &mut Write<'_>, piece: &Piece, rig: RigId, aboard: &[Stored<Piece>]) -> Result<(), Fault> {
    let own = write.find::<Model>(piece.model)?.record;
    if own.hookup.fluid.is_none() || piece.state == PieceState::Retired {
        return Ok(());
    }
    let mut mates = None;
    for other in aboard.iter().map(|stored| &stored.record) {
        if other.id == piece.id || matches!(other.state, PieceState::Retired | PieceState::Missing) {
            continue;
        }
        let model = write.find::<Model>(other.model)?.record;
        if model.hookup.fluid.is_none() || model.hookup.fluid == own.hookup.fluid {
            continue;
        }
        let mates = match &mates {
            Some(mates) => mates,
            None => mates.insert(Mates::from(&couplings(write)?)),
        };
        if would_mix(wet(&own), wet(&model), mates) {
            let rig = write.look::<Rig>(rig)?.map_or_else(|| "that rig".to_owned(), |rig| rig.record.name);
            return Err(Fault::rule(format!(
                "{} holds another fluid than {}, which it could be joined to on {rig}. Fluids are never mixed",
                piece.tag, other.tag
            ))
            .hint("keep it off that rig; if the two were joined already, report it as a fluid mix: what was aboard is then taken out"));
        }
    }
    Ok(())
}

fn wet(model: &Model) -> Wet<'_> {
    Wet {
        kind: model.kind,
        hookup: &model.hookup,
    }
}

/// Holds a change of the fluid that is on record for a piece to what it needs.
pub(super) fn check_change(write: &mut Write<'_>, piece: &Piece, before: &Model, after: &Model) -> Result<(), Fault> {
    let runs = |kind: Kind| kind.is_source() || kind.is_tool() || kind.is_conduit();
    if piece.state == PieceState::Retired || !runs(before.kind) || before.hookup.fluid == after.hookup.fluid {
        return Ok(());
    }
    let change = FluidChange {
        tag: &piece.tag,
        known: before.hookup.fluid.is_some(),
        out_of_service: piece.state == PieceState::OutOfService,
        role: write.actor.role,
    };
    may_change_fluid(change).map_err(|words| Fault::rule(words).hint("the shop flushes it, or the maker's service does, and then changes the record"))?;
    write.note_eased(format!("changes the fluid on record for {}", piece.tag));
    Ok(())
}
