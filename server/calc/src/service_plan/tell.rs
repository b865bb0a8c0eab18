//! Plans and obstacles put into words and named.

use super::answer::{Assigned, Obstacle, ObstacleKind, Relief, ServicePlan, ShopLoad, Verdict};
use super::input::{Set, Year};
use super::limits::shared_out;
use super::local::Draft;
use super::obstacles::Cut;
use super::plan::{BoundedPlan, Outcome};
use super::task::{Place, Task};
use crate::amount::real;
use crate::sets::pick;
use std::collections::BTreeMap;
use uuid::Uuid;

struct Names<'a> {
    year: &'a Year,
    task: &'a Task,
}

pub(super) fn tell(year: &Year, task: &Task, outcome: Outcome) -> ServicePlan {
    let names = Names { year, task };
    match outcome {
        Outcome::Plan(found) => {
            let all: Vec<usize> = (0..found.places.len()).collect();
            names.planned(&all, &found)
        }
        Outcome::None { cuts, draft, proved, rest } => {
            let mut told = names.impossible(&cuts, &draft, proved);
            if let Some((sets, found)) = rest {
                names.add_rest(&mut told, &sets, &found);
            }
            told
        }
    }
}

fn periods_late(n: i64) -> usize {
    usize::try_from(n).unwrap_or_default()
}

