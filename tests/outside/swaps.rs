//! Swap plans against the solver HiGHS, which is told the day and nothing of how plans are sought: as much weight, as few moves and as few minutes.
//! That the mends of a rig are all there are is `server/calc/tests/swaps_judged.rs`'s matter.

use std::{io::Write as _, process::Stdio};

use fullset_calc::{
    Unwatched,
    coverage::Zone,
    swaps::{Day, District, Donor, Fit, Group, Home, Instead, Mend, Planned, Rig, Want, swap_plan},
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{HERE, python};

/// A small generator, so that a failure can be run again.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from((self.0 >> 33) % u64::try_from(n).unwrap()).unwrap()
    }

    fn one_in(&mut self, n: usize) -> bool {
        self.below(n) == 0
    }
}

fn id(n: usize) -> Uuid {
    Uuid::from_u128(n as u128)
}

fn whole(n: usize) -> f64 {
    f64::from(u32::try_from(n).unwrap())
}

/// A day of five to fourteen rigs and ten to sixty donors, and pairs of donors that must not both go.
fn day(dice: &mut Dice) -> (Day, Vec<(usize, usize)>) {
    let (zones, rigs, donors) = (12 + dice.below(30), 5 + dice.below(10), 10 + dice.below(51));
    let mut day = Day {
        zones: (0..zones)
            .map(|n| Zone {
                id: id(n),
                weight: whole(dice.below(60)),
            })
            .collect(),
        districts: (0..3).map(|_| District { is_short: dice.one_in(2) }).collect(),
        groups: (0..5).map(|_| Group { most: 1 + dice.below(2) }).collect(),
        ..Day::default()
    };
    // Every donor that is on a rig has a group: of its sort, or of its own.
    let mut homes = Vec::new();
    for n in 0..donors {
        let rig = dice.one_in(3).then(|| dice.below(rigs));
        let group = rig.map(|_| {
            if dice.one_in(3) {
                return dice.below(5);
            }
            day.groups.push(Group { most: 1 });
            day.groups.len() - 1
        });
        homes.push(rig);
        day.donors.push(Donor {
            id: id(n),
            name: format!("P{n}"),
            home: if rig.is_some() { Home::Rig } else { Home::Shelf },
            place: "there".to_owned(),
            district: Some(rig.map_or_else(|| dice.below(3), |rig| rig % 3)),
            group,
            leaves: None,
        });
    }
    for number in 0..rigs {
        let full = dice.one_in(5);
        let mends = (0..if full { 0 } else { dice.below(4) }).map(|_| {
            let of = 3 + dice.below(8);
            let wants = (0..=dice.below(3)).map(|_| {
                let fits = (0..donors).filter(|donor| dice.one_in(of) && homes.get(*donor).copied().flatten() != Some(number));
                let fits: Vec<usize> = fits.collect();
                Want {
                    fits: fits
                        .into_iter()
                        .map(|donor| Fit {
                            donor,
                            minutes: whole(dice.below(40)),
                        })
                        .collect(),
                }
            });
            let wants = wants.collect();
            let own = (0..donors).filter(|donor| homes.get(*donor).copied().flatten() == Some(number) && dice.one_in(2));
            Mend {
                wants,
                rests_on: own.collect(),
            }
        });
        let mends = mends.collect();
        day.rigs.push(Rig {
            id: id(number),
            name: format!("R{number}"),
            full,
            reaches: (0..zones).filter(|_| dice.one_in(5)).collect(),
            district: Some(number % 3),
            mends,
            is_sought: true,
            undecided: None,
        });
    }
    // Fewer of a group is another donor of it: only one that is its group alone can be kept from going.
    let alone = |donor: &usize| day.donors.get(*donor).and_then(|donor| donor.group).is_some_and(|group| group >= 5);
    let bound: Vec<usize> = (0..donors).filter(alone).collect();
    let apart = (0..dice.below(8)).filter_map(|_| Some((*bound.get(dice.below(bound.len().max(1)))?, *bound.get(dice.below(bound.len().max(1)))?)));
    let apart = apart.filter(|(one, other)| one != other).collect();
    (day, apart)
}

