//! A reading that moves towards its limit: when it would get there.
//!
//! The line through the readings is Theil's and Sen's: its slope is the median of the slopes of all pairs (Sen, "Estimates of the
//! regression coefficient based on Kendall's tau", J. Am. Stat. Assoc. 63, 1968), its height the median of what is left. One misread
//! value does not turn it. A line is drawn only where readings go one way by Kendall's test: as many pairs going that way by chance would
//! come up in less than one case of twenty ("A new measure of rank correlation", Biometrika 30, 1938; counted exactly, as if no two
//! readings were alike, which asks for more where some are).
//!
//! It is a line drawn on, for a budget. It says nothing of whether the tool may be used: its checks do.

use super::{
    facts::{Earlier, Facts, Sort},
    hold::{LimitCheck, hold},
};
use crate::plan::Limit;
use chrono::{Days, NaiveDate};
use fullset_calc::{field_trial::spread, units::Quantity};

/// Fewer readings draw no line: of three that all go one way, one in six does by chance.
const LEAST_READINGS: usize = 4;
/// Readings that lie closer together than this, in days, say nothing of years.
const LEAST_SPAN: i64 = 365;
/// How far ahead the line is followed, in days: ten years.
const MOST_DAYS: u64 = 3_653;
/// So seldom, or more seldom, the readings go that way by chance.
const CHANCE: f64 = 0.05;

/// A reading that moves towards its limit.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// The first day on which the line is beyond the limit.
    pub reaches_on: NaiveDate,
    /// What it moves by in a year of 365.25 days, in the unit of the last reading.
    pub per_year: f64,
    /// Readings that the line is drawn through.
    pub readings: usize,
    /// The day of the first of them.
    pub since: NaiveDate,
    /// What the last of them was.
    pub last: Quantity,
}

/// When readings of a sort reach a limit at which this piece would fail, from `today` and within ten years; `None`: they are too few, lie
/// within a year, measure different things, do not clearly go one way, or do not get there.
#[must_use]
pub fn wear(earlier: &[Earlier], sort: &Sort, limits: &[Limit], facts: &Facts<'_>, today: NaiveDate) -> Option<Wear> {
    let mut known: Vec<&Earlier> = earlier
        .iter()
        .filter(|one| one.sort == *sort && one.value.si().is_finite() && one.on <= today)
        .collect();
    known.sort_by_key(|one| one.on);
    let (first, last) = (*known.first()?, *known.last()?);
    if known.len() < LEAST_READINGS || (last.on - first.on).num_days() < LEAST_SPAN {
        return None;
    }
    let points = known
        .iter()
        .map(|one| Some((days(first.on, one.on), one.value.to(last.value.unit).ok()?.value)))
        .collect::<Option<Vec<_>>>()?;
    if chance(points.len(), agreeing(&points).unsigned_abs()) > CHANCE {
        return None;
    }
    let line = Line::through(&points)?;
    let beyond = |day: NaiveDate| {
        let there = Quantity::new(line.at(days(first.on, day)), last.value.unit);
        limits.iter().any(|limit| matches!(hold(limit, sort, "", there, facts), LimitCheck::Beyond(_)))
    };
    Some(Wear {
        reaches_on: first_day(today, beyond)?,
        per_year: line.slope * 365.25,
        readings: points.len(),
        since: first.on,
        last: last.value,
    })
}

/// The first of the days from `today` on, within ten years, on which it is so, where it stays so from then on.
fn first_day(today: NaiveDate, is_so: impl Fn(NaiveDate) -> bool) -> Option<NaiveDate> {
    let day = |n: u64| today.checked_add_days(Days::new(n));
    let (mut no, mut yes) = (0, MOST_DAYS);
    if is_so(today) {
        return Some(today);
    }
    if !is_so(day(yes)?) {
        return None;
    }
    while yes - no > 1 {
        let middle = no.midpoint(yes);
        if is_so(day(middle)?) {
            yes = middle;
        } else {
            no = middle;
        }
    }
    day(yes)
}

fn days(from: NaiveDate, to: NaiveDate) -> f64 {
    f64::from(i32::try_from((to - from).num_days()).unwrap_or(i32::MAX))
}

/// Pairs that rise less pairs that fall: Kendall's S.
fn agreeing(points: &[(f64, f64)]) -> i64 {
    pairs(points)
        .map(|((_, before), (_, after))| i64::from(after > before) - i64::from(after < before))
        .sum()
}

fn pairs(points: &[(f64, f64)]) -> impl Iterator<Item = ((f64, f64), (f64, f64))> + '_ {
    points
        .iter()
        .enumerate()
        .flat_map(move |(n, one)| points.iter().skip(n + 1).map(move |other| (*one, *other)))
}

/// How likely so many pairs agree one way, or more, where readings lie in any order: of n! orders those with an S of at least `s`.
///
/// Orders are counted by their inversions: S is n(n-1)/2 less twice those.
fn chance(n: usize, s: u64) -> f64 {
    let mut orders = vec![1.0];
    for size in 2..=n {
        let mut next = vec![0.0; orders.len() + size - 1];
        for (inversions, share) in orders.iter().enumerate() {
            for slot in next.iter_mut().skip(inversions).take(size) {
                *slot += share / f64::from(u32::try_from(size).unwrap_or(u32::MAX));
            }
        }
        orders = next;
    }
    let all = orders.len() as u64 - 1;
    let most = all.saturating_sub(s) / 2;
    orders.iter().zip(0..=most).map(|(share, _)| share).sum()
}

/// A straight line.
#[derive(Debug, Clone, Copy)]
struct Line {
    slope: f64,
    height: f64,
}

