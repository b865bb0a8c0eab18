//! Swap plans against `tests/published/data` and against every plan tried.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)]

mod published_data;

use fullset_calc::Unwatched;
use fullset_calc::coverage::{TravelCurve, Zone};
use fullset_calc::swaps::{Day, District, Donor, Fit, Group, Home, Mend, Rig, SwapPlan, Unjudged, Want, swap_plan};
use published_data::{Dice, at, data};
use serde_json::Value;
use std::collections::BTreeSet;
use uuid::Uuid;

const AMPLE: u64 = 20_000_000_000;

fn id(n: usize) -> Uuid {
    Uuid::from_u128(n as u128)
}

fn list(value: &Value) -> &Vec<Value> {
    value.as_array().unwrap()
}

/// Right-angle miles and the published curve, as the file was made.
fn minutes(a: &Value, b: &Value) -> f64 {
    TravelCurve::PUBLISHED.minutes((at(a, "x") - at(b, "x")).abs() + (at(a, "y") - at(b, "y")).abs())
}

fn published(case: &Value) -> Day {
    let mut day = Day::default();
    for zone in list(&case["demand"]) {
        let id = id(day.zones.len());
        day.zones.push(Zone { id, weight: at(zone, "w") });
    }
    for (n, rig) in list(&case["rigs"]).iter().enumerate() {
        let within = |zone: &Value| minutes(rig, zone) <= at(case, "limit_minutes") + 1e-9;
        let gaps = list(&rig["gaps"]);
        let want = |slot: &Value| {
            let reserves = list(&case["reserves"]).iter().enumerate();
            let fits = reserves.filter(|(_, reserve)| reserve["kind"] == *slot && reserve["coupling"] == rig["coupling"]);
            Want {
                fits: fits
                    .map(|(donor, reserve)| Fit {
                        donor,
                        minutes: minutes(reserve, rig),
                    })
                    .collect(),
            }
        };
        day.rigs.push(Rig {
            id: id(n),
            name: rig["id"].as_str().unwrap().to_owned(),
            full: gaps.is_empty(),
            is_sought: true,
            reaches: list(&case["demand"]).iter().enumerate().filter(|(_, z)| within(z)).map(|(n, _)| n).collect(),
            mends: (!gaps.is_empty())
                .then(|| Mend {
                    wants: gaps.iter().map(want).collect(),
                    rests_on: Vec::new(),
                })
                .into_iter()
                .collect(),
            ..Rig::default()
        });
    }
    for (n, reserve) in list(&case["reserves"]).iter().enumerate() {
        day.donors.push(donor(n, reserve["id"].as_str().unwrap()));
    }
    day
}

fn planned(day: &Day, budget: u64) -> SwapPlan {
    swap_plan(day, &mut Unjudged, budget, &mut Unwatched).unwrap()
}

fn donor(n: usize, name: &str) -> Donor {
    Donor {
        id: id(n),
        name: name.to_owned(),
        home: Home::Shelf,
        place: "the shelf".to_owned(),
        district: None,
        group: None,
        leaves: None,
    }
}

/// Rig and donor of each move.
type Moves = Vec<(usize, usize)>;

/// Whether some mend of a rig is made by just these donors, one for each want; the minutes of the cheapest way.
fn made_by(day: &Day, rig: usize, donors: &[usize], gone: &BTreeSet<usize>) -> Option<f64> {
    fn fill(wants: &[Want], donors: &[usize]) -> Option<f64> {
        let Some((want, rest)) = wants.split_first() else {
            return donors.is_empty().then_some(0.0);
        };
        let ways = donors.iter().filter_map(|donor| {
            let minutes = want.fits.iter().filter(|fit| fit.donor == *donor).map(|fit| fit.minutes).reduce(f64::min)?;
            let left: Vec<usize> = donors.iter().copied().filter(|other| other != donor).collect();
            Some(minutes + fill(rest, &left)?)
        });
        ways.reduce(f64::min)
    }
    let mends = day.rigs[rig]
        .mends
        .iter()
        .filter(|mend| !mend.rests_on.iter().any(|donor| gone.contains(donor)));
    mends
        .filter(|mend| !mend.wants.is_empty())
        .filter_map(|mend| fill(&mend.wants, donors))
        .reduce(f64::min)
}

