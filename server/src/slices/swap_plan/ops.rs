use std::collections::HashSet;

use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        door::{Act, Permission, Write},
        error::{self, Fault},
    },
    slices::{
        capability::Capability,
        pieces::{Piece, PieceId, Place},
        rigs::{Rig, RigId},
        swaps::{StartSwap, Swap, SwapId, SwapState},
    },
};

/// The most moves of one plan: as many gaps as a plan is exact for.
const MOST: usize = 100;

/// One move of a plan.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct PlannedMove {
    /// The id of the swap that it becomes, made by the client.
    pub swap: SwapId,
    /// The piece.
    pub piece: PieceId,
    /// The revision of the piece that the plan was made on.
    pub piece_rev: i64,
    /// To which rig.
    pub rig: RigId,
    /// Into which slot of the rig's complement; null for a piece that is needed behind the scenes.
    pub slot: Option<String>,
}

/// Turns a swap plan into open swaps: all its moves or none.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CarryOut {
    /// The moves, at most 100.
    #[schema(min_items = 1, max_items = 100)]
    pub moves: Vec<PlannedMove>,
    /// Set when the pieces still have to be driven over: each counts when the far end confirms.
    #[serde(default)]
    pub on_the_way: bool,
}

impl Act for CarryOut {
    const KIND: &'static str = "swap_plan.carry_out";
    const SUMMARY: &'static str = "Turn a swap plan into open swaps, all of its moves or none";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.moves.is_empty() || self.moves.len() > MOST {
            return Err(Fault::field("body.moves", format!("A plan has 1 to {MOST} moves")));
        }
        let mut slots = HashSet::new();
        let mut twice = |planned: &PlannedMove| planned.slot.as_ref().is_some_and(|slot| !slots.insert((planned.rig, slot.clone())));
        if let Some(at) = self.moves.iter().position(&mut twice) {
            return Err(Fault::field(
                format!("body.moves[{at}].slot"),
                "Another move goes into this slot; a slot takes one piece",
            ));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        for (at, planned) in self.moves.into_iter().enumerate() {
            let field = |what: &str| format!("body.moves[{at}].{what}");
            still_open(write, &planned).map_err(|fault| fault.at(field("slot")))?;
            can_spare(write, &planned).map_err(|fault| fault.at(field("piece")))?;
            let swap = StartSwap {
                id: planned.swap,
                rig: planned.rig,
                piece: planned.piece,
                stands_in_for: None,
                slot: planned.slot,
                on_the_way: self.on_the_way,
            };
            swap.start(write, Some(planned.piece_rev)).map_err(|fault| {
                let what = fault.field.as_deref().and_then(|path| path.strip_prefix("body.")).unwrap_or("piece").to_owned();
                fault.at(field(&what))
            })?;
        }
        Ok(())
    }
}

/// Refuses a move into a slot that somebody has filled, or sent a piece to, since the plan was made.
fn still_open(write: &mut Write<'_>, planned: &PlannedMove) -> Result<(), Fault> {
    let Some(slot) = &planned.slot else { return Ok(()) };
    let Some(known) = write.look::<Capability>(Uuid::from(planned.rig))? else {
        return Ok(());
    };
    let mut fillings = known.record.answer.fillings.iter();
    let what = if fillings.any(|filling| filling.slot == *slot && filling.piece.is_some()) {
        "been filled"
    } else if is_awaited(write, planned.rig, slot)? {
        "got a piece that is on its way"
    } else {
        return Ok(());
    };
    let rig = write.find::<Rig>(planned.rig)?;
    let mut fault = Fault::new(
        error::STALE,
        format!(
            "The slot '{slot}' of {} has {what} since the plan was made. Make the plan anew",
            rig.record.name
        ),
    );
    fault.current = Some(serde_json::to_value(&known.record)?);
    Err(fault)
}

/// Refuses to take a piece off a rig that has come to need it since the plan was made.
fn can_spare(write: &mut Write<'_>, planned: &PlannedMove) -> Result<(), Fault> {
    let Some(donor) = write.named::<Piece>("piece", planned.piece)?.record.place.rig() else {
        return Ok(());
    };
    let Some(known) = write.look::<Capability>(Uuid::from(donor))? else {
        return Ok(());
    };
    if !known.record.answer.critical.contains(&planned.piece.0) {
        return Ok(());
    }
    let mut fault = Fault::new(
        error::STALE,
        format!("{} would drop without this piece by now. Make the plan anew", known.record.rig_name),
    );
    fault.current = Some(serde_json::to_value(&known.record)?);
    Err(fault)
}

/// Whether a stand-in for a slot is on its way.
fn is_awaited(write: &mut Write<'_>, rig: RigId, slot: &str) -> Result<bool, Fault> {
    for piece in write.on_rig::<Piece>(rig)? {
        if !matches!(piece.record.place, Place::Transit { .. }) {
            continue;
        }
        let swaps = write.of_parent::<Swap>(piece.record.id)?;
        if swaps
            .iter()
            .any(|swap| swap.record.state == SwapState::Open && swap.record.rig == rig && swap.record.slot.as_deref() == Some(slot))
        {
            return Ok(true);
        }
    }
    Ok(false)
}
