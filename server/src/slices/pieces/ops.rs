use chrono::NaiveDate;
use fullset_calc::units::Quantity;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{Hold, HoldBy, Piece, PieceId, PieceState, Place, check_dates, check_place};
use crate::{
    platform::{
        door::{Act, Permission, Stored, Write, name, text},
        error::Fault,
        patch,
        record::Scope,
    },
    slices::models::{Model, ModelId},
};

/// Adds a piece.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AddPiece {
    /// Its id, made by the client.
    pub id: PieceId,
    /// Its asset tag.
    pub tag: String,
    /// Its model.
    pub model: ModelId,
    /// The maker's serial number.
    pub serial: Option<String>,
    /// Date of make.
    pub made_on: Option<NaiveDate>,
    /// In service with the agency since.
    pub in_service_since: Option<NaiveDate>,
    /// Its last annual service.
    pub last_service_on: Option<NaiveDate>,
    /// Where it is.
    pub place: Place,
    /// Where it belongs; its place, unless said.
    pub home: Option<Place>,
    /// Free note.
    pub note: Option<String>,
}

/// The scope of the piece where it now is.
pub fn scope_at(write: &mut Write<'_>, piece: &Piece) -> Result<Scope, Fault> {
    check_place(write, "place", &piece.place)
}

/// Saves the piece under the scope of its place; the rigs that it left and reached are worked out again.
fn put(write: &mut Write<'_>, before: Option<Scope>, piece: Piece) -> Result<(), Fault> {
    let scope = scope_at(write, &piece)?;
    for rig in [before.and_then(|before| before.rig), scope.rig].into_iter().flatten() {
        write.reconsider(rig);
    }
    write.save(piece, scope)
}

/// A rig whose piece is out for planned service stands otherwise than one whose piece failed, wherever the piece is.
fn awaited(write: &mut Write<'_>, piece: &Piece) {
    if let Some(rig) = piece.home.as_ref().and_then(Place::rig).filter(|_| piece.planned) {
        write.reconsider(rig);
    }
}

fn optional(field: &str, given: Option<String>) -> Result<Option<String>, Fault> {
    given.filter(|given| !given.trim().is_empty()).map(|given| name(field, &given)).transpose()
}

impl Act for AddPiece {
    const KIND: &'static str = "piece.add";
    const SUMMARY: &'static str = "Add a piece to the register";
    const NEEDS: &'static [Permission] = &[Permission::Plan];
    const CREATES: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Piece>(self.id)?;
        let kind = write.named::<Model>("model", self.model)?.record.kind;
        if let Some(home) = &self.home {
            check_place(write, "home", home)?;
        }
        let piece = Piece {
            id: self.id,
            tag: name("body.tag", &self.tag)?,
            model: self.model,
            kind,
            serial: optional("body.serial", self.serial)?,
            made_on: self.made_on,
            in_service_since: self.in_service_since,
            last_service_on: self.last_service_on,
            state: PieceState::InService,
            state_since: write.head.at,
            state_reason: None,
            state_by: write.actor.name.clone(),
            planned: false,
            holds: Vec::new(),
            home: self.home.or_else(|| Some(self.place.clone())),
            place: self.place,
            fixed_to: None,
            tool_set: None,
            note: self.note.map(|note| text("body.note", &note)).transpose()?,
            rev: 0,
        };
        check_dates(write, &piece)?;
        put(write, None, piece)
    }
}

/// Changes what the register says of a piece.
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
    /// New home; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<Place>)]
    pub home: Option<Option<Place>>,
    /// New note; null for none.
    #[serde(default, deserialize_with = "patch::field")]
    #[schema(value_type = Option<String>)]
    pub note: Option<Option<String>>,
}

impl Act for EditPiece {
    const KIND: &'static str = "piece.edit";
    const SUMMARY: &'static str = "Change what the register says of a piece";
    const NEEDS: &'static [Permission] = &[Permission::Plan];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.expects(&stored)?;
        awaited(write, &stored.record);
        let mut piece = stored.record;
        if let Some(model) = self.model {
            (piece.model, piece.kind) = (model, write.named::<Model>("model", model)?.record.kind);
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
        check_dates(write, &piece)?;
        awaited(write, &piece);
        put(write, Some(stored.scope), piece)
    }
}

fn working(stored: Stored<Piece>) -> Result<Stored<Piece>, Fault> {
    if stored.record.state == PieceState::Retired {
        return Err(Fault::rule(format!("{} is retired; nothing more happens to it", stored.record.tag)));
    }
    Ok(stored)
}

/// Takes the piece out of service. What is out already keeps its first time and gets the newer reason; what is out for
/// planned service stays so only until something else is found.
pub fn put_out(write: &mut Write<'_>, piece: PieceId, reason: String, planned: bool, hold: Option<Hold>) -> Result<(), Fault> {
    let stored = working(write.find::<Piece>(piece)?)?;
    awaited(write, &stored.record);
    let mut piece = stored.record;
    piece.planned = planned && (piece.planned || piece.state == PieceState::InService);
    if piece.state == PieceState::InService {
        piece.state = PieceState::OutOfService;
        piece.state_since = write.head.at;
    }
    piece.state_reason = Some(reason);
    piece.state_by = write.actor.name.clone();
    piece.holds.extend(hold);
    awaited(write, &piece);
    put(write, Some(stored.scope), piece)
}

/// Holds the piece for a ticket without changing its state.
pub fn hold(write: &mut Write<'_>, piece: PieceId, hold: Hold) -> Result<(), Fault> {
    let stored = working(write.find::<Piece>(piece)?)?;
    let mut piece = stored.record;
    piece.holds.push(hold);
    put(write, Some(stored.scope), piece)
}