/// What a plan is worth, from the day alone: weight, moves, minutes; `None` when it breaks a rule.
fn judge(day: &Day, moves: &Moves) -> Option<(f64, usize, f64)> {
    let gone: BTreeSet<usize> = moves.iter().map(|m| m.1).collect();
    if gone.len() < moves.len() {
        return None;
    }
    for (n, group) in day.groups.iter().enumerate() {
        if gone.iter().filter(|d| day.donors[**d].group == Some(n)).count() > group.most {
            return None;
        }
    }
    let mut minutes = 0.0;
    let mut reached: BTreeSet<usize> = BTreeSet::new();
    for (n, rig) in day.rigs.iter().enumerate() {
        let comes: Vec<usize> = moves.iter().filter(|m| m.0 == n).map(|m| m.1).collect();
        if !comes.is_empty() {
            minutes += made_by(day, n, &comes, &gone).filter(|_| !rig.full)?;
        }
        if rig.full || !comes.is_empty() {
            reached.extend(&rig.reaches);
        }
    }
    Some((reached.iter().map(|z| day.zones[*z].weight).sum(), moves.len(), minutes))
}

/// The moves of an answer as numbers; every one is a real one and every statement holds.
fn moves_of(day: &Day, plan: &SwapPlan) -> Moves {
    let mut moves = Vec::new();
    for m in &plan.moves {
        let (rig, donor) = (m.rig.as_u128() as usize, m.piece.as_u128() as usize);
        moves.push((rig, donor));
        assert!(m.words.contains(&day.rigs[rig].name) && m.words.contains(&day.donors[donor].name));
        assert_eq!(m.leaves, day.donors[donor].leaves);
    }
    let (value, n, minutes) = judge(day, &moves).unwrap();
    assert!(
        (value - plan.after).abs() < 1e-6 && n == plan.moves.len() && (minutes - plan.minutes).abs() < 1e-4,
        "{plan:?} {minutes}"
    );
    assert!(plan.bound >= plan.after - 1e-9 && plan.after >= plan.before);
    for restored in &plan.restored {
        let rig = restored.rig.as_u128() as usize;
        let without: Moves = moves.iter().copied().filter(|m| m.0 != rig).collect();
        assert_eq!(moves.len() - without.len(), restored.moves);
        assert!((plan.after - judge(day, &without).unwrap().0 - restored.weight).abs() < 1e-6);
        assert!(restored.weight > 0.0, "no rig is made full for nothing");
    }
    let down = day.rigs.iter().filter(|r| !r.full).count();
    assert_eq!(plan.unrestored.len() + plan.restored.len(), down);
    moves
}

#[test]
fn every_published_swap_optimum_is_met() {
    let file = data("swap_instances");
    for case in list(&file["cases"]) {
        let day = published(case);
        let plan = planned(&day, AMPLE);
        moves_of(&day, &plan);
        let found = (plan.total, plan.before, plan.after, plan.moves.len());
        let expected = (
            at(case, "total"),
            at(case, "covered_before"),
            at(case, "covered_best"),
            at(case, "moves") as usize,
        );
        assert_eq!(found, expected, "{}", case["id"]);
        assert!(
            (plan.minutes - at(case, "minutes")).abs() < 0.01 && plan.proved,
            "{}: {}",
            case["id"],
            plan.minutes
        );
    }
    assert!(list(&file["cases"]).len() >= 14);
}