impl Names<'_> {
    fn hours(&self, grains: i64) -> f64 {
        real(grains.saturating_mul(self.task.grain))
    }

    /// Sets with a place each.
    fn assigned(&self, sets: &[usize], places: &[Place]) -> Vec<Assigned> {
        let mut by_period: BTreeMap<(usize, usize), Vec<usize>> = BTreeMap::new();
        for (at, (period, _)) in sets.iter().zip(places) {
            let district = self.task.jobs.get(*at).map_or(0, |job| job.district);
            by_period.entry((district, *period)).or_default().push(*at);
        }
        let mut stands_in: BTreeMap<usize, Uuid> = BTreeMap::new();
        for ((district, period), away) in by_period {
            for (at, stand_in) in shared_out(self.task, &away, period) {
                let known = self.year.districts.get(district).and_then(|district| district.stand_ins.get(stand_in));
                stands_in.extend(known.map(|known| (at, known.id)));
            }
        }
        let assigned = |(at, (period, shop)): (&usize, &Place)| {
            Some(Assigned {
                set: self.year.sets.get(*at)?.id,
                period: *period,
                shop: self.year.shops.get(*shop)?.id,
                late: periods_late(self.task.jobs.get(*at)?.late(*period)),
                stand_in: stands_in.get(at).copied(),
            })
        };
        sets.iter().zip(places).filter_map(assigned).collect()
    }

    fn planned(&self, sets: &[usize], found: &BoundedPlan) -> ServicePlan {
        let mut loads = vec![vec![0; self.task.periods]; self.task.rooms.len()];
        for (at, (period, shop)) in sets.iter().zip(&found.places) {
            let hours = self.task.jobs.get(*at).map_or(0, |job| job.hours);
            if let Some(load) = loads.get_mut(*shop).and_then(|loads| loads.get_mut(*period)) {
                *load += hours;
            }
        }
        let loads = self.year.shops.iter().zip(&loads).map(|(shop, loads)| ShopLoad {
            shop: shop.id,
            hours: loads.iter().map(|load| self.hours(*load)).collect(),
        });
        let proved = found.lateness == found.lateness_bound && found.peak == found.peak_bound;
        let late = match found.lateness {
            0 => "none late".to_owned(),
            n => format!("{n} period{} late in all", if n == 1 { "" } else { "s" }),
        };
        let mut words = format!(
            "{} set{} planned, {late}; at most {} hours for a shop in a period.",
            sets.len(),
            if sets.len() == 1 { "" } else { "s" },
            self.hours(found.peak)
        );
        if !proved {
            words.push_str(&format!(
                " Not proved the best: no plan is less than {} late, none as late has less than {} hours at the peak.",
                found.lateness_bound,
                self.hours(found.peak_bound)
            ));
        }
        ServicePlan {
            verdict: Verdict::Planned,
            plan: self.assigned(sets, &found.places),
            unplanned: Vec::new(),
            lateness: periods_late(found.lateness),
            lateness_bound: periods_late(found.lateness_bound),
            peak_hours: self.hours(found.peak),
            peak_bound: self.hours(found.peak_bound),
            proved,
            loads: loads.collect(),
            obstacles: Vec::new(),
            reliefs: Vec::new(),
            words,
        }
    }

    /// What stands in the way stays said, and the others are planned.
    fn add_rest(&self, told: &mut ServicePlan, sets: &[usize], found: &BoundedPlan) {
        let left: Vec<&Set> = self
            .year
            .sets
            .iter()
            .enumerate()
            .filter(|(at, _)| !sets.contains(at))
            .map(|(_, set)| set)
            .collect();
        let names: Vec<&str> = left.iter().map(|set| set.name.as_str()).collect();
        let rest = self.planned(sets, found);
        *told = ServicePlan {
            verdict: Verdict::Partly,
            unplanned: left.iter().map(|set| set.id).collect(),
            words: format!("{} Without {}: {}", told.words, names.join(", "), rest.words),
            obstacles: std::mem::take(&mut told.obstacles),
            reliefs: std::mem::take(&mut told.reliefs),
            ..rest
        };
    }

    fn period(&self, period: usize) -> String {
        self.year.periods.get(period).cloned().unwrap_or_default()
    }

    /// Periods in words, runs drawn together.
    fn periods(&self, periods: &[usize]) -> String {
        let mut runs: Vec<(usize, usize)> = Vec::new();
        for period in periods {
            match runs.last_mut() {
                Some((_, to)) if *to + 1 == *period => *to = *period,
                _ => runs.push((*period, *period)),
            }
        }
        let told = runs.into_iter().map(|(from, to)| {
            if from == to {
                self.period(from)
            } else {
                format!("{} to {}", self.period(from), self.period(to))
            }
        });
        told.collect::<Vec<String>>().join(", ")
    }

    fn districts(&self, jobs: &[usize]) -> Vec<usize> {
        let mut all: Vec<usize> = jobs.iter().filter_map(|at| self.task.jobs.get(*at)).map(|job| job.district).collect();
        all.sort_unstable();
        all.dedup();
        all
    }

    fn obstacle(&self, kind: ObstacleKind, jobs: &[usize], mut periods: Vec<usize>, needs: f64, has: f64, words: String) -> Obstacle {
        periods.sort_unstable();
        periods.dedup();
        Obstacle {
            kind,
            districts: self.districts(jobs).iter().filter_map(|d| self.year.districts.get(*d)).map(|d| d.id).collect(),
            periods,
            sets: jobs.iter().filter_map(|at| self.year.sets.get(*at)).map(|set| set.id).collect(),
            needs,
            has,
            words,
        }
    }

    fn cut(&self, cut: &Cut) -> Obstacle {
        let named = |jobs: &[usize]| -> String {
            let names: Vec<&str> = jobs.iter().filter_map(|at| self.year.sets.get(*at)).map(|set| set.name.as_str()).collect();
            names.join(", ")
        };
        match cut {
            Cut::NoPlace { job } => {
                let (hours, window) = self.task.jobs.get(*job).map_or((0, 0), |j| (j.hours, j.window));
                let periods: Vec<usize> = crate::sets::each(window).collect();
                let words = if window == 0 {
                    format!("{} has no period in its window.", named(&[*job]))
                } else {
                    format!("No shop has {} hours for {} in {}.", self.hours(hours), named(&[*job]), self.periods(&periods))
                };
                self.obstacle(ObstacleKind::NoPlace, &[*job], periods, self.hours(hours), 0.0, words)
            }
            Cut::Slots { district, jobs, periods, has } => {
                let name = self.year.districts.get(*district).map_or("", |d| d.name.as_str());
                let words = format!(
                    "{name}: {} sets ({}) must be served in {}, where it can spare {has} in all: {} too few.",
                    jobs.len(),
                    named(jobs),
                    self.periods(periods),
                    jobs.len().saturating_sub(*has)
                );
                let (needs, has) = (crate::amount::count(jobs.len()), crate::amount::count(*has));
                self.obstacle(ObstacleKind::SlotsShort, jobs, periods.clone(), needs, has, words)
            }
            Cut::Hours { jobs, places, needs, has } => {
                let mut periods: Vec<usize> = places.iter().map(|place| place.0).collect();
                periods.sort_unstable();
                periods.dedup();
                let mut shops: Vec<usize> = places.iter().map(|place| place.1).collect();
                shops.sort_unstable();
                shops.dedup();
                let shops: Vec<&str> = shops.iter().filter_map(|s| self.year.shops.get(*s)).map(|s| s.name.as_str()).collect();
                let words = format!(
                    "{} sets ({}) need {} hours at {} in {}, where there are {}.",
                    jobs.len(),
                    named(jobs),
                    self.hours(*needs),
                    shops.join(", "),
                    self.periods(&periods),
                    self.hours(*has)
                );
                self.obstacle(ObstacleKind::HoursShort, jobs, periods, self.hours(*needs), self.hours(*has), words)
            }
        }
    }

    fn impossible(&self, cuts: &[Cut], places: &[Place], proved: bool) -> ServicePlan {
        let draft = Draft::new(self.task, places, i64::MAX / 1024, i64::MAX / 1024);
        let mut reliefs = Vec::new();
        for (set, job) in self.year.sets.iter().zip(&self.task.jobs) {
            if job.window == 0 {
                reliefs.push(Relief {
                    district: None,
                    shop: None,
                    set: Some(set.id),
                    period: None,
                    more: 0.0,
                    words: format!("a window for {} within the plan", set.name),
                });
            }
        }
        for (number, district) in self.year.districts.iter().enumerate() {
            for period in 0..self.task.periods {
                let more = draft.lacks(number, period);
                if more > 0 {
                    let (n, s) = (more, if more == 1 { "" } else { "s" });
                    reliefs.push(Relief {
                        district: Some(district.id),
                        shop: None,
                        set: None,
                        period: Some(period),
                        more: crate::amount::count(more),
                        words: format!("{n} more slot{s} for {} in {} (by {n} more stand-in{s})", district.name, self.period(period)),
                    });
                }
            }
        }
        let mut crowded = Vec::new();
        for (number, shop) in self.year.shops.iter().enumerate() {
            let loads = draft.loads().get(number).map_or(&[][..], Vec::as_slice);
            for (period, load) in loads.iter().enumerate() {
                let more = load - self.task.room(number, period);
                if more > 0 {
                    crowded.push((period, number));
                    reliefs.push(Relief {
                        district: None,
                        shop: Some(shop.id),
                        set: None,
                        period: Some(period),
                        more: self.hours(more),
                        words: format!("{} more hours at {} in {}", self.hours(more), shop.name, self.period(period)),
                    });
                }
            }
        }
        let mut obstacles: Vec<Obstacle> = cuts.iter().map(|cut| self.cut(cut)).collect();
        if obstacles.is_empty() {
            // No limit alone forbids it: where the draft bursts is where whole sets do not go together.
            let bursts = |at: &usize| {
                let (Some(job), place) = (self.task.jobs.get(*at), pick(places, *at)) else {
                    return false;
                };
                crowded.contains(&place) || draft.lacks(job.district, place.0) > 0
            };
            let jobs: Vec<usize> = (0..places.len()).filter(bursts).collect();
            let periods: Vec<usize> = jobs.iter().map(|at| pick(places, *at).0).collect();
            let mut shown = periods.clone();
            shown.sort_unstable();
            shown.dedup();
            let districts: Vec<&str> = self
                .districts(&jobs)
                .iter()
                .filter_map(|d| self.year.districts.get(*d))
                .map(|d| d.name.as_str())
                .collect();
            let words = format!(
                "The hours and limits would do for sets cut into pieces, but whole sets do not go together: in {}, {}.",
                self.periods(&shown),
                districts.join(", ")
            );
            let needs: i64 = jobs.iter().filter_map(|at| self.task.jobs.get(*at)).map(|job| job.hours).sum();
            let has: i64 = crowded.iter().map(|(period, shop)| self.task.room(*shop, *period)).sum();
            obstacles.push(self.obstacle(ObstacleKind::WholeSets, &jobs, periods, self.hours(needs), self.hours(has), words));
        }
        let why: Vec<&str> = obstacles.iter().map(|o| o.words.as_str()).collect();
        let help: Vec<&str> = reliefs.iter().map(|r| r.words.as_str()).collect();
        let verdict = if proved {
            "There is no plan."
        } else {
            "No plan was found in the work allowed."
        };
        ServicePlan {
            verdict: if proved { Verdict::Impossible } else { Verdict::NotFound },
            plan: Vec::new(),
            unplanned: Vec::new(),
            lateness: 0,
            lateness_bound: 0,
            peak_hours: 0.0,
            peak_bound: 0.0,
            proved,
            loads: Vec::new(),
            words: format!("{verdict} {} It would be possible with {}.", why.join(" "), help.join(", and ")),
            obstacles,
            reliefs,
        }
    }
}
