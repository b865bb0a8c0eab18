use chrono::{DateTime, Utc};
use fullset_care::due::{MeterReading, Run};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Use, UseId,
    feed::{UseCheck, UseCorrection},
    rows,
    rules::{CheckFacts, ListFault, may_check, named_once, was_out},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
    },
    slices::{
        pieces::{Piece, PieceId, PieceState, mark_checked, mark_used, unmark_used},
        rigs::{Rig, RigId},
    },
};

fn refused(fault: ListFault) -> Fault {
    Fault::field(fault.field, fault.words)
}

/// Records that pieces of a rig were used. When is the command's `at`.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct RecordUse {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: UseId,
    /// The rig whose pieces were used: any of the agency.
    pub rig: RigId,
    /// The pieces that were used; they need not be aboard any more.
    #[schema(min_items = 1, max_items = 200)]
    pub pieces: Vec<PieceId>,
    /// What for, in the crew's own words.
    pub what: Option<String>,
    /// The agency's own number of the incident.
    pub incident: Option<String>,
    /// How long, in minutes: up to a day.
    #[schema(minimum = 1, maximum = 1440)]
    pub minutes: Option<u32>,
}

impl Act for RecordUse {
    const KIND: &'static str = "use.record";
    const SUMMARY: &'static str = "Record that pieces of a rig were used";
    const DONE: &'static str = "Used";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Anywhere("what was used was used, whoever says so");
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        named_once(&self.pieces).map_err(refused)?;
        if self.minutes.is_some_and(|minutes| !(1..=1440).contains(&minutes)) {
            return Err(Fault::field("body.minutes", "Minutes are from 1 to 1440, which is a day"));
        }
        self.what = self.what.as_deref().map(|what| text("body.what", what)).transpose()?;
        self.incident = self.incident.as_deref().map(|incident| name("body.incident", incident)).transpose()?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Use>(self.id)?;
        // Open to every member for every rig of the agency: what was used was used, whoever says so.
        let rig = write.named::<Rig>("rig", self.rig)?;
        let at = write.head.at;
        let mut while_out = Vec::new();
        for (n, piece) in self.pieces.iter().enumerate() {
            let found = write.named::<Piece>(&format!("pieces[{n}]"), *piece)?.record;
            if was_out(found.state == PieceState::InService, found.state_since, at) {
                while_out.push(*piece);
            }
        }
        let record = Use {
            id: self.id,
            rig: self.rig,
            station: Some(rig.record.station),
            pieces: self.pieces.clone(),
            what: self.what,
            incident: self.incident,
            minutes: self.minutes,
            while_out,
            used_at: at,
            recorded_by: write.actor.person(),
            checks: Vec::new(),
            corrected: None,
            allows: Vec::new(),
            rev: 0,
        };
        write.save(record, rig.scope)?;
        note(write, self.id, &self.pieces, (at, self.minutes))?;
        self.pieces.into_iter().try_for_each(|piece| mark_used(write, piece, at))
    }
}

/// Keeps for the count what was used, and how long.
fn note(write: &mut Write<'_>, of: UseId, pieces: &[PieceId], (at, minutes): (DateTime<Utc>, Option<u32>)) -> Result<(), Fault> {
    let agency = write.agency;
    let pieces: Vec<Uuid> = pieces.iter().map(|piece| piece.0).collect();
    rows::note_use(write.beside(), agency, of.0, &pieces, Run { at, minutes })
}

/// Keeps what the hour meter of a piece showed at the time of the act.
pub fn read_meter(write: &mut Write<'_>, piece: PieceId, minutes: u64) -> Result<(), Fault> {
    let (agency, by) = (write.agency, write.head.id);
    let shown = MeterReading { at: write.head.at, minutes };
    rows::note_meter(write.beside(), agency, by, piece.0, shown)?;
    write.reconsider_one(piece);
    Ok(())
}

