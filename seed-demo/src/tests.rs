//! The plan before it is told: the same every time, sound, and as rich as was promised.

use crate::{
    ADMIN, SIGN_INS,
    county::Place,
    deeds::Deed,
    faults::FAULTS,
    ledger::{Bench, Ledger, Seen, Swapped},
    people::members,
    places::{DISTRICTS, RIGS, STATIONS},
    plan::{Plan, Scene},
    when::{FIRST_DAY, begins, days_before, today},
};
use chrono::{DateTime, NaiveDate, TimeDelta, Utc};
use std::collections::{BTreeMap, BTreeSet};
use uuid::Uuid;

/// Days to end on: an ordinary one, both sides of each clock change, a leap day, and a day after which a life of ten
/// years began on one.
const ENDS: [(i32, u32, u32); 8] = [
    (2026, 11, 25),
    (2026, 3, 9),
    (2026, 3, 12),
    (2026, 11, 2),
    (2026, 11, 9),
    (2028, 2, 29),
    (2028, 3, 24),
    (2027, 1, 1),
];

pub fn ends() -> impl Iterator<Item = NaiveDate> {
    ENDS.into_iter().map(|(year, month, day)| NaiveDate::from_ymd_opt(year, month, day).unwrap())
}

fn plan() -> Plan {
    Plan::of(ends().next().unwrap()).unwrap()
}

fn count(plan: &Plan, deed: impl Fn(&Deed) -> bool) -> usize {
    plan.acts.iter().filter(|act| deed(&act.deed)).count()
}

fn open_tickets(ledger: &Ledger<'_>) -> BTreeMap<Bench, usize> {
    let mut of = BTreeMap::new();
    for state in ledger.tickets.values().filter(|state| **state != Bench::Closed) {
        *of.entry(*state).or_default() += 1;
    }
    of
}

fn read(plan: &Plan) -> Ledger<'_> {
    let mut ledger = Ledger::new(&plan.county);
    for act in &plan.acts {
        ledger.read(act).unwrap();
    }
    ledger
}

#[test]
fn the_story_of_a_day_is_the_same_every_time() {
    let (one, other) = (plan(), plan());
    assert_eq!(one.acts, other.acts);
    assert_eq!(one.county.pieces, other.county.pieces);
    assert_eq!(one.county.units, other.county.units);
}

#[test]
fn whatever_day_it_ends_on_no_piece_ticket_swap_or_rig_contradicts_itself() {
    for end in ends() {
        let plan = Plan::of(end).unwrap();
        let ledger = read(&plan);
        assert_eq!(open_tickets(&ledger).values().sum::<usize>(), 15, "{end}");
        assert_eq!(ledger.swaps.values().filter(|(state, _)| *state == Swapped::Open).count(), 3, "{end}");
    }
}

#[test]
fn a_story_that_leaves_out_a_step_is_found_out() {
    let plan = plan();
    let steps: [fn(&Deed) -> bool; 4] = [
        |deed| matches!(deed, Deed::Accept { .. }),
        |deed| matches!(deed, Deed::Test { passed: true, .. }),
        |deed| matches!(deed, Deed::Open { .. }),
        |deed| matches!(deed, Deed::Return { .. }),
    ];
    for step in steps {
        let first = plan.acts.iter().position(|act| step(&act.deed)).unwrap();
        let mut ledger = Ledger::new(&plan.county);
        let others = plan.acts.iter().enumerate().filter(|(at, _)| *at != first);
        assert!(others.map(|(_, act)| ledger.read(act)).any(|read| read.is_err()), "{:?}", plan.acts[first]);
    }
}

#[test]
fn the_county_is_as_large_as_promised_and_no_tag_name_or_email_is_there_twice() {
    let county = plan().county;
    assert!(DISTRICTS.len() >= 4 && STATIONS.len() == 26 && RIGS.len() == 42 && county.classes.len() == 3);
    assert!(county.pieces.len() >= 350, "{}", county.pieces.len());
    let distinct = |names: Vec<String>| names.len() == names.iter().collect::<BTreeSet<_>>().len();
    assert!(distinct(county.pieces.iter().map(|piece| piece.tag.to_lowercase()).collect()), "tags");
    assert!(distinct(county.pieces.iter().map(|piece| piece.serial.clone()).collect()), "serials");
    assert!(distinct(RIGS.iter().map(|rig| rig.name.to_lowercase()).collect()), "rigs");
    assert!(distinct(STATIONS.iter().map(|station| station.name.to_lowercase()).collect()), "stations");
    assert!(
        distinct(
            members()
                .map(|member| member.person.email.to_lowercase())
                .chain([ADMIN.email.to_owned()])
                .collect()
        ),
        "emails"
    );
    assert!(distinct(members().map(|member| member.person.name.to_lowercase()).collect()), "names");
    let ids: Vec<Uuid> = county
        .pieces
        .iter()
        .map(|piece| piece.id)
        .chain(county.rigs.iter().map(|(id, _)| *id))
        .collect();
    assert!(distinct(ids.iter().map(Uuid::to_string).collect()) && ids.iter().all(|id| id.get_version_num() == 7));
    for rig in RIGS {
        assert!(STATIONS.iter().any(|station| station.number == rig.station), "{}", rig.name);
    }
}

