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
use fullset_calc::assignment::assignment;
use fullset_calc::coverage::{TravelCurve, Zone};
use fullset_calc::swaps::{Day, Donor, Fit, Gap, Group, Home, Rig, SwapPlan, swap_plan};
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
        day.rigs.push(Rig {
            id: id(n),
            name: rig["id"].as_str().unwrap().to_owned(),
            full: gaps.is_empty(),
            reaches: list(&case["demand"]).iter().enumerate().filter(|(_, z)| within(z)).map(|(n, _)| n).collect(),
        });
        for slot in gaps {
            for (donor, reserve) in list(&case["reserves"]).iter().enumerate() {
                if reserve["kind"] == *slot && reserve["coupling"] == rig["coupling"] {
                    let gap = day.gaps.len();
                    let minutes = minutes(reserve, rig);
                    day.fits.push(Fit { gap, donor, minutes });
                }
            }
            let slot = slot.as_str().unwrap().to_owned();
            day.gaps.push(Gap { rig: n, slot });
        }
    }
    for (n, reserve) in list(&case["reserves"]).iter().enumerate() {
        day.donors.push(donor(n, reserve["id"].as_str().unwrap()));
    }
    day
}

fn donor(n: usize, name: &str) -> Donor {
    Donor {
        id: id(n),
        name: name.to_owned(),
        home: Home::Shelf,
        place: "the shelf".to_owned(),
        group: None,
        strips: None,
        leaves: None,
    }
}

/// What a plan is worth, from the day alone: weight, moves, minutes; `None` when it breaks a rule.
fn judge(day: &Day, moves: &[(usize, usize)]) -> Option<(f64, usize, f64)> {
    let mut minutes = 0.0;
    let (mut filled, mut gone) = (BTreeSet::new(), BTreeSet::new());
    for (gap, donor) in moves {
        minutes += day.fits.iter().find(|f| (f.gap, f.donor) == (*gap, *donor))?.minutes;
        if !filled.insert(*gap) || !gone.insert(*donor) {
            return None;
        }
    }
    for (n, group) in day.groups.iter().enumerate() {
        if gone.iter().filter(|d| day.donors[**d].group == Some(n)).count() > group.most {
            return None;
        }
    }
    let full = |n: usize, rig: &Rig| {
        let mut gaps = day.gaps.iter().enumerate().filter(|(_, g)| g.rig == n).map(|(g, _)| g).peekable();
        let stripped = gone.iter().any(|d| day.donors[*d].strips == Some(n));
        rig.full || !stripped && gaps.peek().is_some() && gaps.all(|g| filled.contains(&g))
    };
    let mut reached: BTreeSet<&usize> = BTreeSet::new();
    for (n, rig) in day.rigs.iter().enumerate() {
        if full(n, rig) {
            reached.extend(&rig.reaches);
        }
    }
    Some((reached.iter().map(|z| day.zones[**z].weight).sum(), moves.len(), minutes))
}