/// Corrects a use that was written down wrongly: what was used, and how long. What it said before stays in its history. A piece that was
/// not used after all is as it was before; one that was is used and not checked.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CorrectUse {
    /// The use that was written down wrongly.
    pub id: UseId,
    /// The pieces that were used; none where it was no use at all.
    #[schema(max_items = 200)]
    pub pieces: Vec<PieceId>,
    /// How long, in minutes: up to a day; null where nobody knows.
    #[schema(minimum = 1, maximum = 1440)]
    pub minutes: Option<u32>,
    /// Why it is corrected: 1 to 4,000 characters.
    pub reason: String,
}

impl Act for CorrectUse {
    const KIND: &'static str = "use.correct";
    const SUMMARY: &'static str = "Correct a use that was written down wrongly";
    const DONE: &'static str = "Use corrected";
    const NEEDS: &'static [Permission] = &[Permission::Handle];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("use");

    fn prepare(&mut self) -> Result<(), Fault> {
        if !self.pieces.is_empty() {
            named_once(&self.pieces).map_err(refused)?;
        }
        if self.minutes.is_some_and(|minutes| !(1..=1440).contains(&minutes)) {
            return Err(Fault::field("body.minutes", "Minutes are from 1 to 1440, which is a day"));
        }
        self.reason = text("body.reason", &self.reason)?;
        Ok(())
    }

    fn reason(&self) -> Option<&str> {
        Some(&self.reason)
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Use>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        let before = stored.record;
        for (n, piece) in self.pieces.iter().enumerate() {
            write.named::<Piece>(&format!("pieces[{n}]"), *piece)?;
        }
        let (agency, at) = (write.agency, before.used_at);
        let dropped: Vec<PieceId> = before.pieces.iter().copied().filter(|piece| !self.pieces.contains(piece)).collect();
        let record = Use {
            while_out: before.while_out.iter().copied().filter(|piece| self.pieces.contains(piece)).collect(),
            pieces: self.pieces.clone(),
            minutes: self.minutes,
            corrected: Some(UseCorrection {
                at: write.head.at,
                by: write.actor.person(),
                reason: self.reason,
            }),
            ..before
        };
        write.save(record, stored.scope)?;
        rows::forget(write.beside(), agency, self.id.0)?;
        note(write, self.id, &self.pieces, (at, self.minutes))?;
        for piece in dropped {
            let last = rows::last_use(write.reading_beside(), agency, piece.0)?;
            unmark_used(write, piece, last)?;
        }
        for piece in self.pieces {
            if before.pieces.contains(&piece) {
                write.reconsider_one(piece);
            } else {
                mark_used(write, piece, at)?;
            }
        }
        Ok(())
    }
}

/// Says that the crew looked over what was used and found nothing wrong. When is the command's `at`.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct CheckUse {
    /// The use whose pieces were looked over; 20 times at most.
    pub id: UseId,
    /// The pieces that were looked over; all of the use, unless said.
    #[serde(default)]
    #[schema(min_items = 1, max_items = 200)]
    pub pieces: Option<Vec<PieceId>>,
    /// What else was seen.
    #[serde(default)]
    pub note: Option<String>,
}

impl Act for CheckUse {
    const KIND: &'static str = "use.check";
    const SUMMARY: &'static str = "Say that what was used has been looked over, and nothing was found";
    const DONE: &'static str = "Looked over after use, nothing found";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.note = self.note.as_deref().map(|note| text("body.note", note)).transpose()?;
        self.pieces.as_deref().map_or(Ok(()), |pieces| named_once(pieces).map_err(refused))
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Use>(self.id)?;
        write.reach(stored.scope)?;
        let mut record = stored.record;
        let (rig, used_at, checks) = (record.rig, record.used_at, record.checks.len());
        let facts = CheckFacts {
            used: &record.pieces,
            used_at,
            checks,
        };
        may_check(&facts, self.pieces.as_deref(), write.head.at).map_err(refused)?;
        let pieces = self.pieces.unwrap_or_else(|| record.pieces.clone());
        record.checks.push(UseCheck {
            at: write.head.at,
            by: write.actor.person(),
            pieces: pieces.clone(),
            note: self.note,
        });
        write.save(record, stored.scope)?;
        pieces.into_iter().try_for_each(|piece| mark_checked(write, piece, Some(rig)))
    }
}
