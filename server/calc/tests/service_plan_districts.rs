//! Service plans and what districts can spare: reserve sets that stand in, the smallest remedy, districts that do not hold each other up.
#![allow(clippy::unwrap_used, clippy::indexing_slicing, clippy::cast_possible_truncation, clippy::cast_sign_loss)]

mod yearly;

use fullset_calc::service_plan::{District, Set, Shop, StandIn, Verdict, Year};
use yearly::{ask, id, periods};

/// Sets of one district without a window of their own: each from the first to the last of `n` periods, an hour of work, ample shops.
fn plain(sets: usize, n: usize, most_away: usize) -> Year {
    let set = |s: usize| Set {
        id: id(s),
        name: format!("S{s}"),
        district: 0,
        hours: 1.0,
        earliest: 0,
        latest: n - 1,
        due: n - 1,
        shops: vec![],
        pinned: None,
    };
    Year {
        periods: periods(n),
        districts: vec![District {
            id: id(0),
            name: "D0".into(),
            most_away: vec![most_away],
            stand_ins: vec![],
        }],
        shops: vec![Shop {
            id: id(0),
            name: "shop".into(),
            hours: vec![100.0],
        }],
        sets: (0..sets).map(set).collect(),
    }
}

/// Another district like the first, with one set `S9` of so many hours.
fn add_district(year: &mut Year, hours: f64) {
    year.districts.push(District {
        id: id(1),
        name: "D1".into(),
        ..year.districts[0].clone()
    });
    year.sets.push(Set {
        id: id(9),
        name: "S9".into(),
        district: 1,
        hours,
        ..year.sets[0].clone()
    });
}

#[test]
fn a_reserve_set_counts_only_for_the_rigs_that_it_restores_and_while_it_is_at_home() {
    let mut year = plain(2, 1, 0);
    year.districts[0].stand_ins = vec![StandIn {
        id: id(50),
        name: "R".into(),
        due: None,
        restores: vec![(0, vec![0])],
    }];
    let plan = ask(&year);
    assert_eq!(
        (plan.verdict, &plan.unplanned),
        (Verdict::Partly, &vec![id(1)]),
        "it does nothing for S1: {}",
        plan.words
    );
    assert_eq!(plan.plan[0].stand_in, Some(id(50)), "the plan says which");
    year.sets.pop();
    assert_eq!(ask(&year).verdict, Verdict::Planned);
    // Now it is due in that only week itself.
    let mut both = year.clone();
    both.sets.push(Set {
        id: id(7),
        name: "R".into(),
        ..year.sets[0].clone()
    });
    both.districts[0].stand_ins[0].due = Some(1);
    let plan = ask(&both);
    assert_eq!((plan.verdict, plan.unplanned.len()), (Verdict::Partly, 1), "{}", plan.words);
    let mut two_weeks = both;
    two_weeks.periods = periods(2);
    two_weeks.districts[0].stand_ins[0].restores = vec![(0, vec![1])];
    (two_weeks.sets[0].latest, two_weeks.sets[1].latest) = (1, 1);
    let plan = ask(&two_weeks);
    assert_eq!(plan.verdict, Verdict::Planned, "{}", plan.words);
    assert_eq!(
        (plan.plan[0].period, plan.plan[1].period),
        (1, 0),
        "it restores in the second week alone, so it goes in the first"
    );
}

#[test]
fn the_smallest_remedy_is_one_more_in_each_week_and_not_all_in_one() {
    let year = plain(3, 3, 0);
    let plan = ask(&year);
    let more: Vec<f64> = plan.reliefs.iter().map(|relief| relief.more).collect();
    assert_eq!(more, [1.0; 3], "a cap of 1 does: {}", plan.words);
}

#[test]
fn one_impossible_district_holds_up_no_other() {
    let mut year = plain(3, 1, 1);
    add_district(&mut year, 1.0);
    let plan = ask(&year);
    assert_eq!((plan.verdict, plan.plan.len(), plan.unplanned.len()), (Verdict::Partly, 2, 2), "{}", plan.words);
    assert!(plan.plan.iter().any(|place| place.set == id(9)), "D1 is planned");
    assert!(plan.words.contains("D0: 3 sets") && plan.words.contains("2 sets planned"), "{}", plan.words);
}

#[test]
fn sets_of_one_district_are_spread() {
    // One hour a week is the least peak; with two hours already there from another district, three sets could all go in one week.
    let mut year = plain(4, 4, 4);
    add_district(&mut year, 4.0);
    let plan = ask(&year);
    assert_eq!((plan.verdict, plan.peak_hours), (Verdict::Planned, 4.0), "{}", plan.words);
    let mut weeks: Vec<usize> = plan.plan.iter().take(4).map(|place| place.period).collect();
    weeks.sort_unstable();
    weeks.dedup();
    assert!(weeks.len() >= 3, "{weeks:?}");
}
