//! Plans and obstacles put into words and named.

use super::answer::{Assigned, Obstacle, ObstacleKind, Relief, ServicePlan, ShopLoad, Verdict};
use super::input::Year;
use super::local::Draft;
use super::obstacles::Cut;
use super::plan::Outcome;
use super::task::{Place, Task};
use crate::amount::real;
use crate::sets::pick;

struct Names<'a> {
    year: &'a Year,
    task: &'a Task,
}

pub(super) fn tell(year: &Year, task: &Task, outcome: Outcome) -> ServicePlan {
    let names = Names { year, task };
    match outcome {
        Outcome::Plan {
            places,
            lateness,
            lateness_bound,
            peak,
            peak_bound,
        } => names.planned(&places, (lateness, lateness_bound), (peak, peak_bound)),
        Outcome::None { cuts, draft, proved } => names.impossible(&cuts, &draft, proved),
    }
}

fn periods_late(n: i64) -> usize {
    usize::try_from(n).unwrap_or_default()
}

impl Names<'_> {
    fn hours(&self, grains: i64) -> f64 {
        real(grains.saturating_mul(self.task.grain))
    }

    fn planned(&self, places: &[Place], lateness: (i64, i64), peak: (i64, i64)) -> ServicePlan {
        let plan = self
            .year
            .sets
            .iter()
            .zip(places)
            .zip(&self.task.jobs)
            .filter_map(|((set, (period, shop)), job)| {
                Some(Assigned {
                    set: set.id,
                    period: *period,
                    shop: self.year.shops.get(*shop)?.id,
                    late: periods_late(job.late(*period)),
                })
            });
        let draft = Draft::new(self.task, places, i64::MAX / 1024, i64::MAX / 1024);
        let loads = self.year.shops.iter().zip(draft.loads()).map(|(shop, loads)| ShopLoad {
            shop: shop.id,
            hours: loads.iter().map(|load| self.hours(*load)).collect(),
        });
        let proved = lateness.0 == lateness.1 && peak.0 == peak.1;
        let late = match lateness.0 {
            0 => "none late".to_owned(),
            n => format!("{n} period{} late in all", if n == 1 { "" } else { "s" }),
        };
        let mut words = format!(
            "{} sets planned, {late}; at most {} hours for a shop in a period.",
            places.len(),
            self.hours(peak.0)
        );
        if !proved {
            words.push_str(&format!(
                " Not proved the best: no plan is less than {} late, none as late has less than {} hours at the peak.",
                lateness.1,
                self.hours(peak.1)
            ));
        }
        ServicePlan {
            verdict: Verdict::Planned,
            plan: plan.collect(),
            lateness: periods_late(lateness.0),
            lateness_bound: periods_late(lateness.1),
            peak_hours: self.hours(peak.0),
            peak_bound: self.hours(peak.1),
            proved,
            loads: loads.collect(),
            obstacles: Vec::new(),
            reliefs: Vec::new(),
            words,
        }
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
            let away = draft.away().get(number).map_or(&[][..], Vec::as_slice);
            for (period, away) in away.iter().enumerate() {
                let more = away.saturating_sub(self.task.cap(number, period));
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
                let away = draft.away().get(job.district).map_or(0, |away| pick(away, place.0));
                crowded.contains(&place) || away > self.task.cap(job.district, place.0)
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
