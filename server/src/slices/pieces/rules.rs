//! What may be done with a piece in its state, and what a list on it may hold. Who may sign a release stands in
//! `fullset_calc::release`, who may send a command in its `NEEDS`.

use chrono::{DateTime, Utc};
use fullset_calc::{plate, release};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{HoldBy, Piece, PieceState, Place, Unanswered};
use crate::{platform::auth::Role, slices::models::ModelId};

/// The most limits of one piece.
pub const MOST_LIMITS: usize = 60;
/// The most open defects and tickets that hold one piece.
pub const MOST_HOLDS: usize = 60;
/// The most pieces that one command says were tried: all that a rig runs with.
pub const MOST_TRIED: usize = 24;
/// The most values of a baseline.
pub const MOST_BASELINE: usize = 20;
/// The most safety notices of which a piece keeps what was said: as many as may be in force.
pub const MOST_NOTICES: usize = 100;
/// The most plans by which passes are kept on a piece: as many as may be in force.
pub const MOST_PASSES: usize = 60;

/// What a member does with a piece, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum PieceAct {
    /// Takes it out of service, or says why else it is out.
    #[serde(rename = "piece.take_out")]
    TakeOut,
    /// Returns it to service.
    #[serde(rename = "piece.return")]
    Return,
    /// Sends it elsewhere.
    #[serde(rename = "piece.move")]
    Move,
    /// Sees it arrive.
    #[serde(rename = "piece.arrive")]
    Arrive,
    /// Says that nobody can find it.
    #[serde(rename = "piece.report_missing")]
    ReportMissing,
    /// Says that it was found.
    #[serde(rename = "piece.found")]
    Find,
    /// Records its annual service.
    #[serde(rename = "piece.serviced")]
    Service,
    /// Changes what the register says of it.
    #[serde(rename = "piece.edit")]
    Edit,
    /// Retires it.
    #[serde(rename = "piece.retire")]
    Retire,
    /// Reports a defect of it.
    #[serde(rename = "defect.report")]
    ReportDefect,
    /// Opens a repair ticket for it, which holds it.
    #[serde(rename = "ticket.open")]
    OpenTicket,
    /// Puts it on a rig as a stand-in.
    #[serde(rename = "swap.start")]
    StandIn,
}

impl PieceAct {
    const ALL: [Self; 12] = [
        Self::TakeOut,
        Self::Return,
        Self::Move,
        Self::Arrive,
        Self::ReportMissing,
        Self::Find,
        Self::Service,
        Self::Edit,
        Self::Retire,
        Self::ReportDefect,
        Self::OpenTicket,
        Self::StandIn,
    ];
}

/// What decides it.
#[derive(Debug, Clone, Copy)]
pub struct PieceFacts<'a> {
    /// What people call it.
    pub tag: &'a str,
    /// Whether it is in service, out of service, missing or retired.
    pub state: PieceState,
    /// Where it is now, or where it is on its way to.
    pub place: &'a Place,
    /// What holds it: a ticket, where one does.
    pub held_by: Option<HoldBy>,
    /// How many open defects and tickets hold it.
    pub holds: usize,
    /// Whether a rig's changeover keeps it.
    pub is_kept: bool,
}

impl<'a> PieceFacts<'a> {
    /// The facts of a piece on record.
    pub fn of(piece: &'a Piece) -> Self {
        let ticket = piece.holds.iter().find(|hold| hold.by == HoldBy::Ticket);
        Self {
            tag: &piece.tag,
            state: piece.state,
            place: &piece.place,
            held_by: ticket.or(piece.holds.first()).map(|hold| hold.by),
            holds: piece.holds.len(),
            is_kept: piece.kept_for.is_some(),
        }
    }
}

/// Whether the act may be done; if not, why and what to do.
pub fn may(act: PieceAct, facts: PieceFacts<'_>) -> Result<(), String> {
    use PieceAct::{Arrive, Find, Move, OpenTicket, ReportDefect, ReportMissing, Retire, Return, Service, StandIn};
    use PieceState::{InService, Missing, OutOfService, Retired};
    let tag = facts.tag;
    match (act, facts.state) {
        (ReportDefect, Retired) => Err(format!("{tag} is retired; if it is still about, tell the coordinator")),
        (_, Retired) => Err(format!("{tag} is retired; nothing more happens to it")),
        (Find, Missing) => Ok(()),
        (Find, _) => Err(format!("{tag} is not missing")),
        (ReportMissing, Missing) => Err(format!("{tag} is reported missing already")),
        (Return | Move | Arrive | Service, Missing) => Err(format!("{tag} is missing; say first where it was found")),
        (Return, InService) => Err(format!("{tag} is in service already")),
        (Return, OutOfService) => facts.held_by.map_or(Ok(()), |by| Err(held(tag, by))),
        (Arrive, _) if !matches!(facts.place, Place::Transit { .. }) => Err(format!("{tag} is not on its way anywhere")),
        (Retire, _) if facts.held_by == Some(HoldBy::Ticket) => Err(held(tag, HoldBy::Ticket)),
        (OpenTicket, InService | Missing) => Err(format!("{tag} is not out of service; take it out first, then open the ticket")),
        (OpenTicket, OutOfService) if facts.held_by == Some(HoldBy::Ticket) => Err(format!("{tag} is on a ticket already")),
        (OpenTicket, OutOfService) => has_room(facts),
        (StandIn, OutOfService | Missing) => Err(format!("{tag} is not in service; a stand-in must be")),
        (StandIn, InService) if facts.is_kept => Err(kept(tag)),
        (StandIn, InService) => match facts.place {
            Place::Rig { .. } | Place::Shelf { .. } | Place::Shop { .. } => Ok(()),
            Place::Transit { .. } => Err(format!("{tag} is on its way somewhere already")),
            Place::Vendor { .. } | Place::Loan { .. } | Place::Retired => Err(format!("{tag} is not here to be taken")),
        },
        _ => Ok(()),
    }
}

