//! Commands on the condition of a piece. Moving and editing it is in `ops.rs`; retiring it closes its defects, so it is theirs.

use chrono::NaiveDate;
use fullset_calc::release::{DefectClass, Evidence};
use serde::Deserialize;
use utoipa::ToSchema;

use super::{
    Piece, PieceId, PieceState, Place, Unanswered, check_place,
    clearing::{Purpose, clear, read_evidence},
    condition::{Outage, accept, allowed, awaited, bring_back, mark_checked, mark_serviced, note_released, put, put_out},
    rules::{PieceAct, answer_for},
};
use crate::{
    platform::{
        door::{Act, Ahead, Permission, Reach, RevisionNeed, Write, name, text},
        error::Fault,
        said::quoted,
    },
    slices::agencies::{day_done, day_of, day_received, zone},
};

/// Takes a piece out of service.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TakePieceOut {
    /// The piece to take out: any of the agency that is not retired; one that is out already gets the new reason.
    pub id: PieceId,
    /// Why, in the member's own words.
    pub reason: String,
    /// What kind of thing is wrong. Without it the piece is out for a cause that nobody knows, *other*: what is under pressure then comes
    /// back through the technician alone, with the readings of that class.
    #[serde(default)]
    pub class: Option<DefectClass>,
    /// Set when it is for planned service, and nothing is wrong with the piece.
    #[serde(default)]
    pub planned: bool,
}

impl Act for TakePieceOut {
    const KIND: &'static str = "piece.take_out";
    const SUMMARY: &'static str = "Take a piece out of service";
    const DONE: &'static str = "Taken out of service";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Anywhere("crews are detailed to other houses");

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.planned && self.class.is_some() {
            return Err(Fault::field(
                "body.class",
                "A piece that goes to planned service has nothing wrong with it; leave one of the two out",
            ));
        }
        Ok(())
    }

    fn ahead(&self, ahead: &mut Ahead) {
        ahead.record::<Piece>(self.id);
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        // Open to every member for every piece of the agency: crews are detailed to other houses.
        let unanswered = Unanswered {
            class: self.class.unwrap_or_default(),
            defect: None,
        };
        let out = Outage {
            reason: text("body.reason", &self.reason)?,
            planned: self.planned,
            hold: None,
            unanswered: if self.planned { Vec::new() } else { vec![unanswered] },
        };
        put_out(write, self.id, out)
    }
}

/// Returns a piece to service, on the evidence that what it went out for asks for. The journal names who did it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReturnPiece {
    /// The piece to return: out of service, and held by no open defect or ticket.
    pub id: PieceId,
    /// What was found and done.
    pub note: String,
    /// What it rests on: `GET /v1/pieces/{id}/release` says what is asked.
    #[serde(default)]
    pub evidence: Evidence,
}

impl Act for ReturnPiece {
    const KIND: &'static str = "piece.return";
    const SUMMARY: &'static str = "Return a piece to service, on its evidence";
    const DONE: &'static str = "Returned to service";
    const NEEDS: &'static [Permission] = &[Permission::Handle, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("piece");

    fn prepare(&mut self) -> Result<(), Fault> {
        self.evidence = read_evidence("body.evidence", std::mem::take(&mut self.evidence))?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.reach(stored.scope)?;
        write.expects(&stored)?;
        allowed(PieceAct::Return, &stored.record)?;
        let note = Some(text("body.note", &self.note)?);
        let classes: Vec<DefectClass> = stored.record.unanswered.iter().map(|open| open.class).collect();
        let evidence = Evidence { note, ..self.evidence };
        let found = Some(stored.record.state_since);
        let released = clear(write, &stored.record, (Purpose::Release(&classes), found), &evidence)?;
        bring_back(write, self.id, &[], None, released)
    }
}

/// Says that nobody can find the piece.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReportMissing {
    /// The piece that nobody can find; one that is neither missing already nor retired.
    pub id: PieceId,
    /// Where it was looked for, when it was last seen.
    pub note: String,
}

