//! What may be done with a piece in its state, and what a list on it may hold. Who may sign a release stands in
//! `fullset_calc::release`, who may send a command in its `NEEDS`.

use chrono::{DateTime, Utc};
use fullset_calc::release;
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::{HoldBy, Piece, PieceState, Place, Unanswered};
use crate::platform::auth::Role;

/// The most limits of one piece.
pub const MOST_LIMITS: usize = 60;
/// The most open defects and tickets that hold one piece.
pub const MOST_HOLDS: usize = 60;
/// The most values of a baseline.
pub const MOST_BASELINE: usize = 20;

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
    /// Its state.
    pub state: PieceState,
    /// Where it is.
    pub place: &'a Place,
    /// What holds it: a ticket, where one does.
    pub held_by: Option<HoldBy>,
    /// How many open defects and tickets hold it.
    pub holds: usize,
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
        (StandIn, InService) => match facts.place {
            Place::Rig { .. } | Place::Shelf { .. } | Place::Shop { .. } => Ok(()),
            Place::Transit { .. } => Err(format!("{tag} is on its way somewhere already")),
            Place::Vendor { .. } | Place::Loan { .. } | Place::Retired => Err(format!("{tag} is not here to be taken")),
        },
        _ => Ok(()),
    }
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

fn held(tag: &str, by: HoldBy) -> String {
    match by {
        HoldBy::Defect => format!("{tag} has an open defect; close it first, saying what was done"),
        HoldBy::Ticket => format!("{tag} is on a repair ticket; it comes back through the ticket, with its test reading"),
    }
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
mod tests {
    use super::*;

    #[test]
    fn what_may_be_done_in_each_state() {
        use PieceAct::{Arrive, Edit, Find, Move, OpenTicket, ReportDefect, ReportMissing, Retire, Return, Service, StandIn, TakeOut};
        use PieceState::{InService, Missing, OutOfService, Retired};
        let shelf = Place::Shelf {
            station: crate::slices::stations::StationId(uuid::Uuid::from_u128(1)),
        };
        let on_its_way = Place::Transit { to: Box::new(shelf.clone()) };
        let always = [TakeOut, Edit, ReportDefect];
        for (state, place, held_by, holds, allowed) in [
            (InService, &shelf, None, 0, &[Move, ReportMissing, Service, Retire, StandIn][..]),
            (InService, &on_its_way, None, 0, &[Move, Arrive, ReportMissing, Service, Retire]),
            (OutOfService, &shelf, None, 0, &[Return, Move, ReportMissing, Service, Retire, OpenTicket]),
            (
                OutOfService,
                &on_its_way,
                Some(HoldBy::Defect),
                59,
                &[Move, Arrive, ReportMissing, Service, Retire, OpenTicket],
            ),
            (OutOfService, &shelf, Some(HoldBy::Defect), 60, &[Move, ReportMissing, Service, Retire]),
            (OutOfService, &shelf, Some(HoldBy::Ticket), 1, &[Move, ReportMissing, Service]),
            (Missing, &shelf, None, 0, &[Find, Retire]),
            (Missing, &on_its_way, Some(HoldBy::Ticket), 1, &[Find]),
        ] {
            for act in PieceAct::ALL {
                let facts = PieceFacts {
                    tag: "E1-CUT",
                    state,
                    place,
                    held_by,
                    holds,
                };
                let expected = allowed.contains(&act) || always.contains(&act);
                assert_eq!(may(act, facts).is_ok(), expected, "{act:?} {state:?} {place:?} {held_by:?} {holds}");
            }
        }
        for act in PieceAct::ALL {
            let facts = PieceFacts {
                tag: "E1-CUT",
                state: Retired,
                place: &Place::Retired,
                held_by: None,
                holds: 0,
            };
            assert!(may(act, facts).is_err(), "{act:?}");
        }
    }

    #[test]
    fn a_late_old_entry_never_overwrites_a_newer_one() {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        assert_eq!(later(Some(at(20)), at(10)), Some(at(20)));
        assert_eq!(later(Some(at(10)), at(20)), Some(at(20)));
        assert_eq!(later(None, at(10)), Some(at(10)));
    }

    #[test]
    fn a_tablet_and_the_service_sign_nothing() {
        for role in [Role::Tablet, Role::Service, Role::Crew] {
            assert!(!role_of(role).signs(release::Signature::Officer));
        }
        assert!(role_of(Role::Shop).signs(release::Signature::Technician));
        assert!(!role_of(Role::Admin).signs(release::Signature::Technician));
    }
}