/// Why a piece goes aboard no rig before the changeover that it is kept for.
pub fn kept(tag: &str) -> String {
    format!("{tag} is kept for a rig's changeover in a rollout and goes aboard no rig before it")
}

/// Whether one more open defect or ticket may hold the piece.
pub fn has_room(facts: PieceFacts<'_>) -> Result<(), String> {
    if facts.holds < MOST_HOLDS {
        return Ok(());
    }
    Err(format!(
        "{MOST_HOLDS} open defects and tickets hold {} already; note what you saw on one of them",
        facts.tag
    ))
}

/// What the piece allows as it is, apart from who asks.
pub fn allows(piece: &Piece) -> Vec<PieceAct> {
    let facts = PieceFacts::of(piece);
    PieceAct::ALL.into_iter().filter(|act| may(*act, facts).is_ok()).collect()
}

/// What decides whether a piece may be said to have been tried.
#[derive(Debug, Clone, Copy)]
pub struct TrialFacts<'a> {
    /// What people call it.
    pub tag: &'a str,
    /// Whether it is in service, out of service, missing or retired.
    pub state: PieceState,
    /// Whether it is on a rig.
    pub is_aboard: bool,
    /// When it came aboard, where it was moved there.
    pub aboard_since: Option<DateTime<Utc>>,
    /// Whether an open defect keeps it out of use: it holds the piece, or had to be repaired by now.
    pub has_a_defect: bool,
}

/// Whether a piece may be said to have been tried at that time on the rig that it is on; if not, why and what to do.
pub fn may_be_tried(facts: TrialFacts<'_>, at: DateTime<Utc>) -> Result<(), String> {
    let tag = facts.tag;
    match facts.state {
        PieceState::Retired => return Err(format!("{tag} is retired; nothing more happens to it")),
        PieceState::Missing => return Err(format!("{tag} is missing; say first where it was found")),
        PieceState::OutOfService => return Err(format!("{tag} is out of service; it is tried once a person has returned it")),
        PieceState::InService => {}
    }
    if facts.has_a_defect {
        return Err(format!("{tag} has an open defect that keeps it out of use; it is tried once that is put right"));
    }
    if !facts.is_aboard {
        return Err(format!("{tag} is on no rig; it is tried on the rig that it is to serve on, once it is there"));
    }
    if facts.aboard_since.is_some_and(|since| at < since) {
        return Err(format!("{tag} came aboard after that; try it on this rig now"));
    }
    Ok(())
}

fn held(tag: &str, by: HoldBy) -> String {
    match by {
        HoldBy::Defect => format!("{tag} has an open defect; close it first, saying what was done"),
        HoldBy::Ticket => format!("{tag} is on a repair ticket; it comes back through the ticket, with its test reading"),
    }
}

/// A change of the fluid that a piece holds, after it was flushed.
#[derive(Debug, Clone, Copy)]
pub struct FluidChange<'a> {
    /// What people call the piece.
    pub tag: &'a str,
    /// The fluid on record.
    pub before: Option<&'a str>,
    /// The fluid that it holds from now on.
    pub after: Option<&'a str>,
    /// Whether its new model is of the same kind.
    pub same_kind: bool,
    /// Whether the piece is out of service.
    pub out_of_service: bool,
    /// The role of whoever says that it was flushed.
    pub role: Role,
    /// Whether a paper of the maker's service is named.
    pub by_makers_service: bool,
}

/// Whether a piece may be recorded as flushed and filled anew: by the shop, or on the paper of the maker's service, on a piece that is out of service (common practice, no
/// source; whether it can be flushed at all is the maker's word).
pub fn may_change_fluid(change: FluidChange<'_>) -> Result<(), String> {
    let tag = change.tag;
    if !change.out_of_service {
        return Err(format!("{tag} is not out of service; take it out before it is flushed"));
    }
    if change.role != Role::Shop && !change.by_makers_service {
        return Err(format!(
            "That {tag} was flushed is the shop's to say, or the maker's service's by its paper; the role '{}' names none",
            change.role
        ));
    }
    if !change.same_kind {
        return Err(format!("{tag} does not become a piece of another kind"));
    }
    match (change.before, change.after) {
        (_, None) => Err("The new model says no fluid; name a model that does".into()),
        (Some(before), Some(after)) if before == after => Err(format!("{tag} holds {after} already")),
        _ => Ok(()),
    }
}

/// What no two live pieces share: the model with the serial number on its plate.
pub fn mark_of(model: ModelId, serial: &str) -> String {
    format!("{model}:{}", plate::plain_serial(serial))
}

/// The role as releases are judged by. Who is no member decides nothing.
pub fn role_of(role: Role) -> release::Role {
    match role {
        Role::Crew | Role::Tablet | Role::Service => release::Role::Crew,
        Role::Officer => release::Role::Officer,
        Role::Shop => release::Role::Shop,
        Role::Chief => release::Role::Chief,
        Role::Coordinator => release::Role::Coordinator,
        Role::Admin => release::Role::Admin,
    }
}

/// Adds what a release must answer for. What names no defect is kept once for each class.
pub fn answer_for(unanswered: &mut Vec<Unanswered>, new: Unanswered) {
    if !unanswered.contains(&new) {
        unanswered.push(new);
    }
}

/// The later of two instants: an old entry that comes late never overwrites a newer one.
pub fn later(known: Option<DateTime<Utc>>, new: DateTime<Utc>) -> Option<DateTime<Utc>> {
    Some(known.map_or(new, |known| known.max(new)))
}

#[cfg(test)]
#[path = "rules_tests.rs"]
mod tests;
