//! Tested and returned: what the shop releases a piece on.

use chrono::{DateTime, Utc};
use fullset_calc::release::{DefectClass, Evidence, MakersPaper, Reading};
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Ticket, TicketState,
    feed::{Test, TicketId},
    ops::step,
    rules::Step,
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Write, text},
        error::Fault,
    },
    slices::{
        agencies::{day_done, day_of, zone},
        defects::{self, Defect},
        pieces::{Piece, Place, Purpose, accept, bring_back, clear, destination, mark_serviced, read_evidence},
    },
};

/// Records a test. One that passed must hold against what the piece went out for: `GET /v1/pieces/{id}/release` says what is asked.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct TestTicket {
    /// The ticket whose piece was tested: accepted, not closed, and with fewer than 50 tests.
    pub id: TicketId,
    /// Whether the piece passed: chosen, never left out.
    pub passed: bool,
    /// What was measured and looked at; up to 40.
    #[serde(default)]
    #[schema(max_items = 40)]
    pub readings: Vec<Reading>,
    /// The manual and its passage, where a limit stands only there.
    #[serde(default)]
    pub manual: Option<String>,
    /// The paper of the maker's service.
    #[serde(default)]
    pub makers_service: Option<MakersPaper>,
    /// What was found and done; of a test that failed, what failed.
    #[serde(default)]
    pub note: Option<String>,
    /// Set when it is the annual service.
    #[serde(default)]
    pub annual: bool,
    /// Set when it is the acceptance test: its values become the piece's baseline.
    #[serde(default)]
    pub acceptance: bool,
    /// Why it replaces the baseline that the piece has.
    #[serde(default)]
    pub baseline_reason: Option<String>,
}

impl Act for TestTicket {
    const KIND: &'static str = "ticket.test";
    const SUMMARY: &'static str = "Record a test with its readings";
    const DONE: &'static str = "Test recorded";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn prepare(&mut self) -> Result<(), Fault> {
        let evidence = Evidence {
            readings: std::mem::take(&mut self.readings),
            manual: self.manual.take(),
            makers_service: self.makers_service.take(),
            note: self.note.take(),
        };
        let read = read_evidence("body", evidence)?;
        (self.readings, self.manual, self.makers_service, self.note) = (read.readings, read.manual, read.makers_service, read.note);
        if self.note.is_none() {
            let asked = if self.passed { "Say what was found and done" } else { "Say what failed" };
            return Err(Fault::field("body.note", asked));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Test)?;
        let mut ticket = stored.record;
        let evidence = Evidence {
            readings: self.readings,
            manual: self.manual,
            makers_service: self.makers_service,
            note: self.note,
        };
        let piece = write.find::<Piece>(ticket.piece)?.record;
        let mut without_limit = Vec::new();
        if self.passed {
            let (classes, found) = answered(write, &ticket, &piece)?;
            let asked = if self.annual { Purpose::Both(&classes) } else { Purpose::Release(&classes) };
            without_limit = clear(write, &piece, (asked, found), &evidence)?.without_limit;
        }
        let reason = self.baseline_reason.map(|reason| text("body.baseline_reason", &reason)).transpose()?;
        if self.acceptance && self.passed && !piece.baseline.is_empty() && reason.is_none() {
            return Err(Fault::field(
                "body.baseline_reason",
                "The piece has a baseline; say why this test replaces it, or do not call it an acceptance test",
            ));
        }
        ticket.state = if self.passed { TicketState::Tested } else { TicketState::Working };
        ticket.tests.push(Test {
            at: write.head.at,
            by: write.actor.person(),
            passed: self.passed,
            evidence: evidence.clone(),
            annual: self.annual,
            without_limit,
        });
        write.save(ticket, stored.scope)?;
        if self.passed && (self.acceptance || (self.annual && piece.baseline.is_empty())) {
            let on = day_done(write)?;
            accept(write, piece.id, &evidence.readings, on, reason.as_deref().filter(|_| self.acceptance))?;
        }
        Ok(())
    }
}

/// What a return through this ticket answers for: what the piece went out for, and every defect that the ticket deals with; and when
/// the last of it was found.
fn answered(write: &mut Write<'_>, ticket: &Ticket, piece: &Piece) -> Result<(Vec<DefectClass>, Option<DateTime<Utc>>), Fault> {
    let mut classes: Vec<DefectClass> = piece.unanswered.iter().map(|open| open.class).collect();
    let mut found = (!classes.is_empty()).then_some(piece.state_since);
    for defect in &ticket.defects {
        let defect = write.find::<Defect>(*defect)?.record;
        classes.extend(defect.classes());
        found = found.max(Some(defect.last_worse()));
    }
    classes.sort_unstable();
    classes.dedup();
    Ok((classes, found))
}

/// Returns the piece to service and closes the ticket with its defects.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct ReturnTicket {
    /// The ticket to close; one in the state `tested`.
    pub id: TicketId,
    /// Where the piece goes; it stays where it is, unless said. It is in transit until the far end confirms.
    pub to: Option<Place>,
    /// Set when it is there already.
    #[serde(default)]
    pub arrived: bool,
    /// What was done, up to 4,000 characters; without it the defects are closed as "Repaired and tested".
    pub note: Option<String>,
}

impl Act for ReturnTicket {
    const KIND: &'static str = "ticket.return";
    const SUMMARY: &'static str = "Return the piece to service on its passed test, and close the ticket with its defects";
    const DONE: &'static str = "Returned to service on a passed test";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const PERSONAL: bool = true;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Return)?;
        let place = match self.to {
            Some(Place::Transit { .. } | Place::Retired) => {
                return Err(Fault::field("body.to.at", "Name where the piece goes; it is in transit by itself"));
            }
            Some(to) => {
                destination(write, "to", &to, self.arrived)?;
                Some(if self.arrived { to } else { Place::Transit { to: Box::new(to) } })
            }
            None => None,
        };
        let note = self.note.map(|note| text("body.note", &note)).transpose()?;
        let mut ticket = stored.record;
        let Some(test) = ticket.tests.last().cloned() else {
            return Err(Fault::rule(
                "A piece comes back after a test that passed, with its reading; record the test first",
            ));
        };
        // Something may have been found since the test: the last one answers for everything, or another one must.
        let piece = write.find::<Piece>(ticket.piece)?.record;
        let (classes, found) = answered(write, &ticket, &piece)?;
        let asked = if test.annual { Purpose::Both(&classes) } else { Purpose::Release(&classes) };
        let released = clear(write, &piece, (asked, found), &test.evidence)?;
        ticket.state = TicketState::Closed;
        ticket.closed_at = Some(write.head.at);
        ticket.closed_by = Some(write.actor.person());
        ticket.note.clone_from(&note);
        let tied = ticket.defects.clone();
        write.save(ticket, stored.scope)?;
        let mut ended = vec![Uuid::from(self.id)];
        for defect in tied {
            let resolution = note.clone().unwrap_or_else(|| "Repaired and tested".to_owned());
            defects::close(write, defect, resolution, Some(test.evidence.clone()))?;
            ended.push(defect.0);
        }
        if test.annual {
            let on = day_of(test.at, zone(write)?);
            mark_serviced(write, piece.id, on)?;
        }
        bring_back(write, piece.id, &ended, place, released)
    }
}
