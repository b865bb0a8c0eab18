//! What may be done with a piece in its state, and what a list on it may hold. Who may sign a release stands in
//! `fullset_calc::release`, who may send a command in its `NEEDS`.

use chrono::{DateTime, Utc};
use fullset_calc::release;

use super::{HoldBy, PieceState, Unanswered};
use crate::platform::auth::Role;

/// The most limits of one piece.
pub const MOST_LIMITS: usize = 60;
/// The most open defects and tickets that hold one piece.
pub const MOST_HOLDS: usize = 60;
/// The most pieces that one command says were tried: all that a rig runs with.
pub const MOST_TRIED: usize = 24;
/// The most values of a baseline.
pub const MOST_BASELINE: usize = 20;

/// What a member does with a piece.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum PieceAct {
    /// Takes it out of service.
    TakeOut,
    /// Holds it for a ticket.
    Hold,
    /// Returns it to service.
    Return,
    /// Sends it elsewhere.
    Move,
    /// Sees it arrive.
    Arrive,
    /// Says that nobody can find it.
    ReportMissing,
    /// Says that it was found.
    Find,
    /// Records its annual service.
    Service,
    /// Retires it.
    Retire,
}

/// What decides it.
#[derive(Debug, Clone, Copy)]
pub struct PieceFacts<'a> {
    /// What people call it.
    pub tag: &'a str,
    /// Its state.
    pub state: PieceState,
    /// What holds it: a ticket, where one does.
    pub held_by: Option<HoldBy>,
}

/// Whether the act may be done; if not, why and what to do.
pub fn may(act: PieceAct, facts: PieceFacts<'_>) -> Result<(), String> {
    use PieceAct::{Arrive, Find, Move, ReportMissing, Retire, Return, Service};
    let tag = facts.tag;
    match (act, facts.state) {
        (_, PieceState::Retired) => Err(format!("{tag} is retired; nothing more happens to it")),
        (Find, PieceState::Missing) => Ok(()),
        (Find, _) => Err(format!("{tag} is not missing")),
        (ReportMissing, PieceState::Missing) => Err(format!("{tag} is reported missing already")),
        (Return | Move | Arrive | Service, PieceState::Missing) => Err(format!("{tag} is missing; say first where it was found")),
        (Return, PieceState::InService) => Err(format!("{tag} is in service already")),
        (Return, PieceState::OutOfService) => facts.held_by.map_or(Ok(()), |by| Err(held(tag, by))),
        (Retire, _) if facts.held_by == Some(HoldBy::Ticket) => Err(held(tag, HoldBy::Ticket)),
        _ => Ok(()),
    }
}

/// What decides whether a piece may be said to have been tried.
#[derive(Debug, Clone, Copy)]
pub struct TrialFacts<'a> {
    /// What people call it.
    pub tag: &'a str,
    /// Its state.
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
        use PieceAct::{Arrive, Find, Hold, Move, ReportMissing, Retire, Return, Service, TakeOut};
        use PieceState::{InService, Missing, OutOfService, Retired};
        let all = [TakeOut, Hold, Return, Move, Arrive, ReportMissing, Find, Service, Retire];
        for (state, held_by, refused) in [
            (InService, None, &[Return, Find][..]),
            (OutOfService, None, &[Find]),
            (OutOfService, Some(HoldBy::Defect), &[Return, Find]),
            (OutOfService, Some(HoldBy::Ticket), &[Return, Find, Retire]),
            (Missing, None, &[Return, Move, Arrive, Service, ReportMissing]),
            (Missing, Some(HoldBy::Ticket), &[Return, Move, Arrive, Service, ReportMissing, Retire]),
            (Retired, None, &all),
        ] {
            for act in all {
                let facts = PieceFacts { tag: "E1-CUT", state, held_by };
                assert_eq!(may(act, facts).is_err(), refused.contains(&act), "{act:?} {state:?} {held_by:?}");
            }
        }
    }

    #[test]
    fn a_piece_is_tried_in_service_on_a_rig_and_after_it_came_aboard() {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        let facts = TrialFacts {
            tag: "R-CUT",
            state: PieceState::InService,
            is_aboard: true,
            aboard_since: Some(at(100)),
            has_a_defect: false,
        };
        assert_eq!(may_be_tried(facts, at(100)), Ok(()));
        let never_moved = TrialFacts { aboard_since: None, ..facts };
        assert_eq!(may_be_tried(never_moved, at(1)), Ok(()));
        for (refused, when) in [
            (facts, at(99)),
            (TrialFacts { is_aboard: false, ..facts }, at(101)),
            (TrialFacts { has_a_defect: true, ..facts }, at(101)),
        ] {
            assert!(may_be_tried(refused, when).is_err(), "{refused:?}");
        }
        for state in [PieceState::OutOfService, PieceState::Missing, PieceState::Retired] {
            assert!(may_be_tried(TrialFacts { state, ..facts }, at(101)).is_err(), "{state:?}");
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