/// The moves of an answer as numbers; every one is a real one and every statement holds.
fn moves_of(day: &Day, plan: &SwapPlan) -> Vec<(usize, usize)> {
    let mut moves = Vec::new();
    for m in &plan.moves {
        let (rig, donor) = (m.rig.as_u128() as usize, m.piece.as_u128() as usize);
        let fits = |g: usize| day.fits.iter().any(|f| (f.gap, f.donor) == (g, donor) && (f.minutes - m.minutes).abs() < 1e-5);
        let free = |g: usize| !moves.iter().any(|(gap, _)| *gap == g);
        let gap = (0..day.gaps.len()).find(|g| day.gaps[*g].rig == rig && day.gaps[*g].slot == m.slot && free(*g) && fits(*g));
        moves.push((gap.unwrap(), donor));
        assert!(m.words.contains(&day.rigs[rig].name) && m.words.contains(&day.donors[donor].name));
        assert_eq!(m.leaves.is_some(), day.donors[donor].leaves.is_some() || day.donors[donor].strips.is_some());
    }
    let (value, n, minutes) = judge(day, &moves).unwrap();
    assert!((value - plan.after).abs() < 1e-6 && n == plan.moves.len() && (minutes - plan.minutes).abs() < 1e-4);
    assert!(plan.bound >= plan.after - 1e-9 && plan.after >= plan.before);
    for restored in &plan.restored {
        let rig = restored.rig.as_u128() as usize;
        let without: Vec<(usize, usize)> = moves.iter().copied().filter(|(g, _)| day.gaps[*g].rig != rig).collect();
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
        let plan = swap_plan(&day, AMPLE, &mut Unwatched).unwrap();
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

fn random(dice: &mut Dice, zones: usize, rigs: usize, gaps: usize, donors: usize, fit_in: usize) -> Day {
    let mut day = Day::default();
    for n in 0..zones {
        let weight = if dice.below(5) == 0 { 0.0 } else { dice.below(500) as f64 / 10.0 };
        day.zones.push(Zone { id: id(n), weight });
    }
    for n in 0..rigs {
        day.rigs.push(Rig {
            id: id(n),
            name: format!("R{n}"),
            full: dice.below(5) == 0,
            reaches: (0..zones).filter(|_| dice.below(3) == 0).collect(),
        });
    }
    for n in 0..gaps {
        let rig = dice.below(rigs);
        day.gaps.push(Gap { rig, slot: format!("s{n}") });
        day.rigs[rig].full = false;
    }
    day.groups = (0..2).map(|_| Group { most: dice.below(3) }).collect();
    for n in 0..donors {
        let down: Vec<usize> = (0..rigs).filter(|r| !day.rigs[*r].full).collect();
        let mut one = donor(n, &format!("P{n}"));
        one.group = (dice.below(3) == 0).then(|| dice.below(2));
        one.strips = (dice.below(5) == 0 && !down.is_empty()).then(|| down[dice.below(down.len())]);
        one.leaves = (dice.below(3) == 0).then(|| "a spare place".to_owned());
        day.donors.push(one);
        for gap in 0..gaps {
            if dice.below(fit_in) == 0 {
                let minutes = dice.below(20) as f64;
                day.fits.push(Fit { gap, donor: n, minutes });
            }
        }
    }
    day
}

fn all_plans(day: &Day, gap: usize, moves: &mut Vec<(usize, usize)>, best: &mut (f64, usize, f64)) {
    if gap == day.gaps.len() {
        let Some(now) = judge(day, moves) else { return };
        let more = now.0 - best.0;
        let better = more > 1e-7 || more > -1e-7 && (now.1 < best.1 || now.1 == best.1 && now.2 < best.2 - 1e-7);
        if better {
            *best = now;
        }
        return;
    }
    all_plans(day, gap + 1, moves, best);
    for donor in 0..day.donors.len() {
        if day.fits.iter().any(|f| (f.gap, f.donor) == (gap, donor)) && !moves.iter().any(|m| m.1 == donor) {
            moves.push((gap, donor));
            all_plans(day, gap + 1, moves, best);
            moves.pop();
        }
    }
}

#[test]
fn random_days_are_planned_as_well_as_the_best_of_all_plans() {
    let mut dice = Dice(41);
    let (mut moved, mut grouped, mut several) = (0, 0, 0);
    for round in 0..2000 {
        let (rigs, gaps, donors) = (1 + dice.below(6), dice.below(7), dice.below(6));
        let fit_in = 1 + dice.below(3);
        let day = random(&mut dice, 8, rigs, gaps, donors, fit_in);
        let plan = swap_plan(&day, AMPLE, &mut Unwatched).unwrap();
        let moves = moves_of(&day, &plan);
        let mut best = (0.0, 0, 0.0);
        all_plans(&day, 0, &mut Vec::new(), &mut best);
        let found = judge(&day, &moves).unwrap();
        let same = (found.0 - best.0).abs() < 1e-6 && found.1 == best.1 && (found.2 - best.2).abs() < 1e-4;
        assert!(same && plan.proved, "round {round}: {found:?} for {best:?}");
        assert_eq!(plan, swap_plan(&day, AMPLE, &mut Unwatched).unwrap());
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
        let day = random(&mut dice, 40, 16, 24, 60, 4);
        let whole = swap_plan(&day, AMPLE, &mut Unwatched).unwrap();
        moves_of(&day, &whole);
        assert!(whole.proved, "{}", whole.words);
        let cut = swap_plan(&day, 3000, &mut Unwatched).unwrap();
        moves_of(&day, &cut);
        assert!(cut.after <= whole.after && cut.bound >= whole.after);
        let stopped = swap_plan(&day, AMPLE, &mut |_, _, _| false).unwrap();
        assert!(stopped.bound >= whole.after);
    }
}

#[test]
fn a_donor_that_would_strip_a_full_rig_is_refused() {
    let mut dice = Dice(47);
    let mut day = random(&mut dice, 3, 2, 0, 1, 1);
    day.rigs[0].full = true;
    day.donors[0].strips = Some(0);
    assert_eq!(swap_plan(&day, AMPLE, &mut Unwatched).unwrap_err().code, "donor");
    day.donors[0].strips = Some(9);
    assert_eq!(swap_plan(&day, AMPLE, &mut Unwatched).unwrap_err().code, "number");
    let nothing = swap_plan(&Day::default(), AMPLE, &mut Unwatched).unwrap();
    assert!(nothing.moves.is_empty() && nothing.proved);
}

#[test]
fn every_published_assignment_is_met() {
    let file = data("assignment_instances");
    let costs = |case: &Value| -> Vec<Vec<Option<f64>>> { list(&case["cost"]).iter().map(|row| list(row).iter().map(Value::as_f64).collect()).collect() };
    let pairs = |rows: &Value, columns: &Value| -> Vec<(usize, usize)> {
        let number = |v: &Value| v.as_u64().unwrap() as usize;
        list(rows).iter().map(number).zip(list(columns).iter().map(number)).collect()
    };
    for case in list(&file["cases"]) {
        let cost = costs(case);
        let found = assignment(&cost).unwrap();
        assert_eq!(found.cost, at(case, "optimum"), "{}", case["id"]);
        assert_eq!(found.pairs.len(), cost.len().min(cost[0].len()));
        if case["unique"] == true {
            assert_eq!(found.pairs, pairs(&case["rows"], &case["cols"]), "{}", case["id"]);
        }
    }
    for case in list(&file["forbidden"]) {
        let cost = costs(case);
        let found = assignment(&cost).unwrap();
        assert_eq!(found.pairs.len() as f64, at(case, "max_cardinality"), "{}", case["id"]);
        assert_eq!(found.cost, at(case, "min_cost_at_max_cardinality"), "{}", case["id"]);
        assert!(found.pairs.iter().all(|(r, c)| cost[*r][*c].is_some()));
    }
    assert_eq!(assignment(&[]).unwrap().pairs.len(), 0);
}