fn random(dice: &mut Dice, zones: usize, rigs: usize, donors: usize, fit_in: usize) -> Day {
    let mut day = Day::default();
    for n in 0..zones {
        let weight = if dice.below(5) == 0 { 0.0 } else { dice.below(500) as f64 / 10.0 };
        day.zones.push(Zone { id: id(n), weight });
    }
    day.groups = (0..2).map(|_| Group { most: dice.below(3) }).collect();
    for n in 0..donors {
        let mut one = donor(n, &format!("P{n}"));
        one.group = (dice.below(3) == 0).then(|| dice.below(2));
        one.leaves = (dice.below(3) == 0).then(|| "a spare place".to_owned());
        day.donors.push(one);
    }
    for n in 0..rigs {
        let full = dice.below(5) == 0;
        let mut rig = Rig {
            id: id(n),
            name: format!("R{n}"),
            full,
            is_sought: true,
            reaches: (0..zones).filter(|_| dice.below(3) == 0).collect(),
            ..Rig::default()
        };
        for _ in 0..if full { 0 } else { dice.below(4) } {
            let mut mend = Mend::default();
            for _ in 0..=dice.below(3) {
                let fits = (0..donors).filter(|_| dice.below(fit_in) == 0).collect::<Vec<usize>>();
                let fit = |donor: usize, dice: &mut Dice| Fit {
                    donor,
                    minutes: dice.below(20) as f64,
                };
                mend.wants.push(Want {
                    fits: fits.into_iter().map(|donor| fit(donor, dice)).collect(),
                });
            }
            mend.rests_on = (0..donors).filter(|_| dice.below(12) == 0).collect();
            rig.mends.push(mend);
        }
        day.rigs.push(rig);
    }
    day
}

fn all_plans(day: &Day, rig: usize, moves: &mut Moves, best: &mut (f64, usize, f64)) {
    if rig == day.rigs.len() {
        let Some(now) = judge(day, moves) else { return };
        let more = now.0 - best.0;
        let better = more > 1e-7 || more > -1e-7 && (now.1 < best.1 || now.1 == best.1 && now.2 < best.2 - 1e-7);
        if better {
            *best = now;
        }
        return;
    }
    all_plans(day, rig + 1, moves, best);
    for mend in &day.rigs[rig].mends {
        fill(day, rig, &mend.wants, moves, best);
    }
}

fn fill(day: &Day, rig: usize, wants: &[Want], moves: &mut Moves, best: &mut (f64, usize, f64)) {
    let Some((want, rest)) = wants.split_first() else {
        return all_plans(day, rig + 1, moves, best);
    };
    for fit in &want.fits {
        if !moves.iter().any(|m| m.1 == fit.donor) {
            moves.push((rig, fit.donor));
            fill(day, rig, rest, moves, best);
            moves.pop();
        }
    }
}

#[test]
fn random_days_are_planned_as_well_as_the_best_of_all_plans() {
    let mut dice = Dice(41);
    let (mut moved, mut grouped, mut several) = (0, 0, 0);
    for round in 0..2000 {
        let (rigs, donors, fit_in) = (1 + dice.below(4), dice.below(6), 1 + dice.below(3));
        let day = random(&mut dice, 8, rigs, donors, fit_in);
        let plan = planned(&day, AMPLE);
        let moves = moves_of(&day, &plan);
        let mut best = (0.0, 0, 0.0);
        all_plans(&day, 0, &mut Vec::new(), &mut best);
        let found = judge(&day, &moves).unwrap();
        let same = (found.0 - best.0).abs() < 1e-6 && found.1 == best.1 && (found.2 - best.2).abs() < 1e-4;
        assert!(same && plan.proved, "round {round}: {found:?} for {best:?}");
        assert_eq!(plan, planned(&day, AMPLE));
        moved += usize::from(!moves.is_empty());
        several += usize::from(moves.len() > 1);
        grouped += usize::from(moves.iter().any(|m| day.donors[m.1].group.is_some()));
    }
    assert!(moved > 100 && several > 40 && grouped > 40, "{moved} {several} {grouped}");
}

