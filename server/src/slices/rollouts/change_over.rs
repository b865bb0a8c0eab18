//! The changeover itself: the old set leaves, the new one comes, in one act.

use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Rollout, RolloutRig, RolloutRigId, RolloutWord, WentTo,
    acts::{running, words},
    facts::Facts,
    rules::{RolloutRigAct, may_rig},
    stages::held_up,
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write},
        error::{Fault, FieldFault},
    },
    slices::{
        pieces::{self, Piece, PieceState, Place},
        rigs::{Rig, RigId},
    },
};

/// The most of the old set that one changeover takes off.
const MOST_OLD: usize = 200;

/// Changes a rig over: everything of the old set that is aboard leaves, and the new set comes aboard, in one act. Refused while anything holds
/// it up; `errors` of the refusal names each thing with its stage.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ChangeOverRig {
    /// The rig's place in the rollout; one that has not changed over.
    pub id: RolloutRigId,
    /// Where the old set goes: a shelf, a shop, a vendor or a borrower. It becomes its home where it is a shelf or a shop.
    pub old_to: Place,
    /// Set when the old set is there already, seen by the member; else it is on its way until somebody there confirms.
    #[serde(default)]
    pub old_arrived: bool,
    /// What else is to be said: 1 to 500 characters.
    #[serde(default)]
    #[schema(min_length = 1, max_length = 500)]
    pub words: Option<String>,
}

impl Act for ChangeOverRig {
    const KIND: &'static str = "rollout_rig.change_over";
    const SUMMARY: &'static str = "Change a rig over from its old set to its new one, in one act";
    const DONE: &'static str = "Changed over to a new set";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("rollout_rig");
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.words = self.words.as_deref().map(words).transpose()?;
        if matches!(self.old_to, Place::Rig { .. } | Place::Transit { .. } | Place::Retired) {
            return Err(Fault::field(
                "body.old_to.at",
                "The old set goes to a shelf, a shop, a vendor or a borrower; what becomes of each piece there is an act of its own",
            ));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<RolloutRig>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        may_rig(RolloutRigAct::ChangeOver, &stored.record).map_err(Fault::rule)?;
        let rollout = running(write, stored.record.rollout, "id")?;
        pieces::destination(write, "old_to", &self.old_to, self.old_arrived)?;
        let old = stands(write, &rollout, &stored.record)?;
        if old.len() > MOST_OLD {
            return Err(Fault::rule(format!(
                "More than {MOST_OLD} pieces of the old set belong to this rig; move some off it first"
            )));
        }
        let mut plan = stored.record;
        plan.changed_over = Some(RolloutWord {
            at: write.head.at,
            by: write.actor.person(),
            words: self.words.clone(),
        });
        plan.went = old
            .iter()
            .filter(|piece| piece.state != PieceState::Missing && piece.place.end().rig() == Some(plan.rig))
            .map(|piece| WentTo {
                piece: piece.id,
                tag: piece.tag.clone(),
                to: self.old_to.clone(),
            })
            .collect();
        let (rig, own) = (plan.rig, plan.pieces.clone());
        // The answer is about what is saved first.
        write.save(plan, stored.scope)?;
        self.take_off(write, rig, &old)?;
        for id in own {
            let place = Place::Rig { rig };
            pieces::carry_over(write, id, Some(place.clone()), Some(place))?;
        }
        Ok(())
    }
}

impl ChangeOverRig {
    /// The old set leaves before anything of the new one comes.
    fn take_off(&self, write: &mut Write<'_>, rig: RigId, old: &[Piece]) -> Result<(), Fault> {
        let place = match self.old_arrived {
            true => self.old_to.clone(),
            false => Place::Transit {
                to: Box::new(self.old_to.clone()),
            },
        };
        let home = Some(self.old_to.clone()).filter(|to| matches!(to, Place::Shelf { .. } | Place::Shop { .. }));
        for piece in old {
            let aboard = piece.state != PieceState::Missing && piece.place.end().rig() == Some(rig);
            let home = if piece.home.as_ref().and_then(Place::rig) == Some(rig) {
                home.clone()
            } else {
                piece.home.clone()
            };
            pieces::carry_over(write, piece.id, aboard.then(|| place.clone()), home)?;
        }
        Ok(())
    }
}

/// Refuses a changeover that something holds up, naming each thing; else what of the old set belongs to the rig.
fn stands(write: &mut Write<'_>, rollout: &Rollout, plan: &RolloutRig) -> Result<Vec<Piece>, Fault> {
    let (agency, now) = (write.agency, write.now());
    let facts = Facts::read(write.reading()?, agency, rollout, now)?;
    let rig = write.find::<Rig>(plan.rig)?.record;
    let (station, shifts) = facts.shifts(rollout, rig.station);
    let stages = facts.stages(rollout, plan, (&station, &shifts));
    let held = held_up(&stages);
    if held.is_empty() {
        return Ok(facts.old_of(plan.rig).into_iter().cloned().collect());
    }
    let words: Vec<&str> = held.iter().map(|(_, words)| *words).collect();
    let mut fault = Fault::rule(format!("{} does not change over yet: {}", rig.name, words.join("; ")));
    fault.errors = held
        .iter()
        .map(|(stage, words)| {
            let stage = serde_json::to_value(stage)?;
            Ok(FieldFault {
                field: format!("stages.{}", stage.as_str().unwrap_or_default()),
                detail: (*words).to_owned(),
            })
        })
        .collect::<Result<_, serde_json::Error>>()?;
    Err(fault)
}