impl Act for ReportMissing {
    const KIND: &'static str = "piece.report_missing";
    const SUMMARY: &'static str = "Say that nobody can find a piece; it keeps its last place and counts nowhere";
    const DONE: &'static str = "Reported as not to be found";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Within;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.reach(stored.scope)?;
        allowed(PieceAct::ReportMissing, &stored.record)?;
        let mut piece = stored.record;
        awaited(write, &piece);
        piece.state = PieceState::Missing;
        piece.state_since = write.head.at;
        piece.state_reason = Some(text("body.note", &self.note)?);
        piece.state_by = write.actor.person();
        piece.planned = false;
        answer_for(&mut piece.unanswered, Unanswered::unnamed());
        put(write, Some(stored.scope), piece)
    }
}

/// Says where a missing piece was found. It is out of service until a person returns it.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct FindPiece {
    /// The missing piece that was found.
    pub id: PieceId,
    /// Where it is now.
    pub place: Place,
    /// Where and how it was found.
    pub note: String,
}

impl Act for FindPiece {
    const KIND: &'static str = "piece.found";
    const SUMMARY: &'static str = "Say where a missing piece was found; it is out of service until a person returns it";
    const DONE: &'static str = "Found again";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        allowed(PieceAct::Find, &stored.record)?;
        if matches!(self.place, Place::Transit { .. } | Place::Retired) {
            return Err(Fault::field("body.place.at", "Name where the piece is; what was found is somewhere"));
        }
        let there = check_place(write, "place", &self.place)?;
        write.reach(there)?;
        let (day, note) = (day_done(write)?, text("body.note", &self.note)?);
        let mut piece = stored.record;
        piece.state = PieceState::OutOfService;
        piece.state_since = write.head.at;
        piece.state_reason = Some(format!("found on {day}, to be checked: {}", quoted(&note)));
        piece.state_by = write.actor.person();
        piece.put_at(self.place, write.head.at);
        put(write, Some(stored.scope), piece)
    }
}

/// Records an annual service that the piece has passed, without a ticket.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ServicePiece {
    /// The piece that passed the service; one that is neither missing nor retired.
    pub id: PieceId,
    /// On which day, in the agency's time zone; not in the future.
    pub on: NaiveDate,
    /// Who did it: the technician, or the maker's service.
    pub by_whom: String,
    /// What was measured. It is signed by the shop, or names the paper of the maker's service.
    pub evidence: Evidence,
}

impl Act for ServicePiece {
    const KIND: &'static str = "piece.serviced";
    const SUMMARY: &'static str = "Record an annual service that a piece has passed, with its readings";
    const DONE: &'static str = "Annual service passed";
    const NEEDS: &'static [Permission] = &[Permission::Repair, Permission::Plan];
    const REACH: Reach = Reach::Within;

    fn prepare(&mut self) -> Result<(), Fault> {
        self.by_whom = name("body.by_whom", &self.by_whom)?;
        self.evidence = read_evidence("body.evidence", std::mem::take(&mut self.evidence))?;
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = write.find::<Piece>(self.id)?;
        write.reach(stored.scope)?;
        allowed(PieceAct::Service, &stored.record)?;
        let (zone, done) = (zone(write)?, day_done(write)?);
        if self.on > day_received(write)? {
            return Err(Fault::field(
                "body.on",
                format!("{} is in the future; a service is recorded when it is done", self.on),
            ));
        }
        let note = self.evidence.note.unwrap_or_else(|| format!("annual service by {}", self.by_whom));
        let evidence = Evidence {
            note: Some(note),
            ..self.evidence
        };
        let released = clear(write, &stored.record, (Purpose::Annual, None), &evidence)?;
        let first = stored.record.baseline.is_empty();
        let newest = stored.record.last_service_on.is_none_or(|known| known <= self.on);
        mark_serviced(write, self.id, self.on)?;
        if first {
            accept(write, self.id, &evidence.readings, self.on, None)?;
        }
        // What was measured long ago and is written down now says nothing of how the piece is now.
        if newest && self.on == done {
            mark_checked(write, self.id, stored.record.place.rig())?;
        }
        // A service of before its last release says nothing of what it was released on.
        let later = stored.record.released.as_ref().is_none_or(|released| day_of(released.at, zone) <= self.on);
        if newest && later && stored.record.state == PieceState::InService {
            note_released(write, self.id, released)?;
        }
        Ok(())
    }
}
