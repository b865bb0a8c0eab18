//! Fluids are never mixed, whatever act would put two of them together: refused here for every door by which a piece comes aboard, and
//! for what would change the fluid that is on record.

use fullset_calc::{
    capability::{Wet, would_mix},
    hookup::Mates,
};

use super::{Piece, PieceState, rules::kept};
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
/// another fluid. What is kept for a rig's changeover goes aboard none before it: nobody there need be signed off on it.
pub fn refuse_mix(write: &mut Write<'_>, piece: &Piece, rig: RigId) -> Result<(), Fault> {
    if piece.kept_for.is_some() {
        return Err(Fault::rule(kept(&piece.tag)).hint("change that rig over, or take the piece out of the rollout's plan first"));
    }
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

/// Refuses to type another fluid over the one that is on record for a piece. One that nobody had written down is read from the plate,
/// with a reason.
pub(super) fn refuse_typed(write: &mut Write<'_>, piece: &Piece, before: &Model, after: &Model) -> Result<(), Fault> {
    let runs = before.kind.is_source() || before.kind.is_tool() || before.kind.is_conduit();
    if piece.state == PieceState::Retired || !runs || before.hookup.fluid == after.hookup.fluid {
        return Ok(());
    }
    if before.hookup.fluid.is_some() {
        return Err(
            Fault::rule(format!("{} was filled with the fluid on record, and typing does not change it", piece.tag))
                .hint("take it out of service; when the shop or the maker's service has flushed it, the shop records that with `piece.refill`"),
        );
    }
    write.note_eased(format!("says which fluid {} holds, of which nobody knew", piece.tag));
    Ok(())
}