/// Ends holds. The piece stays out of service until a named person returns it: `back` is that person's act, with where the
/// piece then is.
pub fn release(write: &mut Write<'_>, piece: PieceId, ended: &[Uuid], back: Option<Option<Place>>) -> Result<(), Fault> {
    let stored = write.find::<Piece>(piece)?;
    let mut piece = stored.record;
    piece.holds.retain(|hold| !ended.contains(&hold.id));
    if let Some(place) = back {
        if let Some(hold) = piece.holds.first() {
            return Err(Fault::rule(held(&piece, hold)));
        }
        awaited(write, &piece);
        piece.state = PieceState::InService;
        piece.state_since = write.head.at;
        piece.state_reason = None;
        piece.state_by = write.actor.name.clone();
        piece.planned = false;
        piece.place = place.unwrap_or(piece.place);
    }
    put(write, Some(stored.scope), piece)
}

fn held(piece: &Piece, hold: &Hold) -> String {
    match hold.by {
        HoldBy::Defect => format!("{} has an open defect; close it first, saying what was done", piece.tag),
        HoldBy::Ticket => format!("{} is on a repair ticket; it comes back through the ticket, with its test reading", piece.tag),
    }
}

/// Takes a piece out of service.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakePieceOut {
    /// The piece.
    pub id: PieceId,
    /// Why, in the member's own words.
    pub reason: String,
    /// Set when it is for planned service, and nothing is wrong with the piece.
    #[serde(default)]
    pub planned: bool,
}

impl Act for TakePieceOut {
    const KIND: &'static str = "piece.take_out";
    const SUMMARY: &'static str = "Take a piece out of service";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.reach(stored.scope)?;
        let reason = text("body.reason", &self.reason)?;
        put_out(write, self.id, reason, self.planned, None)
    }
}

/// A measured value.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Reading {
    /// What was measured.
    pub what: String,
    /// The value, with its unit.
    pub value: Quantity,
}

/// Returns a piece to service. The journal names who did it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReturnPiece {
    /// The piece.
    pub id: PieceId,
    /// What was done and found.
    pub note: String,
    /// What was measured, where something was.
    pub reading: Option<Reading>,
}

impl Act for ReturnPiece {
    const KIND: &'static str = "piece.return";
    const SUMMARY: &'static str = "Return a piece to service";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = working(write.find::<Piece>(self.id)?)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        text("body.note", &self.note)?;
        if let Some(reading) = &self.reading {
            name("body.reading.what", &reading.what)?;
            if !reading.value.value.is_finite() {
                return Err(Fault::field("body.reading.value", "A reading is a number"));
            }
        }
        if stored.record.state == PieceState::InService {
            return Err(Fault::rule(format!("{} is in service already", stored.record.tag)));
        }
        release(write, self.id, &[], Some(None))
    }
}

/// Moves a piece. Until the far end confirms, it is in transit.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct MovePiece {
    /// The piece.
    pub id: PieceId,
    /// Where to.
    pub to: Place,
    /// Set when it is there already, seen by the member.
    #[serde(default)]
    pub arrived: bool,
}

impl Act for MovePiece {
    const KIND: &'static str = "piece.move";
    const SUMMARY: &'static str = "Send a piece to another place";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = working(write.find::<Piece>(self.id)?)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        if matches!(self.to, Place::Transit { .. } | Place::Retired) {
            return Err(Fault::field(
                "body.to.at",
                "Name where the piece goes; it is in transit by itself, and retiring is an act of its own",
            ));
        }
        check_place(write, "to", &self.to)?;
        let mut piece = stored.record;
        if piece.place == self.to {
            return Err(Fault::rule(format!("{} is there already", piece.tag)));
        }
        piece.place = if self.arrived { self.to } else { Place::Transit { to: Box::new(self.to) } };
        put(write, Some(stored.scope), piece)
    }
}

/// Confirms that a piece in transit has arrived.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ArrivePiece {
    /// The piece.
    pub id: PieceId,
}

impl Act for ArrivePiece {
    const KIND: &'static str = "piece.arrive";
    const SUMMARY: &'static str = "Confirm that a piece in transit has arrived";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = working(write.find::<Piece>(self.id)?)?;
        let mut piece = stored.record;
        let Place::Transit { to } = piece.place else {
            return Err(Fault::rule(format!("{} is not on its way anywhere", piece.tag)));
        };
        // Where it goes may have moved to another station since it left.
        let there = check_place(write, "place", &to)?;
        write.reach(there)?;
        piece.place = *to;
        put(write, Some(stored.scope), piece)
    }
}

/// Takes a piece out of the register for good. Its tag is never used again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RetirePiece {
    /// The piece.
    pub id: PieceId,
    /// Why, and how it was made unusable.
    pub reason: String,
}

impl Act for RetirePiece {
    const KIND: &'static str = "piece.retire";
    const SUMMARY: &'static str = "Retire a piece for good";
    const NEEDS: &'static [Permission] = &[Permission::Plan];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = working(write.find::<Piece>(self.id)?)?;
        write.expects(&stored)?;
        let mut piece = stored.record;
        if let Some(hold) = piece.holds.iter().find(|hold| hold.by == HoldBy::Ticket) {
            return Err(Fault::rule(held(&piece, hold)));
        }
        awaited(write, &piece);
        piece.state = PieceState::Retired;
        piece.state_since = write.head.at;
        piece.state_reason = Some(text("body.reason", &self.reason)?);
        piece.state_by = write.actor.name.clone();
        piece.planned = false;
        piece.place = Place::Retired;
        put(write, Some(stored.scope), piece)
    }
}