#[test]
fn one_sign_in_for_each_role_and_the_bound_ones_are_bound() {
    let roles: Vec<&str> = SIGN_INS.iter().map(|person| person.role).collect();
    assert_eq!(roles, ["crew", "officer", "shop", "chief", "coordinator", "admin"]);
    assert!(members().all(|member| member.person.email.ends_with(".example")));
    for role in ["crew", "officer", "chief"] {
        assert!(
            members()
                .filter(|member| member.person.role == role)
                .all(|member| member.reach != crate::people::Reach::Agency),
            "{role}"
        );
    }
    let crews: BTreeSet<&str> = STATIONS.iter().map(|station| crate::people::crew_of(station.number).email).collect();
    assert_eq!(crews.len(), 26);
}

#[test]
fn half_a_year_brings_what_was_promised() {
    let plan = plan();
    let ledger = read(&plan);
    let defects = count(&plan, |deed| matches!(deed, Deed::Report { .. }));
    assert!((80..=150).contains(&defects), "{defects} defects");
    assert!(ledger.defects.values().filter(|defect| defect.is_open).count() >= 12);
    assert!(ledger.defects.values().map(|defect| defect.repeats).sum::<usize>() >= 20);
    assert_eq!(open_tickets(&ledger).len(), 5, "open tickets are in every state");
    assert!(ledger.swaps.values().filter(|(state, _)| *state == Swapped::Ended).count() >= 12);
    assert_eq!(ledger.swaps.values().filter(|(state, _)| *state == Swapped::Kept).count(), 4);
    assert!(count(&plan, |deed| matches!(deed, Deed::Test { passed: false, .. })) >= 3);
    assert!(count(&plan, |deed| matches!(deed, Deed::Serviced { .. })) >= 80);
    assert!(count(&plan, |deed| matches!(deed, Deed::Use { .. })) >= 60);
    assert!(count(&plan, |deed| matches!(deed, Deed::Extend { .. })) >= 1);
    let at = |wanted: fn(&Seen) -> bool| ledger.pieces.values().filter(|piece| wanted(&piece.seen)).count();
    assert_eq!(at(|seen| *seen == Seen::Retired), 4);
    assert_eq!(at(|seen| matches!(seen, Seen::Missing(_))), 1);
    assert_eq!(at(|seen| matches!(seen, Seen::OnTheWay(_))), 1);
    assert_eq!(at(|seen| matches!(seen, Seen::At(Place::Loan { .. }))), 1);
    assert_eq!(ledger.rigs_out.len(), 1);
}

#[test]
fn what_came_aboard_a_rig_was_tried_there_but_for_the_stand_in_that_does_not_fit() {
    for end in ends() {
        let plan = Plan::of(end).unwrap();
        let mut ledger = Ledger::new(&plan.county);
        let mut owed: BTreeMap<Uuid, bool> = BTreeMap::new();
        for act in &plan.acts {
            let rig = |ledger: &Ledger<'_>, id: &Uuid| match ledger.pieces.get(id).map(|state| &state.seen) {
                Some(Seen::At(Place::Rig(rig))) => Some(*rig),
                _ => None,
            };
            let touched = act.deed.touches();
            let before: Vec<Option<Uuid>> = touched.iter().map(|id| rig(&ledger, id)).collect();
            ledger.read(act).unwrap();
            for (id, before) in touched.iter().zip(before) {
                let now = rig(&ledger, id);
                if now != before {
                    owed.insert(*id, now.is_some());
                }
            }
            if let Deed::TryOut { pieces } = &act.deed {
                owed.extend(pieces.iter().map(|piece| (*piece, false)));
            }
        }
        let untried = plan.county.pieces.iter().filter(|piece| owed.get(&piece.id) == Some(&true));
        let untried: Vec<&str> = untried
            .filter(|piece| piece.kind != crate::catalogue::Kind::Accessory && !ledger.pieces[&piece.id].is_out)
            .map(|piece| piece.tag.as_str())
            .collect();
        let wrong = plan.county.reserve(15, "cutter").unwrap().tag.as_str();
        assert!(untried.iter().all(|tag| *tag == wrong), "{end}: {untried:?}");
    }
    assert!(count(&plan(), |deed| matches!(deed, Deed::TryOut { .. })) >= 20);
}

