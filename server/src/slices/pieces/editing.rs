use chrono::NaiveDate;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Piece, PieceId, Place, check_dates, check_place,
    condition::{awaited, put},
    dates::{ServiceDay, service_day},
    fluids::{check_change, refuse_mix},
    ops::{fixed, optional, own_serial},
};
use crate::{
    platform::{
        door::{Act, Permission, Write, text},
        error::Fault,
        patch,
    },
    slices::{
        models::{Model, ModelId},
        rigs::RigId,
    },
};

/// Changes what the register says of a piece. The shop changes its model alone, to one of another fluid, when it has flushed it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditPiece {
    /// The piece.
    pub id: PieceId,
    /// New model.
    pub model: Option<ModelId>,
    /// New serial number; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub serial: Option<Option<String>>,
    /// New date of make; null for unknown.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<NaiveDate>)]
    pub made_on: Option<Option<NaiveDate>>,
    /// New first day of service; null for unknown.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<NaiveDate>)]
    pub in_service_since: Option<Option<NaiveDate>>,
    /// New day of the last annual service; null for never.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<NaiveDate>)]
    pub last_service_on: Option<Option<NaiveDate>>,
    /// Of a hose: the source that it is fixed to; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<PieceId>)]
    pub fixed_to: Option<Option<PieceId>>,
    /// New home; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Place>)]
    pub home: Option<Option<Place>>,
    /// New note; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub note: Option<Option<String>>,
    /// Why; the journal keeps it. Needed where it lets something count that did not, or asks for less; up to 4,000 characters.
    pub reason: Option<String>,
}

impl Act for EditPiece {
    const KIND: &'static str = "piece.edit";
    const SUMMARY: &'static str = "Change what the register says of a piece";
    const NEEDS: &'static [Permission] = &[Permission::Plan, Permission::Repair];
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.expects(&stored)?;
        write.reach(stored.scope)?;
        if !write.actor.role.grants(Permission::Plan) && !self.names_model_alone() {
            write.allowed(Permission::Plan)?;
        }
        awaited(write, &stored.record);
        let before = stored.record.clone();
        let mut piece = stored.record;
        if let Some(model) = self.model.filter(|model| *model != before.model) {
            remodel(write, &mut piece, model)?;
        }
        if let Some(Some(home)) = &self.home {
            check_place(write, "home", home)?;
        }
        if let Some(serial) = self.serial {
            piece.serial = optional("body.serial", serial)?;
        }
        let note = self.note.map(|note| note.map(|note| text("body.note", &note)).transpose()).transpose()?;
        piece.note = note.unwrap_or(piece.note);
        piece.made_on = self.made_on.unwrap_or(piece.made_on);
        piece.in_service_since = self.in_service_since.unwrap_or(piece.in_service_since);
        piece.last_service_on = self.last_service_on.unwrap_or(piece.last_service_on);
        piece.home = self.home.unwrap_or(piece.home);
        piece.fixed_to = self.fixed_to.unwrap_or(piece.fixed_to);
        fixed(write, &piece)?;
        check_dates(write, &piece)?;
        check_service_day(write, &before, &piece)?;
        if (piece.model, &piece.serial) != (before.model, &before.serial) {
            own_serial(write, &piece)?;
        }
        if let Some(rig) = stored.scope.rig.filter(|_| piece.model != before.model) {
            refuse_mix(write, &piece, RigId(rig)).map_err(|fault| fault.at("body.model"))?;
        }
        awaited(write, &piece);
        put(write, Some(stored.scope), piece)
    }
}

impl EditPiece {
    /// Whether nothing but the model is changed.
    fn names_model_alone(&self) -> bool {
        let dates = self.made_on.is_none() && self.in_service_since.is_none() && self.last_service_on.is_none();
        let rest = self.serial.is_none() && self.fixed_to.is_none() && self.home.is_none() && self.note.is_none();
        self.model.is_some() && dates && rest
    }
}

/// Makes the piece one of another model. Who keeps no register may do so only where the fluid is another then.
fn remodel(write: &mut Write<'_>, piece: &mut Piece, model: ModelId) -> Result<(), Fault> {
    let before = write.find::<Model>(piece.model)?.record;
    let after = write.named::<Model>("model", model)?.record;
    if before.hookup.fluid == after.hookup.fluid {
        write.allowed(Permission::Plan)?;
    }
    check_change(write, piece, &before, &after)?;
    (piece.model, piece.kind) = (model, after.kind);
    Ok(())
}

/// Holds the day of the last annual service to what another one needs.
fn check_service_day(write: &mut Write<'_>, before: &Piece, after: &Piece) -> Result<(), Fault> {
    match service_day(before.last_service_on, after.last_service_on) {
        ServiceDay::Free => Ok(()),
        ServiceDay::NeedsReason => {
            write.note_eased(format!("puts a service of {} on record of which nobody knew", after.tag));
            Ok(())
        }
        ServiceDay::NeedsEvidence => Err(Fault::rule(format!(
            "A later service of {} is not typed in: it is recorded with what was measured, and by whom",
            after.tag
        ))
        .at("body.last_service_on")
        .hint("record the service itself, with `piece.serviced` or on its ticket")),
    }
}
