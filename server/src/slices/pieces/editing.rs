use chrono::NaiveDate;
use fullset_calc::{plate::MadeOn, ratings::Kind};
use fullset_care::life::PartMade;
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Lender, Piece, PieceAct, PieceId, Place, check_dates,
    condition::{allowed, awaited, put},
    dates::{ServiceDay, service_day},
    fluids::{refuse_mix, refuse_typed},
    ops::{check_parts, counted, fixed, lender, optional, own_serial},
    place::settled_home,
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, text},
        error::Fault,
        patch,
    },
    slices::{
        models::{Model, ModelId},
        rigs::RigId,
    },
};

/// Changes what the register says of a piece.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct EditPiece {
    /// The piece to change; one that is not retired.
    pub id: PieceId,
    /// New model, which may be of another kind; another fluid than the one on record takes `piece.refill`. Left out: it stays.
    pub model: Option<ModelId>,
    /// New serial number; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub serial: Option<Option<String>>,
    /// New date of make, a day or a month; null for unknown.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<MadeOn>)]
    pub made_on: Option<Option<MadeOn>>,
    /// New dates of make of its parts, whole; 6 at most.
    #[schema(max_items = 6)]
    pub parts: Option<Vec<PartMade>>,
    /// Of a battery pack: its charge cycles as read now; up to 100,000; null for unknown.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<u32>, maximum = 100_000)]
    pub cycles: Option<Option<u32>>,
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
    /// New lender, of a piece that is not the agency's own; null: it is.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Lender>)]
    pub lent_by: Option<Option<Lender>>,
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
    const DONE: &'static str = "What the register says was changed";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("piece");
    const RAISE_NEEDS_REASON: bool = true;

    fn reason(&self) -> Option<&str> {
        self.reason.as_deref()
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.reach_kept(stored.scope)?;
        write.expects(&stored)?;
        allowed(PieceAct::Edit, &stored.record)?;
        awaited(write, &stored.record);
        let before = stored.record.clone();
        let mut piece = stored.record;
        if let Some(model) = self.model.filter(|model| *model != before.model) {
            remodel(write, &mut piece, model)?;
        }
        if let Some(Some(home)) = &self.home {
            settled_home(write, home)?;
        }
        if let Some(serial) = self.serial {
            piece.serial = optional("body.serial", serial)?;
        }
        let note = self.note.map(|note| note.map(|note| text("body.note", &note)).transpose()).transpose()?;
        piece.note = note.unwrap_or(piece.note);
        if let Some(lent_by) = self.lent_by {
            piece.lent_by = lent_by.map(lender).transpose()?;
        }
        if let Some(cycles) = self.cycles {
            piece.cycles = cycles.map(|count| counted(write, piece.kind, count)).transpose()?;
        }
        piece.made_on = self.made_on.unwrap_or(piece.made_on);
        piece.parts = self.parts.unwrap_or(piece.parts);
        piece.in_service_since = self.in_service_since.unwrap_or(piece.in_service_since);
        piece.last_service_on = self.last_service_on.unwrap_or(piece.last_service_on);
        piece.home = self.home.unwrap_or(piece.home);
        piece.fixed_to = self.fixed_to.unwrap_or(piece.fixed_to);
        fixed(write, &piece)?;
        check_dates(write, &piece)?;
        check_parts(write, &piece)?;
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

/// Makes the piece one of another model.
fn remodel(write: &mut Write<'_>, piece: &mut Piece, model: ModelId) -> Result<(), Fault> {
    let before = write.find::<Model>(piece.model)?.record;
    let after = write.named::<Model>("model", model)?.record;
    refuse_typed(write, piece, &before, &after).map_err(|fault| fault.at("body.model"))?;
    (piece.model, piece.kind) = (model, after.kind);
    piece.cycles = piece.cycles.take().filter(|_| after.kind == Kind::Battery);
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
