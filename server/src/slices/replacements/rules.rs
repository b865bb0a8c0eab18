//! When a piece and its parts are to be replaced, and what that comes to, on plain values.

use std::collections::BTreeMap;

use chrono::{Datelike, NaiveDate};
use fullset_calc::{plate::MadeOn, ratings::Kind};
use fullset_care::life::{self, End, Life, LifePart, PartMade, ServiceLife, Wear};
use serde::Serialize;
use utoipa::ToSchema;

use crate::slices::service_lives::Lacking;

/// So many years are told, this one the first.
pub const YEARS: i32 = 10;

/// Why something is to be replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum ReplacementCause {
    /// Its service life ends.
    Life,
    /// The line through its readings passes a limit of its check plan.
    Readings,
}

/// Something that is to be replaced.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Replacement {
    /// The piece as a whole, or a part of it.
    pub part: LifePart,
    /// On or before this day; today for what has ended.
    pub by: NaiveDate,
    /// Why.
    pub cause: ReplacementCause,
    /// Whether what is replaced was bought in these years itself.
    pub again: bool,
}

/// What is known of the lives of a piece.
#[derive(Debug, Default, PartialEq, Eq)]
pub struct Outlook {
    /// What is to be replaced before `until`, in the order of days for each part.
    pub replacements: Vec<Replacement>,
    /// What is lacking of a life, for a part that has no day otherwise.
    pub lacking: Vec<(Lacking, LifePart)>,
    /// Whether the piece has a life that ends by charge cycles alone, which are not reached.
    pub by_cycles: bool,
}

/// How long pieces of a model serve, and how long hoses do by the agency's policy, in years.
#[derive(Debug, Clone, Copy)]
pub struct Lives<'a> {
    pub kind: Kind,
    pub stated: &'a [ServiceLife],
    pub hose_years: u32,
}

impl Lives<'_> {
    /// When the part ends that is made on that day; `None`: no day ends it.
    fn end(self, part: LifePart, made_on: NaiveDate) -> Option<NaiveDate> {
        let made_on = MadeOn::Day(made_on);
        let parts = [PartMade { part, made_on }];
        let wear = Wear {
            kind: self.kind,
            made_on: Some(made_on),
            parts: if part == LifePart::Whole { &[] } else { &parts },
            cycles: None,
        };
        let lives = life::lives(self.stated, wear, self.hose_years);
        lives.iter().filter(|life| life.part == part).find_map(|life| day_of_end(life.end))
    }
}

fn day_of_end(end: End) -> Option<NaiveDate> {
    match end {
        End::On(day) => Some(day),
        End::DateUnknown | End::AtCycles(..) => None,
    }
}

