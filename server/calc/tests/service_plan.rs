//! Service plans against `tests/published/data` and against every plan tried.
#![allow(
    clippy::unwrap_used,
    clippy::indexing_slicing,
    clippy::cast_possible_truncation,
    clippy::cast_sign_loss,
    clippy::cast_precision_loss
)]

mod published_data;
mod yearly;

use fullset_calc::Unwatched;
use fullset_calc::service_plan::{District, ObstacleKind, Pin, Set, Shop, StandIn, Verdict, Year, service_plan, spare};
use published_data::{Dice, at, data};
use yearly::{AMPLE, ask, eased, holds, id, periods, restored_by, stands_in};

#[test]
fn every_published_year_is_planned_with_the_least_peak_or_explained() {
    let file = data("levelling_instances");
    for case in file["cases"].as_array().unwrap() {
        let n = at(case, "months") as usize;
        let jobs = case["jobs"].as_array().unwrap();
        let mut names: Vec<&str> = jobs.iter().map(|j| j["district"].as_str().unwrap()).collect();
        names.sort_unstable();
        names.dedup();
        let cap = at(case, "max_per_district_per_month") as usize;
        let year = Year {
            periods: periods(n),
            shops: vec![Shop {
                id: id(0),
                name: "shop".to_owned(),
                hours: vec![1e6],
            }],
            districts: (0..names.len())
                .map(|n| District {
                    id: id(n),
                    name: names[n].to_owned(),
                    most_away: vec![cap],
                    stand_ins: vec![],
                })
                .collect(),
            sets: (0..jobs.len())
                .map(|n| Set {
                    id: id(n),
                    name: jobs[n]["set"].as_str().unwrap().to_owned(),
                    district: names.iter().position(|d| jobs[n]["district"] == **d).unwrap(),
                    hours: at(&jobs[n], "hours"),
                    earliest: at(&jobs[n], "earliest") as usize,
                    latest: at(&jobs[n], "latest") as usize,
                    due: at(&jobs[n], "latest") as usize,
                    shops: vec![],
                    pinned: None,
                })
                .collect(),
        };
        let plan = ask(&year);
        if case["feasible"] == true {
            assert_eq!(
                (plan.verdict, plan.peak_hours),
                (Verdict::Planned, at(case, "min_peak_hours")),
                "{}: {}",
                case["id"],
                plan.words
            );
            assert!(plan.proved && plan.lateness == 0, "{}: {}", case["id"], plan.words);
        } else {
            assert!(matches!(plan.verdict, Verdict::Impossible | Verdict::Partly), "{}", case["id"]);
            let short: usize = plan.obstacles.iter().map(|o| o.sets.len() - o.periods.len() * cap).sum();
            assert_eq!(plan.unplanned.len(), short, "{}: no more is left out than has to be", case["id"]);
            for obstacle in &plan.obstacles {
                assert_eq!(obstacle.kind, ObstacleKind::SlotsShort);
                let district = &year.districts[obstacle.districts[0].as_u128() as usize];
                assert!(plan.words.contains(&district.name) && obstacle.needs > obstacle.has);
                // A Hall violator: those sets, in those periods and nowhere else, more than the district can spare there.
                for set in &obstacle.sets {
                    let set = &year.sets[set.as_u128() as usize];
                    assert!(set.district == obstacle.districts[0].as_u128() as usize);
                    assert!((set.earliest..=set.latest).all(|p| obstacle.periods.contains(&p)));
                }
                assert!(obstacle.sets.len() > obstacle.periods.len() * cap);
            }
            assert_eq!(ask(&eased(&year, &plan)).verdict, Verdict::Planned, "{}: {}", case["id"], plan.words);
        }
    }
}

