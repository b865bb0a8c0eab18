//! How long the long searches take, and how many end proved: `cargo bench -p fullset-calc --bench decisions`. Plain timing, no dependency; fails nothing.
//!
//! Every kind is measured on instances as a county makes them and on ones made to be hard: reach without geometry, donors that nearly nobody can use, hardly an hour to spare.
#![allow(clippy::unwrap_used, clippy::cast_precision_loss)]

use fullset_calc::Unwatched;
use fullset_calc::coverage::{Place, TravelCurve, Zone, medians, places};
use fullset_calc::service_plan::{District, Set, Shop, Verdict, Year, service_plan};
use fullset_calc::swaps::{Day, Donor, Fit, Group, Home, Mend, Rig, Unjudged, Want, swap_plan};
use std::time::Instant;
use uuid::Uuid;

#[path = "decisions/county.rs"]
mod county;
#[path = "capability/fleet.rs"]
#[allow(dead_code)]
mod fleet;

/// Looks allowed; four times as many for a year of service.
const BUDGET: u64 = 1_500_000_000;

/// A small generator, so that every run sees the same instances.
struct Dice(u64);

impl Dice {
    fn below(&mut self, n: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        usize::try_from((self.0 >> 33) % u64::try_from(n).unwrap()).unwrap()
    }

    fn real(&mut self) -> f64 {
        self.below(1_000_000) as f64 / 1e6
    }

    fn point(&mut self, side: f64) -> (f64, f64) {
        (self.real() * side, self.real() * side)
    }
}

fn id(n: usize) -> Uuid {
    Uuid::from_u128(n as u128)
}

fn minutes(a: (f64, f64), b: (f64, f64)) -> f64 {
    TravelCurve::PUBLISHED.minutes(1.3 * (a.0 - b.0).hypot(a.1 - b.1))
}

fn report(name: &str, times: &mut [f64], proved: usize, of: usize, note: &str) {
    times.sort_by(f64::total_cmp);
    let at = |n: usize| times.get(n).copied().unwrap_or_default();
    println!(
        "  {name}: min {:.1} ms, median {:.1} ms, max {:.1} ms; proved {proved} of {of}; {note}",
        at(0),
        at(times.len() / 2),
        at(times.len().saturating_sub(1))
    );
}

fn timed<R>(times: &mut Vec<f64>, work: impl FnOnce() -> R) -> R {
    let start = Instant::now();
    let answer = work();
    times.push(start.elapsed().as_secs_f64() * 1e3);
    answer
}

fn cover(name: &str, rounds: u64, geometric: bool, target: f64) {
    let (mut times, mut proved, mut gap) = (Vec::new(), 0, 0.0_f64);
    for round in 0..rounds {
        let mut dice = Dice(1000 + round);
        let zones: Vec<Zone> = (0..300)
            .map(|n| Zone {
                id: id(n),
                weight: (1 + dice.below(100)) as f64,
            })
            .collect();
        let spots: Vec<Place> = (0..60).map(|n| Place { id: id(n), full: false }).collect();
        let (at, stations): (Vec<_>, Vec<_>) = ((0..300).map(|_| dice.point(25.0)).collect(), (0..60).map(|_| dice.point(25.0)).collect());
        let matrix: Vec<Vec<f64>> = at
            .iter()
            .map(|zone| {
                stations
                    .iter()
                    .map(|s| if geometric { minutes(*zone, *s) } else { dice.real() * 100.0 })
                    .collect()
            })
            .collect();
        let found = timed(&mut times, || places(&zones, &spots, &matrix, target, 10, BUDGET, &mut Unwatched)).unwrap();
        proved += found.best.iter().filter(|best| best.proved).count();
        gap = found.best.iter().map(|best| best.gap).fold(gap, f64::max);
    }
    let of = usize::try_from(rounds).unwrap() * 10;
    report(name, &mut times, proved, of, &format!("largest gap {:.2} %", gap * 100.0));
}

