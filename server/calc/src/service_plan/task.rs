//! The year in whole numbers.

use super::input::Year;
use super::limits::{Limit, limits};
use crate::amount::{grain, whole};
use crate::sets::{one, pick};
use crate::unfit::Unfit;

/// Periods at most: one bit each.
pub(super) const PERIODS: usize = 128;

/// A set.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) struct Job {
    pub(super) district: usize,
    /// In grains.
    pub(super) hours: i64,
    pub(super) due: usize,
    /// The periods in which some shop could take it alone.
    pub(super) mask: u128,
    /// Its window, whatever the shops have.
    pub(super) window: u128,
    pub(super) shops: Vec<usize>,
    /// The stand-ins of its district that restore its rig, each with the periods in which it does.
    pub(super) by: Vec<(usize, u128)>,
    /// The stand-in of its district that it is.
    pub(super) own: Option<usize>,
    /// The limits that it counts against, each with the periods in which it does.
    pub(super) limits: Vec<(usize, u128)>,
}

impl Job {
    pub(super) fn late(&self, period: usize) -> i64 {
        i64::try_from(period.saturating_sub(self.due)).unwrap_or(0)
    }
}

/// What a district can spare.
#[derive(Debug, Clone)]
pub(super) struct Spare {
    /// Most away in each period without a stand-in.
    pub(super) most: Vec<usize>,
    /// How many stand-ins it has.
    pub(super) stand_ins: usize,
}

/// The year.
#[derive(Debug, Clone)]
pub(super) struct Task {
    pub(super) periods: usize,
    pub(super) jobs: Vec<Job>,
    /// Hours of each shop in each period, in grains.
    pub(super) rooms: Vec<Vec<i64>>,
    /// By district.
    pub(super) spares: Vec<Spare>,
    /// What districts can spare, counted so that a plan is within them all just when stand-ins can be shared out.
    pub(super) limits: Vec<Limit>,
    /// One grain in millionths of an hour.
    pub(super) grain: i64,
}

/// Period and shop.
pub(super) type Place = (usize, usize);

impl Task {
    pub(super) fn room(&self, shop: usize, period: usize) -> i64 {
        self.rooms.get(shop).map_or(0, |rooms| pick(rooms, period))
    }

    pub(super) fn most(&self, limit: usize, period: usize) -> usize {
        self.limits.get(limit).map_or(0, |limit| pick(&limit.most, period))
    }

    /// Where a set could be served if it were alone.
    pub(super) fn places(&self, job: &Job) -> Vec<Place> {
        let mut all = Vec::new();
        for period in crate::sets::each(job.mask) {
            all.extend(job.shops.iter().filter(|s| self.room(**s, period) >= job.hours).map(|shop| (period, *shop)));
        }
        all
    }
}

fn known(number: usize, len: usize, what: &str) -> Result<usize, Unfit> {
    if number < len {
        return Ok(number);
    }
    Err(Unfit::new("number", format!("{what} {number} is named, but there are {len}")))
}

fn spread<T: Copy + Default>(list: &[T], periods: usize) -> Vec<T> {
    let last = list.last().copied().unwrap_or_default();
    (0..periods).map(|p| list.get(p).copied().unwrap_or(last)).collect()
}

pub(super) fn task(year: &Year) -> Result<Task, Unfit> {
    let periods = year.periods.len();
    if periods > PERIODS {
        return Err(Unfit::new("periods", format!("{periods} periods: plan at most {PERIODS} at once")));
    }
    let hours = year
        .sets
        .iter()
        .map(|set| whole(set.hours, &format!("the hours of {}", set.name)))
        .collect::<Result<Vec<i64>, Unfit>>()?;
    let grain = grain(hours.iter().copied());
    let mut rooms = Vec::with_capacity(year.shops.len());
    for shop in &year.shops {
        let typed = shop
            .hours
            .iter()
            .map(|h| whole(*h, &format!("the hours of {}", shop.name)).map(|h| h / grain))
            .collect::<Result<Vec<i64>, Unfit>>()?;
        rooms.push(spread(&typed, periods));
    }
    let spares = year.districts.iter().map(|district| Spare {
        most: spread(&district.most_away, periods),
        stand_ins: district.stand_ins.len().min(super::input::STAND_INS),
    });
    let mut task = Task {
        periods,
        jobs: Vec::with_capacity(year.sets.len()),
        rooms,
        spares: spares.collect(),
        limits: Vec::new(),
        grain,
    };
    for (at, hours) in hours.into_iter().enumerate() {
        let job = job(year, &task, at, hours / grain)?;
        task.jobs.push(job);
    }
    stand_ins(year, &mut task)?;
    limits(&mut task);
    Ok(task)
}

fn job(year: &Year, task: &Task, at: usize, hours: i64) -> Result<Job, Unfit> {
    let (periods, shops) = (task.periods, year.shops.len());
    known(at, year.sets.len(), "set")?;
    let Some(set) = year.sets.get(at) else {
        return Err(Unfit::new("number", format!("set {at} is not there")));
    };
    for shop in &set.shops {
        known(*shop, shops, "shop")?;
    }
    let mut job = Job {
        district: known(set.district, year.districts.len(), "district")?,
        hours,
        due: set.due,
        mask: 0,
        window: 0,
        shops: if set.shops.is_empty() { (0..shops).collect() } else { set.shops.clone() },
        by: Vec::new(),
        own: None,
        limits: Vec::new(),
    };
    job.shops.sort_unstable();
    job.shops.dedup();
    let window = match set.pinned {
        Some(pin) => {
            job.shops = vec![known(pin.shop, shops, "shop")?];
            let period = known(pin.period, periods, "period")?;
            period..period + 1
        }
        None => set.earliest..set.latest.saturating_add(1).min(periods),
    };
    for period in window {
        job.window |= one(period);
        if job.shops.iter().any(|shop| task.room(*shop, period) >= job.hours) {
            job.mask |= one(period);
        }
    }
    Ok(job)
}

/// Says on each set what stands in for it. A stand-in restores rigs of its own district alone.
fn stand_ins(year: &Year, task: &mut Task) -> Result<(), Unfit> {
    let (sets, periods) = (task.jobs.len(), task.periods);
    for (number, district) in year.districts.iter().enumerate() {
        for (at, stand_in) in district.stand_ins.iter().take(super::input::STAND_INS).enumerate() {
            if let Some(due) = stand_in.due {
                let job = task.jobs.get_mut(known(due, sets, "set")?);
                if let Some(job) = job.filter(|job| job.district == number && job.own.is_none()) {
                    job.own = Some(at);
                } else {
                    return Err(Unfit::new("number", format!("{} is due in another district, or is named twice", stand_in.name)));
                }
            }
            for (set, when) in &stand_in.restores {
                let mut mask = 0;
                for period in when {
                    mask |= one(known(*period, periods, "period")?);
                }
                let job = task.jobs.get_mut(known(*set, sets, "set")?);
                if let Some(job) = job.filter(|job| job.district == number && mask != 0) {
                    job.by.push((at, mask));
                }
            }
        }
    }
    // What stands in itself takes nobody's place.
    for job in &mut task.jobs {
        if job.own.is_some() {
            job.by.clear();
        }
    }
    Ok(())
}
