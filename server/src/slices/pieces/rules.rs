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
    /// Who says so.
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

/// The serial number as two plates are compared: capitals and blanks make no difference.
pub fn same_serial(one: &str, other: &str) -> bool {
    let plain = |text: &str| text.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect::<String>();
    plain(one) == plain(other)
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
    fn a_late_old_entry_never_overwrites_a_newer_one() {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        assert_eq!(later(Some(at(20)), at(10)), Some(at(20)));
        assert_eq!(later(Some(at(10)), at(20)), Some(at(20)));
        assert_eq!(later(None, at(10)), Some(at(10)));
    }

    #[test]
    fn only_the_shop_says_that_a_piece_was_flushed_and_only_of_one_that_is_out() {
        let sound = FluidChange {
            tag: "E1-CUT",
            before: Some("mineral oil"),
            after: Some("phosphate ester"),
            same_kind: true,
            out_of_service: true,
            role: Role::Shop,
            by_makers_service: false,
        };
        assert_eq!(may_change_fluid(sound), Ok(()));
        assert_eq!(may_change_fluid(FluidChange { before: None, ..sound }), Ok(()));
        for role in [Role::Crew, Role::Officer, Role::Chief, Role::Coordinator, Role::Admin] {
            let change = FluidChange { role, ..sound };
            assert!(may_change_fluid(change).is_err(), "{role}");
            let by_paper = FluidChange {
                by_makers_service: true,
                ..change
            };
            assert_eq!(may_change_fluid(by_paper), Ok(()), "{role}");
        }
        let faults = [
            FluidChange {
                out_of_service: false,
                ..sound
            },
            FluidChange { same_kind: false, ..sound },
            FluidChange { after: None, ..sound },
            FluidChange { after: sound.before, ..sound },
        ];
        for change in faults {
            assert!(may_change_fluid(change).is_err(), "{change:?}");
        }
    }

    #[test]
    fn blanks_and_capitals_make_no_other_serial() {
        assert!(same_serial("AB 12", "ab12") && !same_serial("AB12", "AB-12") && !same_serial("AB10", "ABIO"));
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
