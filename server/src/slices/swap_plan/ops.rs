use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use crate::{
    platform::{
        door::{Act, Permission, Reach, Write},
        error::{self, Fault},
    },
    slices::{
        capability::RigStanding,
        pieces::{Piece, PieceId, Place},
        rigs::{Duty, Rig, RigId},
        swaps::{Judged, StartSwap, Swap, SwapId, SwapState},
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
    /// The piece to move, which then stands in on the rig.
    pub piece: PieceId,
    /// The revision of the piece that the plan was made on.
    pub piece_rev: i64,
    /// The rig that gets the piece.
    pub rig: RigId,
    /// For which need of the rig's target grade; null for a piece that is needed behind the scenes.
    pub need: Option<String>,
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
    const DONE: &'static str = "A swap plan was carried out";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.moves.is_empty() || self.moves.len() > MOST {
            return Err(Fault::field("body.moves", format!("A plan has 1 to {MOST} moves")));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        for (at, planned) in self.moves.into_iter().enumerate() {
            let field = |what: &str| format!("body.moves[{at}].{what}");
            still_open(write, &planned).map_err(|fault| fault.at(field("need")))?;
            can_spare(write, &planned).map_err(|fault| fault.at(field("piece")))?;
            let swap = StartSwap {
                id: planned.swap,
                rig: planned.rig,
                piece: planned.piece,
                stands_in_for: None,
                slot: None,
                need: planned.need,
                despite: None,
                on_the_way: Some(self.on_the_way),
            };
            // What the plan proposes is judged as a whole; a piece that comes alone may serve only beside the others.
            swap.start(write, Some(planned.piece_rev), Judged::AsAPlan).map_err(|fault| {
                let what = fault.field.as_deref().and_then(|path| path.strip_prefix("body.")).unwrap_or("piece").to_owned();
                fault.at(field(&what))
            })?;
        }
        Ok(())
    }
}

/// Refuses a move for a need that is met by now, or for which a piece is on its way, since the plan was made.
fn still_open(write: &mut Write<'_>, planned: &PlannedMove) -> Result<(), Fault> {
    let Some(need) = &planned.need else { return Ok(()) };
    let Some(known) = write.look::<RigStanding>(Uuid::from(planned.rig))? else {
        return Ok(());
    };
    let answer = &known.record.answer;
    let what = if answer.level >= answer.target || answer.needs.iter().any(|one| one.need == *need && one.met) {
        "been met"
    } else if is_awaited(write, planned.rig, need)? {
        "got a piece that is on its way"
    } else {
        return Ok(());
    };
    let rig = write.find::<Rig>(planned.rig)?;
    let mut fault = Fault::new(
        error::STALE,
        format!(
            "The need '{need}' of {} has {what} since the plan was made. Make the plan anew",
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
    let Some(known) = write.look::<RigStanding>(Uuid::from(donor))? else {
        return Ok(());
    };
    let stripped = write.find::<Rig>(donor)?.record.duty == Duty::StrippedReserve;
    if stripped || !known.record.answer.critical.contains(&planned.piece.0) {
        return Ok(());
    }
    let mut fault = Fault::new(
        error::STALE,
        format!("{} would drop without this piece by now. Make the plan anew", known.record.rig_name),
    );
    fault.current = Some(serde_json::to_value(&known.record)?);
    Err(fault)
}

/// Whether a stand-in for a need is on its way.
fn is_awaited(write: &mut Write<'_>, rig: RigId, need: &str) -> Result<bool, Fault> {
    for piece in write.on_rig::<Piece>(rig)? {
        if !matches!(piece.record.place, Place::Transit { .. }) {
            continue;
        }
        let swaps = write.of_parent::<Swap>(piece.record.id)?;
        if swaps
            .iter()
            .any(|swap| swap.record.state == SwapState::Open && swap.record.rig == rig && swap.record.need.as_deref() == Some(need))
        {
            return Ok(true);
        }
    }
    Ok(false)
}