fn random(dice: &mut Dice, sets: usize, n: usize) -> Year {
    let (districts, shops) = (1 + dice.below(3), 1 + dice.below(2));
    let wide = 1 + dice.below(n);
    let halves = dice.below(2) == 0;
    let mut year = Year {
        periods: periods(n),
        districts: (0..districts)
            .map(|d| District {
                id: id(d),
                name: format!("D{d}"),
                most_away: (0..1 + dice.below(n)).map(|_| dice.below(4)).collect(),
                stand_ins: vec![],
            })
            .collect(),
        shops: (0..shops)
            .map(|s| Shop {
                id: id(s),
                name: format!("shop {s}"),
                hours: (0..1 + dice.below(n)).map(|_| 3.0 + dice.below(10) as f64).collect(),
            })
            .collect(),
        sets: (0..sets)
            .map(|s| {
                let earliest = dice.below(n);
                let latest = (earliest + dice.below(wide)).min(n - 1);
                let pinned = (dice.below(7) == 0).then(|| Pin {
                    period: dice.below(n),
                    shop: dice.below(shops),
                });
                Set {
                    id: id(s),
                    name: format!("S{s}"),
                    district: dice.below(districts),
                    hours: (1 + dice.below(5)) as f64 / if halves { 2.0 } else { 1.0 },
                    earliest,
                    latest,
                    due: earliest + dice.below(1 + latest - earliest),
                    shops: if dice.below(2) == 0 { vec![] } else { vec![dice.below(shops)] },
                    pinned,
                }
            })
            .collect(),
    };
    add_stand_ins(dice, &mut year);
    year
}

/// Up to three stand-ins in every other district, some of them due themselves, each for some sets in some periods.
fn add_stand_ins(dice: &mut Dice, year: &mut Year) {
    for d in 0..year.districts.len() {
        let mine: Vec<usize> = (0..year.sets.len()).filter(|s| year.sets[*s].district == d).collect();
        for n in 0..dice.below(7).saturating_sub(3) {
            let due = mine.get(n).copied().filter(|_| dice.below(2) == 0);
            let mut restores = Vec::new();
            for set in mine.iter().copied().filter(|set| Some(*set) != due) {
                let when: Vec<usize> = (0..year.periods.len()).filter(|_| dice.below(3) > 0).collect();
                if dice.below(3) > 0 {
                    restores.push((set, when));
                }
            }
            year.districts[d].stand_ins.push(StandIn {
                id: id(1000 + 10 * d + n),
                name: format!("R{d}{n}"),
                due,
                restores,
            });
        }
    }
}

struct Brute<'a> {
    year: &'a Year,
    away: Vec<Vec<Vec<usize>>>,
    hours: Vec<Vec<f64>>,
    best: Option<(usize, f64)>,
}

impl Brute<'_> {
    /// Whether a district can have these sets away, by trying every way to share its stand-ins out.
    fn spares(&self, district: usize, period: usize) -> bool {
        let away = &self.away[district][period];
        let known = &self.year.districts[district];
        let home: Vec<usize> = (0..known.stand_ins.len())
            .filter(|n| known.stand_ins[*n].due.is_none_or(|due| !away.contains(&due)))
            .collect();
        let gone: Vec<usize> = away.iter().copied().filter(|set| !stands_in(self.year, *set)).collect();
        let cap = known.most_away.get(period).or(known.most_away.last()).copied().unwrap();
        self.shares(&gone, &home, period, cap)
    }

    fn shares(&self, gone: &[usize], home: &[usize], period: usize, slots: usize) -> bool {
        let Some((first, rest)) = gone.split_first() else { return true };
        let with = |n: &usize| {
            let others: Vec<usize> = home.iter().copied().filter(|other| other != n).collect();
            restored_by(self.year, *first, period).contains(n) && self.shares(rest, &others, period, slots)
        };
        slots > 0 && self.shares(rest, home, period, slots - 1) || home.iter().any(with)
    }

    fn go(&mut self, at: usize, late: usize) {
        let Some(set) = self.year.sets.get(at) else {
            let peak = self.hours.iter().flatten().copied().fold(0.0, f64::max);
            if self.best.is_none_or(|best| (late, peak) < best) {
                self.best = Some((late, peak));
            }
            return;
        };
        for shop in 0..self.year.shops.len() {
            for p in 0..self.year.periods.len() {
                let allowed = match set.pinned {
                    Some(pin) => (pin.period, pin.shop) == (p, shop),
                    None => p >= set.earliest && p <= set.latest && (set.shops.is_empty() || set.shops.contains(&shop)),
                };
                let rooms = &self.year.shops[shop].hours;
                let roomy = self.hours[shop][p] + set.hours <= *rooms.get(p).or(rooms.last()).unwrap();
                if !allowed || !roomy {
                    continue;
                }
                self.hours[shop][p] += set.hours;
                self.away[set.district][p].push(at);
                // What is added later can only be a stand-in less or a set more: what does not go now never will.
                if self.spares(set.district, p) {
                    self.go(at + 1, late + p.saturating_sub(set.due));
                }
                self.hours[shop][p] -= set.hours;
                self.away[set.district][p].pop();
            }
        }
    }
}