/// What is to be replaced from `today` until before `until`. `worn` is the day on which its readings pass a limit.
pub fn outlook(own: &[Life<'_>], worn: Option<NaiveDate>, lives: Lives<'_>, today: NaiveDate, until: NaiveDate) -> Outlook {
    let mut outlook = Outlook::default();
    for part in LifePart::ALL.iter().copied() {
        let of_part = || own.iter().filter(move |life| life.part == part);
        let by_life = of_part()
            .filter_map(|life| match life.end {
                End::On(day) => Some(day.max(today)),
                End::AtCycles(Some(cycles), limit) if cycles >= limit => Some(today),
                End::AtCycles(..) | End::DateUnknown => None,
            })
            .min()
            .map(|day| (day, ReplacementCause::Life));
        let by_readings = worn.filter(|_| part == LifePart::Whole).map(|day| (day.max(today), ReplacementCause::Readings));
        let first = [by_life, by_readings].into_iter().flatten().min();
        if by_life.is_none() {
            outlook.lacking.extend(of_part().find_map(|life| match life.end {
                End::DateUnknown => Some((Lacking::DateOfMake, part)),
                End::AtCycles(None, _) => Some((Lacking::Cycles, part)),
                End::On(_) | End::AtCycles(Some(_), _) => None,
            }));
            outlook.by_cycles |= of_part().all(|life| matches!(life.end, End::AtCycles(Some(_), _))) && of_part().next().is_some();
        }
        let mut next = first.map(|(by, cause)| Replacement { part, by, cause, again: false });
        while let Some(one) = next.filter(|one| one.by < until) {
            outlook.replacements.push(one);
            next = lives.end(part, one.by).filter(|day| *day > one.by).map(|by| Replacement {
                by,
                cause: ReplacementCause::Life,
                again: true,
                ..one
            });
        }
    }
    outlook
}

/// The year that something stands in: null, what has ended by today.
pub fn year(by: NaiveDate, today: NaiveDate) -> Option<i32> {
    (by > today).then(|| by.year())
}

/// The first day that is not told of any more.
pub fn until(today: NaiveDate) -> Option<NaiveDate> {
    NaiveDate::from_ymd_opt(today.year().checked_add(YEARS)?, 1, 1)
}

/// What replacements come to.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, ToSchema)]
pub struct ReplacementSum {
    /// Pieces to replace as a whole.
    pub pieces: usize,
    /// What those of them with a price cost, in the agency's money, to the cent.
    pub amount: f64,
    /// Those of them whose model has no price: with any, `amount` is not the whole.
    pub unpriced: usize,
    /// Parts to replace on pieces that stay; they are not priced.
    pub parts: usize,
}

/// Adds up in whole cents, so that sums are exact.
#[derive(Debug, Clone, Copy, Default)]
pub struct Sum {
    pieces: usize,
    cents: f64,
    unpriced: usize,
    parts: usize,
}

impl Sum {
    /// Adds so many of one part. `cost`: what those with a price cost together, in whole cents.
    pub fn add(&mut self, part: LifePart, many: usize, cost: Option<f64>) {
        if part != LifePart::Whole {
            self.parts += many;
            return;
        }
        self.pieces += many;
        match cost {
            Some(cents) => self.cents += cents,
            None => self.unpriced += many,
        }
    }

    /// Both together.
    pub fn with(self, other: Self) -> Self {
        Self {
            pieces: self.pieces + other.pieces,
            cents: self.cents + other.cents,
            unpriced: self.unpriced + other.unpriced,
            parts: self.parts + other.parts,
        }
    }

    /// As it is told, in money.
    pub fn shown(self) -> ReplacementSum {
        ReplacementSum {
            pieces: self.pieces,
            amount: self.cents / 100.0,
            unpriced: self.unpriced,
            parts: self.parts,
        }
    }
}

/// What so many pieces cost at a price of one, in whole cents.
pub fn cents(amount: f64, many: usize) -> f64 {
    (amount * 100.0).round() * f64::from(u32::try_from(many).unwrap_or(u32::MAX))
}

/// A rate as people read it: two figures.
pub fn two_figures(rate: f64) -> f64 {
    format!("{rate:.1e}").parse().unwrap_or(rate)
}

/// The sums year by year from the first, each year told, also one with nothing in it.
pub fn by_year(first: i32, sums: &BTreeMap<Option<i32>, Sum>) -> Vec<(i32, Sum)> {
    let years = (0..YEARS).map(|n| first + n);
    years.map(|year| (year, sums.get(&Some(year)).copied().unwrap_or_default())).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    fn stated(part: LifePart, years: u32) -> ServiceLife {
        ServiceLife {
            part,
            years: Some(years),
            cycles: None,
            source: "manual, p. 4".into(),
        }
    }

    fn all(kind: Kind, stated: &[ServiceLife], made_on: &str, worn: Option<&str>) -> Vec<(String, LifePart, bool)> {
        let today = day("2026-11-30");
        let wear = Wear {
            kind,
            made_on: made_on.parse().ok(),
            parts: &[],
            cycles: None,
        };
        let lives = Lives { kind, stated, hose_years: 10 };
        let own = life::lives(stated, wear, 10);
        let found = outlook(&own, worn.map(day), lives, today, until(today).unwrap());
        found.replacements.iter().map(|one| (one.by.to_string(), one.part, one.again)).collect()
    }

    #[test]
    fn what_is_bought_new_runs_out_again() {
        let whole = LifePart::Whole;
        // DGUV Grundsatz 305-002, 13.2.5: a hose serves 10 years. Made in 2019 it ends in 2029; its successor in 2039, beyond the ten years.
        assert_eq!(all(Kind::Hose, &[], "2019-03-02", None), [("2029-03-02".into(), whole, false)]);
        // A pack of four years: 2027, 2031 and 2035.
        let pack = all(Kind::Battery, &[stated(whole, 4)], "2023-05-01", None);
        assert_eq!(
            pack,
            [
                ("2027-05-01".into(), whole, false),
                ("2031-05-01".into(), whole, true),
                ("2035-05-01".into(), whole, true)
            ]
        );
        // What has ended is due today, and what is bought for it counts from today.
        let late = all(Kind::Battery, &[stated(whole, 6)], "2015-05-01", None);
        assert_eq!(late, [("2026-11-30".into(), whole, false), ("2032-11-30".into(), whole, true)]);
        // 31 December 2035 is told, 1 January 2036 is not.
        assert_eq!(all(Kind::Hose, &[], "2025-12-31", None).len(), 1);
        assert_eq!(all(Kind::Hose, &[], "2026-01-01", None).len(), 0);
    }

    #[test]
    fn the_earlier_of_life_and_readings_counts_and_unknown_has_no_day() {
        let whole = LifePart::Whole;
        assert_eq!(all(Kind::Hose, &[], "2019-03-02", Some("2028-01-01")), [("2028-01-01".into(), whole, false)]);
        assert_eq!(all(Kind::Hose, &[], "2019-03-02", Some("2030-01-01")), [("2029-03-02".into(), whole, false)]);
        // A tool without a life of its own is bought once; nobody knows how long the next one keeps.
        assert_eq!(all(Kind::Cutter, &[], "2019", Some("2030-01-01")), [("2030-01-01".into(), whole, false)]);
        let lives = [Life {
            part: whole,
            end: End::DateUnknown,
            source: None,
        }];
        let hoses = Lives {
            kind: Kind::Hose,
            stated: &[],
            hose_years: 10,
        };
        let found = outlook(&lives, None, hoses, day("2026-11-30"), day("2036-01-01"));
        assert_eq!((found.replacements.len(), found.lacking), (0, vec![(Lacking::DateOfMake, whole)]));
    }

    #[test]
    fn cycles_have_a_day_only_once_they_are_reached() {
        let packs = Lives {
            kind: Kind::Battery,
            stated: &[],
            hose_years: 10,
        };
        let of = |cycles| {
            let lives = [Life {
                part: LifePart::Whole,
                end: End::AtCycles(cycles, 500),
                source: Some("manual"),
            }];
            let found = outlook(&lives, None, packs, day("2026-11-30"), day("2036-01-01"));
            (found.replacements.len(), found.lacking.len(), found.by_cycles)
        };
        assert_eq!([of(None), of(Some(499)), of(Some(500))], [(0, 1, false), (0, 0, true), (1, 0, false)]);
    }

    #[test]
    fn sums_are_exact_and_say_what_is_not_in_them() {
        let mut sum = Sum::default();
        for _ in 0..10 {
            sum.add(LifePart::Whole, 3, Some(cents(0.10, 3)));
        }
        sum.add(LifePart::Whole, 2, None);
        sum.add(LifePart::WhipHose, 4, None);
        let shown = sum.shown();
        assert_eq!((shown.pieces, shown.amount, shown.unpriced, shown.parts), (32, 3.0, 2, 4));
        assert_eq!((cents(1_234.56, 1), cents(412.51, 40)), (123_456.0, 1_650_040.0));
        assert_eq!(
            (year(day("2026-11-30"), day("2026-11-30")), year(day("2026-12-01"), day("2026-11-30"))),
            (None, Some(2026))
        );
    }
}