fn median(rounds: u64) {
    let (mut times, mut proved) = (Vec::new(), 0);
    for round in 0..rounds {
        let mut dice = Dice(1500 + round);
        let (zones, sites): (Vec<_>, Vec<_>) = ((0..300).map(|_| dice.point(25.0)).collect(), (0..60).map(|_| dice.point(25.0)).collect());
        let weights: Vec<f64> = zones.iter().map(|_| (1 + dice.below(100)) as f64).collect();
        let matrix: Vec<Vec<f64>> = zones.iter().map(|z| sites.iter().map(|s| minutes(*z, *s)).collect()).collect();
        let found = timed(&mut times, || medians(&weights, &matrix, 10, BUDGET, &mut Unwatched)).unwrap();
        proved += found.iter().filter(|m| m.proved).count();
    }
    report("p-median, 300 x 60, k = 1 to 10", &mut times, proved, usize::try_from(rounds).unwrap() * 10, "");
}

/// Rigs that want pieces by kind and family, in `ways` ways each, donors of which a share is of a family that somebody needs; or fits and reach by
/// chance.
fn day(dice: &mut Dice, geometric: bool, useful: usize, ways: usize) -> Day {
    let mut day = Day::default();
    let zones: Vec<(f64, f64)> = (0..200).map(|_| dice.point(20.0)).collect();
    for n in 0..zones.len() {
        let weight = (1 + dice.below(60)) as f64;
        day.zones.push(Zone { id: id(n), weight });
    }
    let stations: Vec<(f64, f64)> = (0..14).map(|_| dice.point(20.0)).collect();
    day.groups = (0..4).map(|_| Group { most: 1 }).collect();
    let mut from = Vec::new();
    for n in 0..200 {
        let spot = stations.get(dice.below(stations.len())).copied().unwrap();
        from.push((spot, dice.below(5), if dice.below(100) < useful { dice.below(2) } else { 9 }));
        let group = (dice.below(6) == 0).then(|| dice.below(4));
        day.donors.push(Donor {
            id: id(n),
            name: format!("P{n}"),
            home: if group.is_some() { Home::Rig } else { Home::Shelf },
            place: "a shelf".to_owned(),
            district: None,
            group,
            leaves: None,
        });
    }
    for n in 0..24 {
        let home = stations.get(dice.below(stations.len())).copied().unwrap();
        let family = dice.below(2);
        let within = |dice: &mut Dice, zone: (f64, f64)| if geometric { minutes(home, zone) <= 8.0 } else { dice.below(6) == 0 };
        let want = |dice: &mut Dice| {
            let kind = dice.below(5);
            let fits = from.iter().enumerate().filter(|(_, (_, of, own))| {
                if geometric {
                    *of == kind && *own == family
                } else {
                    dice.below(1000) < useful
                }
            });
            let minutes = |spot: (f64, f64)| (minutes(spot, home) * 10.0).round() / 10.0;
            Want {
                fits: fits
                    .map(|(donor, (spot, ..))| Fit {
                        donor,
                        minutes: minutes(*spot),
                    })
                    .collect(),
            }
        };
        // Thirty wants on twenty rigs where there is one way; each further way is of one to three.
        let first = if n % 2 == 0 { 1 } else { 2 };
        let mends = (0..ways).map(|way| {
            let wants = if way == 0 { first } else { 1 + dice.below(3) };
            Mend {
                wants: (0..wants).map(|_| want(dice)).collect(),
                rests_on: Vec::new(),
            }
        });
        let mends = mends.collect();
        day.rigs.push(Rig {
            id: id(n),
            name: format!("R{n}"),
            full: n >= 20,
            is_sought: true,
            reaches: (0..zones.len()).filter(|z| within(dice, *zones.get(*z).unwrap())).collect(),
            mends: if n < 20 { mends } else { Vec::new() },
            ..Rig::default()
        });
    }
    day
}

fn swap(name: &str, rounds: u64, geometric: bool, useful: usize, ways: usize) {
    let (mut times, mut proved, mut gap, mut moves) = (Vec::new(), 0, 0.0_f64, 0);
    for round in 0..rounds {
        let day = day(&mut Dice(2000 + round), geometric, useful, ways);
        let plan = timed(&mut times, || swap_plan(&day, &mut Unjudged, BUDGET, &mut Unwatched)).unwrap();
        proved += usize::from(plan.proved);
        gap = gap.max((plan.bound - plan.after) / plan.bound.max(1.0));
        moves += plan.moves.len();
    }
    let of = usize::try_from(rounds).unwrap();
    let note = format!("largest gap {:.2} %, {:.1} moves on average", gap * 100.0, moves as f64 / of as f64);
    report(name, &mut times, proved, of, &note);
}