#[test]
fn random_years_are_planned_as_well_as_the_best_of_all_plans() {
    let mut dice = Dice(61);
    let (mut planned, mut late, mut impossible, mut whole_sets, mut stood_in) = (0, 0, 0, 0, 0);
    for round in 0..2000 {
        let (sets, n) = (dice.below(8), 1 + dice.below(4));
        let year = random(&mut dice, sets, n);
        let plan = ask(&year);
        let mut brute = Brute {
            year: &year,
            away: vec![vec![Vec::new(); n]; year.districts.len()],
            hours: vec![vec![0.0; n]; year.shops.len()],
            best: None,
        };
        brute.go(0, 0);
        stood_in += plan.plan.iter().filter(|place| place.stand_in.is_some()).count();
        let found = (plan.verdict == Verdict::Planned).then_some((plan.lateness, plan.peak_hours));
        assert_eq!(found, brute.best, "round {round}: {}", plan.words);
        assert!(plan.proved, "round {round}: {}", plan.words);
        planned += usize::from(found.is_some());
        late += usize::from(plan.lateness > 0);
        whole_sets += usize::from(plan.obstacles.iter().any(|o| o.kind == ObstacleKind::WholeSets));
        if found.is_none() {
            impossible += 1;
            let with_it = ask(&eased(&year, &plan));
            assert_eq!(with_it.verdict, Verdict::Planned, "round {round}: {} then {}", plan.words, with_it.words);
        }
    }
    assert!(
        planned > 100 && late > 20 && impossible > 100 && whole_sets > 0 && stood_in > 100,
        "{planned} {late} {impossible} {whole_sets} {stood_in}"
    );
}

#[test]
fn a_plan_is_made_anew_around_what_is_pinned() {
    let mut dice = Dice(67);
    let mut tried = 0;
    while tried < 12 {
        let mut year = random(&mut dice, 12, 6);
        for district in &mut year.districts {
            (district.most_away, district.stand_ins) = (vec![4], vec![]);
        }
        let plan = ask(&year);
        if plan.verdict != Verdict::Planned {
            continue;
        }
        tried += 1;
        for (set, place) in year.sets.iter_mut().zip(&plan.plan).step_by(2) {
            let shop = place.shop.as_u128() as usize;
            set.pinned = Some(Pin { period: place.period, shop });
        }
        let again = ask(&year);
        assert_eq!(
            (again.lateness, again.peak_hours),
            (plan.lateness, plan.peak_hours),
            "what was the best stays the best"
        );
    }
}

#[test]
fn what_cannot_be_is_told_with_what_would_help() {
    assert_eq!((spare(5, 3), spare(2, 3)), (2, 0));
    let mut year = random(&mut Dice(71), 3, 4);
    for set in &mut year.sets {
        (set.pinned, set.district, set.earliest, set.latest, set.hours) = (None, 0, 1, 2, 2.0);
        set.shops = vec![];
    }
    year.districts[0].stand_ins = vec![];
    year.districts[0].most_away = vec![1];
    for shop in &mut year.shops {
        shop.hours = vec![40.0];
    }
    let plan = ask(&year);
    assert_eq!((plan.verdict, plan.obstacles.len(), plan.reliefs.len()), (Verdict::Partly, 1, 1));
    assert_eq!((plan.plan.len(), plan.unplanned.len()), (2, 1));
    let obstacle = &plan.obstacles[0];
    assert_eq!(
        (obstacle.kind, &obstacle.periods, obstacle.sets.len()),
        (ObstacleKind::SlotsShort, &vec![1, 2], 3)
    );
    assert!(
        plan.words.contains("month 2 to month 3") && plan.words.contains("1 more slot for D0"),
        "{}",
        plan.words
    );
    year.districts[0].most_away = vec![9];
    for shop in &mut year.shops {
        shop.hours = vec![1.0];
    }
    let plan = ask(&year);
    assert_eq!(plan.obstacles.iter().filter(|o| o.kind == ObstacleKind::NoPlace).count(), 3, "{}", plan.words);
    assert_eq!(ask(&eased(&year, &plan)).verdict, Verdict::Planned, "{}", plan.words);
    (year.sets[0].earliest, year.sets[0].latest) = (3, 2);
    assert!(ask(&year).words.contains("S0 has no period in its window"));
    year.sets[0].district = 77;
    assert_eq!(service_plan(&year, AMPLE, &mut Unwatched).unwrap_err().code, "number");
    year.periods = periods(129);
    assert_eq!(service_plan(&year, AMPLE, &mut Unwatched).unwrap_err().code, "periods");
    assert_eq!(ask(&Year::default()).verdict, Verdict::Planned);
}