impl Line {
    /// The line of the median slope, at the median height.
    fn through(points: &[(f64, f64)]) -> Option<Self> {
        let slopes = pairs(points).filter(|(one, other)| other.0 > one.0);
        let slopes: Vec<f64> = slopes.map(|(one, other)| (other.1 - one.1) / (other.0 - one.0)).collect();
        let slope = spread(&slopes)?.median;
        let heights: Vec<f64> = points.iter().map(|(day, value)| value - slope * day).collect();
        let height = spread(&heights)?.median;
        Some(Self { slope, height })
    }

    fn at(self, day: f64) -> f64 {
        self.height + self.slope * day
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use fullset_calc::{ratings::Ratings, release::Measure, units::Unit};

    fn close(a: f64, b: f64) -> bool {
        (a - b).abs() < 1e-9
    }

    #[test]
    fn the_chance_of_agreeing_pairs_is_counted_exactly() {
        // Worked by hand from the orders themselves: of 24 orders of four one has S = 6 and three have S = 4; of 120 orders of five one has
        // S = 10, four S = 8, nine S = 6. Kaarsemaker and van Wijngaarden's tables (1953) give the same 0.042, 0.167, 0.008, 0.042, 0.117
        // (their figures from memory).
        for (n, s, orders, of) in [
            (4, 6, 1.0, 24.0),
            (4, 4, 4.0, 24.0),
            (5, 10, 1.0, 120.0),
            (5, 8, 5.0, 120.0),
            (5, 6, 14.0, 120.0),
        ] {
            assert!(close(chance(n, s), orders / of), "{n} {s} {}", chance(n, s));
        }
        assert!(close(chance(3, 3), 1.0 / 6.0), "three that all go one way are no evidence");
        assert!(chance(40, 0) > 0.5 && chance(40, 780) < 1e-40);
    }

    #[test]
    fn one_misread_value_does_not_turn_the_line() {
        // Six slopes by hand: 1, 1, 1 of the straight three, and 17, 9, 19/3 with the last. Sorted 1 1 1 19/3 9 17: median 11/3.
        let line = Line::through(&[(0.0, 0.0), (1.0, 1.0), (2.0, 2.0), (3.0, 19.0)]).unwrap();
        assert!(close(line.slope, 11.0 / 3.0), "{line:?}");
        // Of five, with the one in the middle misread, the six slopes without it are 1 and the median of ten is still 1.
        let line = Line::through(&[(0.0, 5.0), (1.0, 6.0), (2.0, 70.0), (3.0, 8.0), (4.0, 9.0)]).unwrap();
        assert!(close(line.slope, 1.0) && close(line.height, 5.0), "{line:?}");
    }

    fn facts(ratings: &Ratings) -> Facts<'_> {
        Facts {
            ratings,
            nominal: None,
            drive: None,
            gear: None,
            dump_valve: None,
            baseline: &[],
            makers_bounds: &[],
            earlier: &[],
        }
    }

    fn seconds(value: f64) -> Quantity {
        Quantity::new(value, Unit::Second)
    }

    fn readings(of: &[(&str, f64)]) -> Vec<Earlier> {
        of.iter()
            .map(|(on, value)| Earlier {
                sort: Sort::of(Measure::OpeningTime, "open"),
                on: on.parse().unwrap(),
                value: seconds(*value),
            })
            .collect()
    }

    fn found(of: &[(&str, f64)], most: f64) -> Option<Wear> {
        let limits = [Limit::Fixed {
            min: None,
            max: Some(seconds(most)),
        }];
        let ratings = Ratings::default();
        let today = "2026-11-30".parse().unwrap();
        wear(&readings(of), &Sort::of(Measure::OpeningTime, "open"), &limits, &facts(&ratings), today)
    }

    #[test]
    fn a_tool_that_opens_slower_each_year_reaches_its_limit_on_a_day() {
        // One second in each 365 days, from 10 s on day 0: beyond 15.5 s after 2007.5 days, so on the day 2008 after 1 Jan 2022.
        let years = [("2022-01-01", 10.0), ("2023-01-01", 11.0), ("2024-01-01", 12.0), ("2024-12-31", 13.0)];
        let wear = found(&years, 15.5).unwrap();
        assert_eq!(wear.reaches_on, "2027-07-02".parse().unwrap());
        assert!(close(wear.per_year, 365.25 / 365.0), "{wear:?}");
        assert_eq!((wear.readings, wear.since), (4, "2022-01-01".parse().unwrap()));
        let there = found(&years, 12.0).unwrap();
        assert_eq!(
            there.reaches_on,
            "2026-11-30".parse().unwrap(),
            "the line is beyond it already: today, not in the past"
        );
    }

    #[test]
    fn no_line_is_drawn_through_what_says_nothing() {
        for (why, of, most) in [
            ("three", &[("2022-01-01", 10.0), ("2023-01-01", 11.0), ("2024-01-01", 12.0)][..], 15.0),
            (
                "within a year",
                &[("2026-01-01", 10.0), ("2026-02-01", 11.0), ("2026-03-01", 12.0), ("2026-04-01", 13.0)],
                15.0,
            ),
            (
                "up and down",
                &[("2022-01-01", 10.0), ("2023-01-01", 12.0), ("2024-01-01", 11.0), ("2025-01-01", 13.0)],
                15.0,
            ),
            (
                "away from the limit",
                &[("2022-01-01", 14.0), ("2023-01-01", 13.0), ("2024-01-01", 12.0), ("2025-01-01", 11.0)],
                15.0,
            ),
            (
                "not within ten years",
                &[("2022-01-01", 10.0), ("2023-01-01", 10.01), ("2024-01-01", 10.02), ("2025-01-01", 10.03)],
                15.0,
            ),
        ] {
            assert_eq!(found(of, most), None, "{why}");
        }
    }
}