fn year(dice: &mut Dice, window: usize, most_away: usize, spare: f64) -> Year {
    let sets: Vec<Set> = (0..200)
        .map(|n| {
            let due = dice.below(52);
            let earliest = due.saturating_sub(window);
            Set {
                id: id(n),
                name: format!("S{n}"),
                district: dice.below(8),
                hours: (4 + dice.below(13)) as f64 / 2.0,
                earliest,
                latest: (due + window / 2).min(51),
                due,
                shops: vec![],
                pinned: None,
            }
        })
        .collect();
    let each = sets.iter().map(|set| set.hours).sum::<f64>() / 52.0 / 2.0 * spare;
    Year {
        periods: (1..=52).map(|n| format!("week {n}")).collect(),
        shops: (0..2)
            .map(|n| Shop {
                id: id(n),
                name: format!("shop {n}"),
                hours: vec![each.ceil()],
            })
            .collect(),
        districts: (0..8)
            .map(|n| District {
                id: id(n),
                name: format!("D{n}"),
                most_away: vec![most_away],
                stand_ins: vec![],
            })
            .collect(),
        sets,
    }
}

fn plan(name: &str, rounds: u64, window: usize, most_away: usize, spare: f64) {
    let (mut times, mut proved, mut gap, mut late) = (Vec::new(), 0, 0.0_f64, 0);
    let (mut impossible, mut unfound) = (0, 0);
    for round in 0..rounds {
        let year = year(&mut Dice(3000 + round), window, most_away, spare);
        let plan = timed(&mut times, || service_plan(&year, 4 * BUDGET, &mut Unwatched)).unwrap();
        proved += usize::from(plan.proved);
        impossible += usize::from(plan.verdict == Verdict::Impossible);
        unfound += usize::from(plan.verdict == Verdict::NotFound);
        late += usize::from(plan.lateness > plan.lateness_bound);
        gap = gap.max((plan.peak_hours - plan.peak_bound) / plan.peak_hours.max(1.0));
    }
    let note = format!(
        "largest gap of the peak {:.1} %, lateness open in {late}, impossible {impossible}, none found in {unfound}",
        gap * 100.0
    );
    report(name, &mut times, proved, usize::try_from(rounds).unwrap(), &note);
}

fn main() {
    println!("places for k = 1 to 10 reserve sets, 300 zones x 60 sites, all ten in one call");
    cover("by travel time, 6 minutes", 20, true, 6.0);
    cover("by travel time, 10 minutes", 20, true, 10.0);
    cover("by chance, each site reaches 8 % of the zones", 5, false, 8.0);
    median(5);
    println!("swap plan, 20 rigs that want one or two pieces x 200 donors, 200 zones");
    swap("every other donor of use", 20, true, 50, 1);
    swap("one donor in sixteen of use", 20, true, 6, 1);
    swap("by chance, 3 % of the pairs fit", 20, false, 30, 1);
    swap("by chance, 0.6 % of the pairs fit", 20, false, 6, 1);
    println!("swap plan, the same with four ways to mend each rig");
    swap("every other donor of use", 20, true, 50, 4);
    swap("one donor in sixteen of use", 20, true, 6, 4);
    swap("by chance, 3 % of the pairs fit", 20, false, 30, 4);
    swap("by chance, 0.6 % of the pairs fit", 20, false, 6, 4);
    county::days();
    println!("service plan, 200 sets x 52 weeks, 8 districts, 2 shops");
    plan("wide windows, ample hours", 10, 8, 2, 3.0);
    plan("narrow windows", 10, 2, 2, 3.0);
    plan("a tenth of the hours to spare", 10, 10, 2, 1.1);
    plan("one away at once", 10, 8, 1, 2.0);
}