#[test]
fn out_of_budget_the_answer_is_sound() {
    let mut dice = Dice(73);
    for _ in 0..20 {
        let mut year = random(&mut dice, 30, 10);
        for (district, set) in year.districts.iter_mut().zip(&mut year.sets) {
            district.most_away = vec![3];
            set.pinned = None;
        }
        let plan = service_plan(&year, 20_000, &mut Unwatched).unwrap();
        holds(&year, &plan);
        let stopped = service_plan(&year, AMPLE, &mut |_, _, _| false).unwrap();
        holds(&year, &stopped);
    }
}

/// A year made around a plan, with no slot and no hour to spare beyond a few: its lateness and peak.
fn around_a_plan(dice: &mut Dice, sets: usize, n: usize, spare: usize) -> (Year, usize, f64) {
    let mut year = random(dice, sets, n);
    for district in &mut year.districts {
        district.stand_ins = vec![];
    }
    let mut away = vec![vec![0; n]; year.districts.len()];
    let mut hours = vec![vec![0.0; n]; year.shops.len()];
    let mut late = 0;
    for set in &mut year.sets {
        let (p, shop) = (dice.below(n), dice.below(year.shops.len()));
        (set.earliest, set.latest) = (p.saturating_sub(dice.below(8)), (p + dice.below(8)).min(n - 1));
        set.due = (set.earliest + dice.below(1 + set.latest - set.earliest)).max(p.saturating_sub(1));
        (set.shops, set.pinned) = (if dice.below(3) == 0 { vec![shop] } else { vec![] }, None);
        late += p.saturating_sub(set.due);
        away[set.district][p] += 1;
        hours[shop][p] += set.hours;
    }
    let peak = hours.iter().flatten().copied().fold(0.0, f64::max);
    let whole = dice.below(2) == 0;
    for (district, away) in year.districts.iter_mut().zip(&away) {
        district.most_away = away.iter().map(|a| a + dice.below(1 + spare)).collect();
    }
    for (shop, hours) in year.shops.iter_mut().zip(&hours) {
        shop.hours = if whole {
            vec![peak]
        } else {
            hours.iter().map(|h| h + dice.below(1 + spare) as f64).collect()
        };
    }
    (year, late, peak)
}

#[test]
fn what_is_possible_is_never_said_to_be_impossible() {
    let mut dice = Dice(79);
    let (mut planned, mut proved) = (0, 0);
    for round in 0..60 {
        let (sets, n, spare) = (10 + dice.below(70), 4 + dice.below(20), dice.below(3));
        let (year, late, peak) = around_a_plan(&mut dice, sets, n, spare);
        let plan = service_plan(&year, 40_000_000, &mut Unwatched).unwrap();
        holds(&year, &plan);
        assert_ne!(plan.verdict, Verdict::Impossible, "round {round}: {}", plan.words);
        if plan.verdict == Verdict::Planned {
            planned += 1;
            proved += usize::from(plan.proved);
            assert!(plan.lateness_bound <= late, "round {round}: {}", plan.words);
            assert!(plan.lateness < late || plan.peak_bound <= peak + 1e-9, "round {round}: {peak}, {}", plan.words);
        }
    }
    assert!(planned > 15 && proved > 5, "{planned} {proved}");
}