#[test]
fn a_larger_day_out_of_budget_is_told_with_a_bound_that_holds() {
    let mut dice = Dice(43);
    for _ in 0..4 {
        let day = random(&mut dice, 40, 16, 60, 6);
        let whole = planned(&day, AMPLE);
        moves_of(&day, &whole);
        assert!(whole.proved, "{}", whole.words);
        let cut = planned(&day, 3000);
        moves_of(&day, &cut);
        assert!(cut.after <= whole.after && cut.bound >= whole.after);
        let stopped = swap_plan(&day, &mut Unjudged, AMPLE, &mut |_, _, _| false).unwrap();
        assert!(stopped.bound >= whole.after);
    }
}

#[test]
fn what_is_not_there_is_refused() {
    let mut dice = Dice(47);
    let mut day = random(&mut dice, 3, 2, 1, 1);
    day.donors[0].district = Some(9);
    assert_eq!(swap_plan(&day, &mut Unjudged, AMPLE, &mut Unwatched).unwrap_err().code, "number");
    let nothing = planned(&Day::default(), AMPLE);
    assert!(nothing.moves.is_empty() && nothing.proved);
}

/// Two districts. In the first a rig lacks a cutter, and has a pump; in the second, where more people live, a rig lacks a pump.
fn two_districts(cutter_in: usize) -> Day {
    let fit = |donor| Want {
        fits: vec![Fit { donor, minutes: 5.0 }],
    };
    let rig = |n: usize, mend: Mend| Rig {
        id: id(n),
        name: format!("R{n}"),
        is_sought: true,
        reaches: vec![n],
        district: Some(n),
        mends: vec![mend],
        ..Rig::default()
    };
    let (mut pump, mut cutter) = (donor(0, "pump"), donor(1, "cutter"));
    (pump.home, pump.district, cutter.district) = (Home::Rig, Some(0), Some(cutter_in));
    Day {
        zones: [10.0, 100.0].into_iter().enumerate().map(|(n, weight)| Zone { id: id(n), weight }).collect(),
        rigs: vec![
            rig(
                0,
                Mend {
                    wants: vec![fit(1)],
                    rests_on: vec![0],
                },
            ),
            rig(
                1,
                Mend {
                    wants: vec![fit(0)],
                    rests_on: vec![],
                },
            ),
        ],
        donors: vec![pump, cutter],
        groups: vec![],
        districts: vec![District { is_short: true }, District { is_short: false }],
    }
}

#[test]
fn a_short_district_is_not_stripped_of_a_pump_while_its_own_cutter_is_ready() {
    let plan = planned(&two_districts(0), AMPLE);
    assert_eq!(moves_of(&two_districts(0), &plan), [(0, 1)], "{}", plan.words);
    assert!(plan.unrestored[0].words.contains("stays in its own district"), "{:?}", plan.unrestored);
    // The cutter of another district is not at hand, and a district that is not short gives.
    let mut enough = two_districts(0);
    enough.districts[0].is_short = false;
    for day in [two_districts(1), enough] {
        assert_eq!(moves_of(&day, &planned(&day, AMPLE)), [(1, 0)]);
    }
}

#[test]
fn what_was_not_tried_is_not_proved() {
    let mut day = two_districts(1);
    day.rigs[0].undecided = Some("too many".into());
    let plan = planned(&day, AMPLE);
    assert!(!plan.proved && plan.bound == 110.0 && plan.after == 100.0, "{plan:?}");
    assert_eq!(plan.undecided.iter().map(|open| open.rig).collect::<Vec<_>>(), [id(0)]);
    assert!(plan.words.contains("not every set of pieces was tried"), "{}", plan.words);
    // One that would bring nothing changes nothing.
    day.rigs[0].reaches = vec![];
    assert!(planned(&day, AMPLE).proved);
}