#[test]
fn everything_happens_within_the_story_and_in_order() {
    for end in ends() {
        let plan = Plan::of(end).unwrap();
        for second in [1, 3_600, 43_200, 86_399] {
            let noon = crate::when::day(0, 0, 0).by_clock(end) + TimeDelta::seconds(second);
            let told: Vec<DateTime<Utc>> = plan.acts.iter().map(|act| act.when.told_at(noon)).collect();
            assert!(told.iter().all(|at| *at > begins(end) && *at <= noon), "{end}");
            assert!(told.is_sorted(), "{end}");
        }
        assert!(plan.acts.iter().all(|act| act.when.is_tellable()), "{end}");
        assert_eq!(today(begins(end) + TimeDelta::hours(1)), days_before(end, FIRST_DAY));
    }
}

/// The weekly round is of the last hours on a Monday, after whatever anybody does.
#[test]
fn whatever_hour_of_the_week_it_ends_at_everything_is_told_once_and_in_order() {
    let monday: DateTime<Utc> = "2026-11-30T06:30:00Z".parse().unwrap();
    for hour in 0..7 * 24 {
        let end = monday + TimeDelta::hours(hour);
        let plan = Plan::of(today(end)).unwrap();
        let scenes = plan.scenes(end);
        let rounds = scenes.iter().filter(|scene| matches!(scene, Scene::WeeklyChecks(_))).count();
        let acts: usize = scenes.iter().map(|scene| if let Scene::Acts(.., acts) = scene { acts.len() } else { 0 }).sum();
        assert_eq!((rounds, acts), (1, plan.acts.len()), "ends at {end}");
        assert!(scenes.iter().map(Scene::at).is_sorted(), "ends at {end}");
        assert!(scenes.iter().all(|scene| scene.at() <= end), "ends at {end}");
    }
}

#[test]
fn annual_services_are_in_time_but_for_two_pieces_and_two_rigs_that_are_booked() {
    let plan = plan();
    let today = plan.county.today;
    let mut served: BTreeMap<Uuid, NaiveDate> = plan.county.pieces.iter().filter_map(|piece| Some((piece.id, piece.served_on?))).collect();
    for act in &plan.acts {
        if let Deed::Serviced { piece, on, .. } = &act.deed {
            let before = served.insert(*piece, *on).unwrap();
            assert!(*on - before <= TimeDelta::days(365), "{act:?}");
        }
    }
    let ledger = read(&plan);
    let late = served
        .iter()
        .filter(|(id, on)| ledger.pieces[*id].seen != Seen::Retired && today - **on > TimeDelta::days(365));
    let late: Vec<i64> = late.map(|(_, on)| (today - *on).num_days() - 365).collect();
    assert_eq!(BTreeSet::from_iter(late), BTreeSet::from([5, 9, 12, 38]));
}

#[test]
fn hoses_are_young_enough_but_for_the_one_that_grows_old() {
    for end in ends() {
        let county = Plan::of(end).unwrap().county;
        let old = county.aboard("Engine 22", "hose 2").unwrap().id;
        let young = crate::when::years_before(end, crate::county::HOSE_YEARS);
        for hose in county.pieces.iter().filter(|piece| piece.kind == crate::catalogue::Kind::Hose) {
            assert_eq!(hose.made_on <= young, hose.id == old, "{}", hose.tag);
            assert!(hose.made_on < hose.since && hose.served_on.is_some_and(|on| on > hose.since), "{}", hose.tag);
        }
    }
}

#[test]
fn every_fault_has_words_of_its_own_and_a_piece_to_happen_to() {
    let all: Vec<&str> = FAULTS.iter().map(|fault| fault.what).collect();
    assert_eq!(all.len(), all.iter().collect::<BTreeSet<_>>().len());
    assert!(FAULTS.iter().all(|fault| !fault.kinds.is_empty()));
}
