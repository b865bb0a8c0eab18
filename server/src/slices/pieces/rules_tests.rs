//! What a piece's state permits.

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
                is_kept: false,
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
            is_kept: false,
        };
        assert!(may(act, facts).is_err(), "{act:?}");
    }
}

#[test]
fn a_piece_that_a_changeover_keeps_stands_in_for_none() {
    let shelf = Place::Shelf {
        station: crate::slices::stations::StationId(uuid::Uuid::from_u128(1)),
    };
    let facts = |is_kept| PieceFacts {
        tag: "NEW-1",
        state: PieceState::InService,
        place: &shelf,
        held_by: None,
        holds: 0,
        is_kept,
    };
    assert_eq!(may(PieceAct::StandIn, facts(false)), Ok(()));
    assert_eq!(may(PieceAct::StandIn, facts(true)), Err(kept("NEW-1")));
    assert_eq!(may(PieceAct::Move, facts(true)), Ok(()), "to another shelf");
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
fn a_tablet_and_the_service_sign_nothing() {
    for role in [Role::Tablet, Role::Service, Role::Crew] {
        assert!(!role_of(role).signs(release::Signature::Officer));
    }
    assert!(role_of(Role::Shop).signs(release::Signature::Technician));
    assert!(!role_of(Role::Admin).signs(release::Signature::Technician));
}
