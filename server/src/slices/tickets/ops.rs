use chrono::NaiveDate;
use serde::Deserialize;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{
    Ticket,
    feed::{Sums, TicketId, TicketState, WaitReason},
    rules::{MOST_DEFECTS, Step, TicketFacts, may},
};
use crate::{
    platform::{
        door::{Act, Permission, Reach, RevisionNeed, Stored, Write, name, text},
        error::Fault,
        record::Scope,
    },
    slices::{
        defects::{self, DefectId},
        pieces::{Hold, HoldBy, Piece, PieceAct, PieceId, Place, allowed, bring_to, end_holds, hold},
        shops::{Shop, ShopId},
    },
};

/// Opens a repair ticket.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct OpenTicket {
    /// A UUID of version 7 that the client makes; the record keeps it.
    pub id: TicketId,
    /// The piece to repair: out of service, and on no other open ticket.
    pub piece: PieceId,
    /// The shop that is to repair it; its members see the ticket at once.
    pub shop: ShopId,
    /// What is wrong, in the crew's own words: 1 to 4,000 characters.
    pub what: String,
    /// The open defects that it deals with; up to 50.
    #[serde(default)]
    #[schema(max_items = 50)]
    pub defects: Vec<DefectId>,
}

impl Act for OpenTicket {
    const KIND: &'static str = "ticket.open";
    const SUMMARY: &'static str = "Open a repair ticket for a piece that is out of service";
    const DONE: &'static str = "Repair ticket opened";
    const NEEDS: &'static [Permission] = &[Permission::Report, Permission::Repair];
    const REACH: Reach = Reach::Within;
    const CREATES: bool = true;

    fn prepare(&mut self) -> Result<(), Fault> {
        if self.defects.len() > MOST_DEFECTS {
            return Err(Fault::field("body.defects", format!("A ticket deals with {MOST_DEFECTS} defects at most")));
        }
        Ok(())
    }

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.unused::<Ticket>(self.id)?;
        write.named::<Shop>("shop", self.shop)?;
        let piece = write.named::<Piece>("piece", self.piece)?;
        write.reach(piece.scope)?;
        allowed(PieceAct::OpenTicket, &piece.record).map_err(|fault| fault.at("body.piece"))?;
        let ticket = Ticket {
            id: self.id,
            piece: self.piece,
            shop: self.shop,
            what: text("body.what", &self.what)?,
            defects: self.defects.clone(),
            state: TicketState::Waiting,
            opened_at: write.head.at,
            opened_by: write.actor.person(),
            accepted_by: None,
            assigned_to: None,
            promise: None,
            hold_reason: None,
            hold_for: None,
            expected_on: None,
            ready_on: None,
            cause: None,
            lines: Vec::new(),
            sums: Sums::default(),
            tests: Vec::new(),
            closed_at: None,
            closed_by: None,
            note: None,
            allows: Vec::new(),
            rev: 0,
        };
        // Those whose work it is see it too, before the piece has come.
        let scope = Scope {
            shop: Some(self.shop.0),
            ..piece.scope
        };
        write.save(ticket, scope)?;
        for defect in self.defects {
            defects::tie(write, defect, self.piece, Some(self.id.0))?;
        }
        hold(
            write,
            self.piece,
            Hold {
                by: HoldBy::Ticket,
                id: self.id.0,
            },
        )
    }
}

pub(super) fn step(write: &mut Write<'_>, id: TicketId, step: Step) -> Result<Stored<Ticket>, Fault> {
    let stored = write.find::<Ticket>(id)?;
    // What only adds never conflicts.
    if (write.head.expects.is_some() && !matches!(step, Step::Line | Step::Include)) || matches!(step, Step::Return | Step::Drop) {
        write.expects(&stored)?;
    }
    if let Some(piece) = write.scope_of::<Piece>(stored.record.piece)? {
        write.reach(piece)?;
    }
    may(step, TicketFacts::of(&stored.record)).map_err(Fault::rule)?;
    Ok(stored)
}

