use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Defect, DefectId, DefectState,
    feed::{Repeat, Severity},
};
use crate::{
    platform::{
        door::{Act, Permission, Stored, Write, text},
        error::Fault,
    },
    slices::{
        photos::{PhotoName, named_photos},
        pieces::{Hold, HoldBy, Piece, PieceId, PieceState, put_out, release},
    },
};

/// Reports a defect.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReportDefect {
    /// Its id, made by the client.
    pub id: DefectId,
    /// The piece.
    pub piece: PieceId,
    /// What is wrong, in the crew's own words.
    pub what: String,
    /// Whether the piece can still be used.
    pub severity: Severity,
    /// Up to 8 photos of it, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
}

impl Act for ReportDefect {
    const KIND: &'static str = "defect.report";
    const SUMMARY: &'static str = "Report a defect";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        named_photos("body.photos", &self.photos)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Defect>(self.id)?;
        let stored = write.named::<Piece>("piece", self.piece)?;
        write.reach(stored.scope)?;
        if stored.record.state == PieceState::Retired {
            return Err(Fault::rule(format!("{} is retired; if it is still about, tell the coordinator", stored.record.tag)).at("body.piece"));
        }
        let what = text("body.what", &self.what)?;
        let defect = Defect {
            id: self.id,
            piece: self.piece,
            what: what.clone(),
            severity: self.severity,
            state: DefectState::Open,
            seen_at: write.head.at,
            reported_by: write.actor.name.clone(),
            place: stored.record.place,
            ticket: None,
            photos: self.photos,
            repeats: Vec::new(),
            closed_at: None,
            closed_by: None,
            resolution: None,
            rev: 0,
        };
        write.save(defect, stored.scope)?;
        if self.severity == Severity::OutOfService {
            put_out(
                write,
                self.piece,
                what,
                false,
                Some(Hold {
                    by: HoldBy::Defect,
                    id: self.id.0,
                }),
            )?;
        }
        Ok(())
    }
}

/// The defect, if its piece is within the member's reach. The piece may have moved since the defect was seen: it belongs to
/// those who have the piece now.
fn within_reach(write: &mut Write<'_>, id: DefectId) -> Result<Stored<Defect>, Fault> {
    let stored = write.find::<Defect>(id)?;
    let scope = write.find::<Piece>(stored.record.piece)?.scope;
    write.reach(scope)?;
    Ok(Stored { scope, ..stored })
}

/// Says that an open defect was seen again.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct NoteDefect {
    /// The defect.
    pub id: DefectId,
    /// What was seen.
    pub text: String,
    /// Up to 8 photos of it, by their names. They may be sent before this or after it.
    #[serde(default)]
    #[schema(max_items = 8)]
    pub photos: Vec<PhotoName>,
}

impl Act for NoteDefect {
    const KIND: &'static str = "defect.note";
    const SUMMARY: &'static str = "Say that an open defect was seen again";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];

    fn prepare(&mut self) -> Result<(), Fault> {
        named_photos("body.photos", &self.photos)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = within_reach(write, self.id)?;
        if stored.record.state == DefectState::Closed {
            return Err(Fault::rule("This defect is closed; if it is there again, report it as a new one"));
        }
        let mut defect = stored.record;
        let seen = Repeat {
            at: write.head.at,
            by: write.actor.name.clone(),
            text: text("body.text", &self.text)?,
            photos: self.photos,
        };
        defect.repeats.push(seen);
        defect.repeats.sort_by_key(|repeat| repeat.at);
        write.save(defect, stored.scope)
    }
}

/// Closes a defect: the piece may then be returned to service, by a person.
pub fn close(write: &mut Write<'_>, id: DefectId, resolution: String) -> Result<(), Fault> {
    let stored = write.find::<Defect>(id)?;
    let mut defect = stored.record;
    if defect.state == DefectState::Closed {
        return Ok(());
    }
    defect.state = DefectState::Closed;
    defect.closed_at = Some(write.head.at);
    defect.closed_by = Some(write.actor.name.clone());
    defect.resolution = Some(resolution);
    write.save(defect, stored.scope)
}

/// Closes a defect.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CloseDefect {
    /// The defect.
    pub id: DefectId,
    /// What was done.
    pub resolution: String,
}

impl Act for CloseDefect {
    const KIND: &'static str = "defect.close";
    const SUMMARY: &'static str = "Close a defect; a piece that it put out of service stays so until a person returns it";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = within_reach(write, self.id)?;
        write.expects(&stored)?;
        if stored.record.state == DefectState::Closed {
            return Err(Fault::rule("This defect is closed already"));
        }
        if stored.record.ticket.is_some() {
            return Err(Fault::rule("A repair ticket deals with this defect; it closes with the ticket"));
        }
        close(write, self.id, text("body.resolution", &self.resolution)?)?;
        release(write, stored.record.piece, &[Uuid::from(self.id)], None)
    }
}

/// Ties a defect to the ticket that deals with it, or unties it.
pub fn tie(write: &mut Write<'_>, id: DefectId, piece: PieceId, ticket: Option<Uuid>) -> Result<(), Fault> {
    let stored = write.named::<Defect>("defects", id)?;
    let mut defect = stored.record;
    if defect.piece != piece {
        return Err(Fault::field("body.defects", "This defect is of another piece"));
    }
    if ticket.is_some() && defect.ticket.is_some_and(|tied| Some(tied) != ticket) {
        return Err(Fault::rule("Another ticket deals with this defect already").at("body.defects"));
    }
    defect.ticket = ticket;
    write.save(defect, stored.scope)
}
