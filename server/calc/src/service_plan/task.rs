//! The year in whole numbers.

use super::input::Year;
use crate::amount::{grain, whole};
use crate::sets::pick;
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
}

impl Job {
    pub(super) fn late(&self, period: usize) -> i64 {
        i64::try_from(period.saturating_sub(self.due)).unwrap_or(0)
    }
}

/// The year.
#[derive(Debug, Clone)]
pub(super) struct Task {
    pub(super) periods: usize,
    pub(super) jobs: Vec<Job>,
    /// Hours of each shop in each period, in grains.
    pub(super) rooms: Vec<Vec<i64>>,
    /// Most away of each district in each period.
    pub(super) caps: Vec<Vec<usize>>,
    /// One grain in millionths of an hour.
    pub(super) grain: i64,
}

/// Period and shop.
pub(super) type Place = (usize, usize);

impl Task {
    pub(super) fn room(&self, shop: usize, period: usize) -> i64 {
        self.rooms.get(shop).map_or(0, |rooms| pick(rooms, period))
    }

    pub(super) fn cap(&self, district: usize, period: usize) -> usize {
        self.caps.get(district).map_or(0, |caps| pick(caps, period))
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
    let caps = year.districts.iter().map(|district| spread(&district.most_away, periods)).collect();
    let mut task = Task {
        periods,
        jobs: Vec::with_capacity(year.sets.len()),
        rooms,
        caps,
        grain,
    };
    for (set, hours) in year.sets.iter().zip(hours) {
        for shop in &set.shops {
            known(*shop, year.shops.len(), "shop")?;
        }
        let mut job = Job {
            district: known(set.district, year.districts.len(), "district")?,
            hours: hours / grain,
            due: set.due,
            mask: 0,
            window: 0,
            shops: if set.shops.is_empty() {
                (0..year.shops.len()).collect()
            } else {
                set.shops.clone()
            },
        };
        job.shops.sort_unstable();
        job.shops.dedup();
        let window = match set.pinned {
            Some(pin) => {
                job.shops = vec![known(pin.shop, year.shops.len(), "shop")?];
                let period = known(pin.period, periods, "period")?;
                period..period + 1
            }
            None => set.earliest..set.latest.saturating_add(1).min(periods),
        };
        for period in window {
            job.window |= crate::sets::one(period);
            if job.shops.iter().any(|shop| task.room(*shop, period) >= job.hours) {
                job.mask |= crate::sets::one(period);
            }
        }
        task.jobs.push(job);
    }
    Ok(task)
}
