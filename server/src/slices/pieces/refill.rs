use fullset_calc::hookup::Fluid;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Piece, PieceId, PieceState,
    condition::put,
    fluids::refuse_mix,
    ops::own_serial,
    rules::{FluidChange, may_change_fluid},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
    },
    slices::{
        models::{Model, ModelId},
        rigs::RigId,
    },
};

/// Records that a piece was flushed and holds another fluid from now on. It stays out of service until a person returns it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RefillPiece {
    /// The piece; it is out of service.
    pub id: PieceId,
    /// The model that it is from now on: of the same kind, with the new fluid.
    pub model: ModelId,
    /// Who flushed it, by what instruction of the maker, and why; up to 4,000 characters.
    pub reason: String,
    /// The paper of the maker's service, where it did the flushing: it stands for the shop's word.
    pub makers_service: Option<String>,
}

impl Act for RefillPiece {
    const KIND: &'static str = "piece.refill";
    const SUMMARY: &'static str = "Record that the shop has flushed a piece and filled it with another fluid";
    const DONE: &'static str = "Flushed and filled with another fluid by the shop";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("piece");

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        text("body.reason", &self.reason)?;
        let paper = self.makers_service.map(|paper| name("body.makers_service", &paper)).transpose()?;
        let before = write.find::<Model>(stored.record.model)?.record;
        let after = write.named::<Model>("model", self.model)?.record;
        let change = FluidChange {
            tag: &stored.record.tag,
            before: before.hookup.fluid.map(Fluid::name),
            after: after.hookup.fluid.map(Fluid::name),
            same_kind: before.kind == after.kind,
            out_of_service: stored.record.state == PieceState::OutOfService,
            role: write.actor.role,
            by_makers_service: paper.is_some(),
        };
        may_change_fluid(change).map_err(Fault::rule)?;
        let piece = Piece {
            model: self.model,
            ..stored.record
        };
        own_serial(write, &piece)?;
        if let Some(rig) = stored.scope.rig {
            refuse_mix(write, &piece, RigId(rig)).map_err(|fault| fault.at("body.model"))?;
        }
        put(write, Some(stored.scope), piece)
    }
}
