//! A year's plan is asked for, and every statement of the answer is held against the year.

use fullset_calc::Unwatched;
use fullset_calc::service_plan::{ServicePlan, Verdict, Year, service_plan};
use uuid::Uuid;

pub const AMPLE: u64 = 20_000_000_000;

pub fn id(n: usize) -> Uuid {
    Uuid::from_u128(n as u128)
}

pub fn periods(n: usize) -> Vec<String> {
    (1..=n).map(|n| format!("month {n}")).collect()
}

pub fn ask(year: &Year) -> ServicePlan {
    let plan = service_plan(year, AMPLE, &mut Unwatched).unwrap();
    holds(year, &plan);
    plan
}

/// Every statement of an answer holds.
pub fn holds(year: &Year, plan: &ServicePlan) {
    if plan.verdict != Verdict::Planned {
        assert!(plan.plan.is_empty() && !plan.obstacles.is_empty() && !plan.reliefs.is_empty(), "{}", plan.words);
        return;
    }
    let mut away = vec![vec![0; year.periods.len()]; year.districts.len()];
    let mut hours = vec![vec![0.0; year.periods.len()]; year.shops.len()];
    let mut late = 0;
    for (set, place) in year.sets.iter().zip(&plan.plan) {
        assert_eq!(set.id, place.set);
        let shop = place.shop.as_u128() as usize;
        match set.pinned {
            Some(pin) => assert_eq!((pin.period, pin.shop), (place.period, shop)),
            None => {
                assert!(place.period >= set.earliest && place.period <= set.latest);
                assert!(set.shops.is_empty() || set.shops.contains(&shop));
            }
        }
        assert_eq!(place.late, place.period.saturating_sub(set.due));
        late += place.late;
        away[set.district][place.period] += 1;
        hours[shop][place.period] += set.hours;
    }
    assert_eq!((plan.plan.len(), plan.lateness), (year.sets.len(), late));
    let of = |list: &[f64], p: usize| list.get(p).or(list.last()).copied().unwrap_or_default();
    for (district, away) in year.districts.iter().zip(&away) {
        for (p, away) in away.iter().enumerate() {
            let cap = district.most_away.get(p).or(district.most_away.last()).copied().unwrap_or_default();
            assert!(*away <= cap, "a plan never breaks a limit");
        }
    }
    let mut peak = 0.0;
    for ((shop, hours), load) in year.shops.iter().zip(&hours).zip(&plan.loads) {
        for (p, sum) in hours.iter().enumerate() {
            assert!(*sum <= of(&shop.hours, p) + 1e-9 && (sum - load.hours[p]).abs() < 1e-9);
            peak = f64::max(peak, *sum);
        }
    }
    assert!((plan.peak_hours - peak).abs() < 1e-9);
    assert!(plan.lateness_bound <= plan.lateness && plan.peak_bound <= plan.peak_hours + 1e-9);
    assert_eq!(
        plan.proved,
        plan.lateness_bound == plan.lateness && (plan.peak_bound - plan.peak_hours).abs() < 1e-9
    );
}

/// With the reliefs given, there is a plan.
pub fn eased(year: &Year, plan: &ServicePlan) -> Year {
    let mut year = year.clone();
    let n = year.periods.len();
    for relief in &plan.reliefs {
        if let (Some(district), Some(period)) = (relief.district, relief.period) {
            let caps = &mut year.districts[district.as_u128() as usize].most_away;
            let last = caps.last().copied().unwrap_or_default();
            caps.resize(n, last);
            caps[period] += relief.more as usize;
        } else if let (Some(shop), Some(period)) = (relief.shop, relief.period) {
            let hours = &mut year.shops[shop.as_u128() as usize].hours;
            let last = hours.last().copied().unwrap_or_default();
            hours.resize(n, last);
            hours[period] += relief.more;
        } else if let Some(set) = relief.set {
            let set = &mut year.sets[set.as_u128() as usize];
            (set.earliest, set.latest) = (0, n - 1);
        }
    }
    year
}