/// Accepts a ticket.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct AcceptTicket {
    /// The ticket to accept; one that waits and nobody has accepted.
    pub id: TicketId,
    /// Set when the piece lies in the shop already; one that is missing is said to be found first.
    #[serde(default)]
    pub piece_is_here: bool,
}

impl Act for AcceptTicket {
    const KIND: &'static str = "ticket.accept";
    const SUMMARY: &'static str = "Accept a repair ticket; with the piece, when it lies in the shop";
    const DONE: &'static str = "Repair ticket accepted";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Accept)?;
        let (piece, shop) = (stored.record.piece, stored.record.shop);
        let ticket = Ticket {
            state: TicketState::Accepted,
            accepted_by: Some(write.actor.person()),
            ..stored.record
        };
        write.save(ticket, stored.scope)?;
        if self.piece_is_here {
            bring_to(write, piece, Place::Shop { shop })?;
        }
        Ok(())
    }
}

/// Begins or goes on with the work.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WorkTicket {
    /// The ticket that is worked on: accepted, on hold or tested.
    pub id: TicketId,
}

impl Act for WorkTicket {
    const KIND: &'static str = "ticket.work";
    const SUMMARY: &'static str = "Begin, or go on with, the work of a ticket";
    const DONE: &'static str = "Work on the ticket went on";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Work)?;
        write.save(
            Ticket {
                state: TicketState::Working,
                hold_reason: None,
                hold_for: None,
                expected_on: None,
                ..stored.record
            },
            stored.scope,
        )
    }
}

/// Says that a ticket has to wait.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct WaitTicket {
    /// The ticket that has to wait: accepted, working or tested.
    pub id: TicketId,
    /// What kind of thing it waits for.
    pub reason: WaitReason,
    /// What for exactly: the part's name, the firm.
    #[serde(default)]
    pub r#for: Option<String>,
    /// When the wait should end.
    pub expected_on: Option<NaiveDate>,
}

impl Act for WaitTicket {
    const KIND: &'static str = "ticket.wait";
    const SUMMARY: &'static str = "Say that a ticket has to wait, and why";
    const DONE: &'static str = "The ticket has to wait";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Optional("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Wait)?;
        let hold_for = self.r#for.map(|what| name("body.for", &what)).transpose()?;
        write.save(
            Ticket {
                state: TicketState::OnHold,
                hold_reason: Some(self.reason),
                hold_for,
                expected_on: self.expected_on,
                ..stored.record
            },
            stored.scope,
        )
    }
}

/// Closes a ticket without returning the piece: it stays out of service.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct DropTicket {
    /// The ticket to close, whatever its state; one that is not closed yet.
    pub id: TicketId,
    /// Why it is closed without the piece: 1 to 4,000 characters.
    pub note: String,
}

impl Act for DropTicket {
    const KIND: &'static str = "ticket.drop";
    const SUMMARY: &'static str = "Close a ticket without returning the piece; it stays out of service";
    const DONE: &'static str = "Ticket closed without returning the piece";
    const NEEDS: &'static [Permission] = &[Permission::Repair];
    const REACH: Reach = Reach::Within;
    const EXPECTS: RevisionNeed = RevisionNeed::Needed("ticket");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        let stored = step(write, self.id, Step::Drop)?;
        let ticket = Ticket {
            state: TicketState::Closed,
            closed_at: Some(write.head.at),
            closed_by: Some(write.actor.person()),
            note: Some(text("body.note", &self.note)?),
            ..stored.record
        };
        let (piece, tied) = (ticket.piece, ticket.defects.clone());
        write.save(ticket, stored.scope)?;
        for defect in tied {
            defects::tie(write, defect, piece, None)?;
        }
        end_holds(write, piece, &[Uuid::from(self.id)])
    }
}