fn told(day: &Day, apart: &[(usize, usize)]) -> Value {
    let rigs = day.rigs.iter().map(|rig| {
        let mends = rig.mends.iter().map(|mend| {
            let wants = mend
                .wants
                .iter()
                .map(|want| want.fits.iter().map(|fit| json!([fit.donor, fit.minutes])).collect::<Vec<_>>());
            json!({ "wants": wants.collect::<Vec<_>>(), "rests_on": mend.rests_on })
        });
        json!({ "full": rig.full, "reaches": rig.reaches, "district": rig.district, "mends": mends.collect::<Vec<_>>() })
    });
    json!({
        "zones": day.zones.iter().map(|zone| zone.weight).collect::<Vec<_>>(),
        "short": day.districts.iter().map(|district| district.is_short).collect::<Vec<_>>(),
        "groups": day.groups.iter().map(|group| group.most).collect::<Vec<_>>(),
        "donors": day.donors.iter().map(|donor| json!({ "district": donor.district, "group": donor.group })).collect::<Vec<_>>(),
        "rigs": rigs.collect::<Vec<_>>(),
        "apart": apart,
    })
}

/// The plan of the crate: weight, moves, minutes.
fn planned(day: &Day, apart: &[(usize, usize)]) -> (bool, [f64; 3]) {
    let group = |donor: usize| day.donors.get(donor).and_then(|donor| donor.group).expect("it is on a rig");
    let used = |moves: &[Planned], donor: usize| moves.iter().any(|planned| planned.donor == donor);
    let stays = |donor: usize| Instead::Fewer { group: group(donor), most: 0 };
    let mut together = |moves: &[Planned]| -> Vec<Instead> {
        let broken = apart.iter().find(|(one, other)| used(moves, *one) && used(moves, *other));
        broken.map_or_else(Vec::new, |(one, other)| vec![stays(*one), stays(*other)])
    };
    let plan = swap_plan(day, &mut together, 5_000_000_000, &mut Unwatched).expect("the day is whole");
    (plan.proved, [plan.after, whole(plan.moves.len()), plan.minutes])
}

#[test]
fn highs_finds_no_better_swap_plan() {
    // `make nightly` compares more.
    let days: u64 = std::env::var("FULLSET_TEST_PLANS").map_or(40, |days| days.parse().expect("a number"));
    let days: Vec<_> = (0..days).map(|n| day(&mut Dice(9000 + n))).collect();
    let mut solver = python("python")
        .arg(format!("{HERE}/plan-swaps.py"))
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .expect("Python starts");
    let asked: Vec<Value> = days.iter().map(|(day, apart)| told(day, apart)).collect();
    let mut input = solver.stdin.take().expect("it is piped");
    input.write_all(&serde_json::to_vec(&asked).expect("it is JSON")).expect("it reads");
    drop(input);
    let said = solver.wait_with_output().expect("it ends");
    assert!(said.status.success(), "{}", String::from_utf8_lossy(&said.stderr));
    let best: Vec<[f64; 3]> = serde_json::from_slice(&said.stdout).expect("it prints JSON");
    assert_eq!(best.len(), days.len());
    let mut moved = 0;
    for (n, ((day, apart), best)) in days.iter().zip(best).enumerate() {
        let (proved, found) = planned(day, apart);
        let same = found.iter().zip(best).all(|(found, best)| (found - best).abs() < 1e-4);
        assert!(proved && same, "day {n}, proved {proved}: {found:?} for {best:?}");
        moved += usize::from(found.get(1).is_some_and(|moves| *moves > 1.0));
    }
    assert!(moved * 2 > days.len(), "only {moved} of {} days need several moves", days.len());
}
