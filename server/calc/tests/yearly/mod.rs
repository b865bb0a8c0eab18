//! A year's plan is asked for, and every statement of the answer is held against the year.
#![allow(dead_code)]

use fullset_calc::Unwatched;
use fullset_calc::service_plan::{ServicePlan, Set, StandIn, Verdict, Year, service_plan};
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

/// The stand-ins of a set's district that restore its rig in a period.
pub fn restored_by(year: &Year, set: usize, period: usize) -> Vec<usize> {
    let stand_ins = year.districts[year.sets[set].district].stand_ins.iter().enumerate();
    let restores = |known: &StandIn| known.restores.iter().any(|(of, when)| *of == set && when.contains(&period));
    stand_ins.filter(|(_, known)| restores(known)).map(|(at, _)| at).collect()
}

/// Whether a set stands in itself.
pub fn stands_in(year: &Year, set: usize) -> bool {
    year.districts
        .iter()
        .flat_map(|district| &district.stand_ins)
        .any(|known| known.due == Some(set))
}

fn cap_of(year: &Year, district: usize, period: usize) -> usize {
    let caps = &year.districts[district].most_away;
    caps.get(period).or(caps.last()).copied().unwrap_or_default()
}

/// Every statement of an answer holds.
pub fn holds(year: &Year, plan: &ServicePlan) {
    if plan.verdict != Verdict::Planned {
        assert!(!plan.obstacles.is_empty() && !plan.reliefs.is_empty(), "{}", plan.words);
        assert_eq!(plan.plan.is_empty(), plan.verdict != Verdict::Partly, "{}", plan.words);
        if plan.verdict != Verdict::Partly {
            return;
        }
    }
    let mut away: Vec<Vec<Vec<Option<Uuid>>>> = vec![vec![Vec::new(); year.periods.len()]; year.districts.len()];
    let mut hours = vec![vec![0.0; year.periods.len()]; year.shops.len()];
    let mut late = 0;
    assert_eq!(plan.plan.len() + plan.unplanned.len(), year.sets.len());
    assert_eq!(plan.unplanned.is_empty(), plan.verdict == Verdict::Planned);
    let planned: Vec<(usize, &Set)> = year.sets.iter().enumerate().filter(|(_, set)| !plan.unplanned.contains(&set.id)).collect();
    for ((at, set), place) in planned.iter().zip(&plan.plan) {
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
        hours[shop][place.period] += set.hours;
        if stands_in(year, *at) {
            assert_eq!(place.stand_in, None);
            continue;
        }
        away[set.district][place.period].push(place.stand_in);
        let Some(stand_in) = place.stand_in else { continue };
        let known = &year.districts[set.district].stand_ins;
        let number = known.iter().position(|known| known.id == stand_in).unwrap();
        assert!(restored_by(year, *at, place.period).contains(&number), "it restores that rig then");
        let own = known[number].due.and_then(|due| planned.iter().position(|(at, _)| *at == due));
        assert!(own.is_none_or(|own| plan.plan[own].period != place.period), "what is away stands in nowhere");
    }
    assert_eq!(plan.lateness, late);
    let of = |list: &[f64], p: usize| list.get(p).or(list.last()).copied().unwrap_or_default();
    for (district, away) in away.iter().enumerate() {
        for (p, away) in away.iter().enumerate() {
            let alone = away.iter().filter(|stand_in| stand_in.is_none()).count();
            assert!(alone <= cap_of(year, district, p), "a plan never breaks a limit");
            let mut used: Vec<Uuid> = away.iter().copied().flatten().collect();
            used.sort_unstable();
            assert!(used.windows(2).all(|two| two[0] != two[1]), "a stand-in stands in once");
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
