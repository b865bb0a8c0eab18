//! Dates of make that are known to the year or the month, and when a life by age ends.
//!
//! A date that is known less well is judged by the earliest day that it may mean: unknown is not young.

use chrono::{Datelike, Months, NaiveDate};
use fullset_calc::{
    capability::life_ends,
    ratings::{Gear, Kind},
};
use serde::{Deserialize, Serialize};
use std::{fmt, str::FromStr};

/// Years that a hose for rescue serves from its date of make (DGUV 305-002, 13.2.5 note). The agency's policy may say otherwise.
pub const HOSE_YEARS: u32 = 10;
/// How far ahead a replacement is planned for, in months (common practice, no source).
pub const PLANNED_MONTHS: u32 = 24;
/// The longest life, in years.
pub const MOST_LIFE_YEARS: u32 = 50;

/// A date of make as the label gives it: `2019`, `2019-06` or `2019-06-12`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct MakeDate {
    year: i32,
    month: Option<u32>,
    day: Option<u32>,
}

impl MakeDate {
    /// The earliest day that it may mean: lives are counted from it.
    #[must_use]
    pub fn earliest(self) -> NaiveDate {
        let (month, day) = (self.month.unwrap_or(1), self.day.unwrap_or(1));
        NaiveDate::from_ymd_opt(self.year, month, day).unwrap_or(NaiveDate::MIN)
    }

    /// The latest day that it may mean: a date that may lie in the past is not refused.
    #[must_use]
    pub fn latest(self) -> NaiveDate {
        let first = self.earliest();
        let months = match (self.month, self.day) {
            (_, Some(_)) => return first,
            (Some(_), None) => 1,
            (None, None) => 12,
        };
        let after = first.checked_add_months(Months::new(months)).and_then(|day| day.pred_opt());
        after.unwrap_or(NaiveDate::MAX)
    }

    /// Whether it is known to the day.
    #[must_use]
    pub const fn is_exact(self) -> bool {
        self.day.is_some()
    }
}

impl From<NaiveDate> for MakeDate {
    fn from(day: NaiveDate) -> Self {
        Self {
            year: day.year(),
            month: Some(day.month()),
            day: Some(day.day()),
        }
    }
}

impl FromStr for MakeDate {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        let wrong = || "write the date of make as 2019, 2019-06 or 2019-06-12".to_owned();
        let part = |text: Option<&str>, digits: usize| -> Result<Option<u32>, String> {
            match text {
                None => Ok(None),
                Some(text) if text.len() == digits && text.bytes().all(|byte| byte.is_ascii_digit()) => text.parse().map(Some).map_err(|_| wrong()),
                Some(_) => Err(wrong()),
            }
        };
        let mut parts = text.trim().splitn(3, '-');
        let year = part(parts.next(), 4)?.and_then(|year| i32::try_from(year).ok()).ok_or_else(wrong)?;
        let (month, day) = (part(parts.next(), 2)?, part(parts.next(), 2)?);
        if !(1900..=2199).contains(&year) {
            return Err(format!("the year {year} is not between 1900 and 2199"));
        }
        NaiveDate::from_ymd_opt(year, month.unwrap_or(1), day.unwrap_or(1)).ok_or_else(|| format!("there is no day {}", text.trim()))?;
        Ok(Self { year, month, day })
    }
}

impl TryFrom<String> for MakeDate {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        text.parse()
    }
}

impl fmt::Display for MakeDate {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{:04}", self.year)?;
        for part in [self.month, self.day].into_iter().flatten() {
            write!(f, "-{part:02}")?;
        }
        Ok(())
    }
}

impl From<MakeDate> for String {
    fn from(date: MakeDate) -> Self {
        date.to_string()
    }
}

#[cfg(feature = "openapi")]
mod schema {
    use std::borrow::Cow;
    use utoipa::openapi::{ObjectBuilder, RefOr, Schema, schema::Type};
    use utoipa::{PartialSchema, ToSchema};

    impl PartialSchema for super::MakeDate {
        fn schema() -> RefOr<Schema> {
            ObjectBuilder::new()
                .schema_type(Type::String)
                .description(Some("A date of make as the label gives it: 2019, 2019-06 or 2019-06-12."))
                .pattern(Some(r"^\d{4}(-\d{2}(-\d{2})?)?$"))
                .examples(["2019-06"])
                .into()
        }
    }

    impl ToSchema for super::MakeDate {
        fn name() -> Cow<'static, str> {
            "MakeDate".into()
        }
    }
}

/// How long things serve by age.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum ServiceLife {
    /// So many years from its date of make.
    Years {
        /// How many, 1 to 50.
        years: u32,
    },
    /// It has a life by age, and how long it is stands only in the maker's manual: nobody has entered it.
    NotOnRecord,
    /// It serves as long as its checks are passed.
    ByChecks,
}

/// How long a piece of that kind serves, where its model says nothing: a hose 10 years as published; of packs, lifting bags, straps and
/// chains the maker's figure must be entered (common practice, no source); all else by its checks.
#[must_use]
pub const fn usual_life(kind: Kind, gear: Option<Gear>) -> ServiceLife {
    match (kind, gear) {
        (Kind::Hose, _) => ServiceLife::Years { years: HOSE_YEARS },
        (Kind::Battery, _) | (Kind::Accessory, Some(Gear::LiftingBag | Gear::Straps | Gear::Chains)) => ServiceLife::NotOnRecord,
        _ => ServiceLife::ByChecks,
    }
}

/// When a life by age ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "state", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum LifeEnd {
    /// From that day on it may not be used.
    On {
        /// The day.
        day: NaiveDate,
    },
    /// Nobody knows when it was made, or how long it serves. Unknown is not young.
    Unknown,
    /// It does not end by age.
    Never,
}

/// When the life of a thing ends that was made then.
#[must_use]
pub fn life_end(made: Option<MakeDate>, life: ServiceLife) -> LifeEnd {
    match (life, made) {
        (ServiceLife::ByChecks, _) => LifeEnd::Never,
        (ServiceLife::Years { years }, Some(made)) => life_ends(made.earliest(), years).map_or(LifeEnd::Unknown, |day| LifeEnd::On { day }),
        (ServiceLife::NotOnRecord, _) | (ServiceLife::Years { .. }, None) => LifeEnd::Unknown,
    }
}

impl LifeEnd {
    /// Whether it ends within so many months of a day, or has ended. `None`: nobody knows, which is to be planned for too.
    #[must_use]
    pub fn runs_out_within(self, today: NaiveDate, months: u32) -> Option<bool> {
        match self {
            Self::Unknown => None,
            Self::Never => Some(false),
            Self::On { day } => Some(today.checked_add_months(Months::new(months)).is_none_or(|last| day <= last)),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn day(text: &str) -> NaiveDate {
        text.parse().unwrap()
    }

    #[test]
    fn a_date_that_is_known_less_well_is_judged_by_its_earliest_day() {
        for (text, earliest, latest) in [
            ("2019", "2019-01-01", "2019-12-31"),
            ("2019-06", "2019-06-01", "2019-06-30"),
            ("2020-02", "2020-02-01", "2020-02-29"),
            ("2019-06-12", "2019-06-12", "2019-06-12"),
        ] {
            let made: MakeDate = text.parse().unwrap();
            assert_eq!((made.earliest(), made.latest()), (day(earliest), day(latest)), "{text}");
            assert_eq!(made.to_string(), text);
            assert_eq!(serde_json::from_str::<MakeDate>(&format!("\"{text}\"")).unwrap(), made);
        }
        for text in [
            "",
            "19",
            "2019-6",
            "2019-13",
            "2019-02-29",
            "2019-06-12-1",
            "1899",
            "2019-06-",
            "+201",
            "06/2019",
        ] {
            assert!(text.parse::<MakeDate>().is_err(), "{text}");
        }
    }

    #[test]
    fn a_hose_ends_ten_years_after_the_earliest_day_on_which_it_may_have_been_made() {
        // DGUV 305-002, 13.2.5 note (CHECKS A4).
        let end = |made: Option<&str>| life_end(made.map(|made| made.parse().unwrap()), usual_life(Kind::Hose, None));
        assert_eq!(end(Some("2016-11")), LifeEnd::On { day: day("2026-11-01") });
        assert_eq!(end(Some("2016")), LifeEnd::On { day: day("2026-01-01") });
        assert_eq!(end(None), LifeEnd::Unknown);
        assert_eq!(life_end(None, usual_life(Kind::Cutter, None)), LifeEnd::Never);
        assert_eq!(life_end(Some(day("2026-01-01").into()), usual_life(Kind::Battery, None)), LifeEnd::Unknown);
    }

    #[test]
    fn what_runs_out_in_two_years_is_told_to_the_day_and_the_unknown_as_unknown() {
        let within = |end: LifeEnd| end.runs_out_within(day("2026-11-28"), PLANNED_MONTHS);
        assert_eq!(within(LifeEnd::On { day: day("2028-11-28") }), Some(true));
        assert_eq!(within(LifeEnd::On { day: day("2028-11-29") }), Some(false));
        assert_eq!(within(LifeEnd::On { day: day("2020-01-01") }), Some(true));
        assert_eq!(within(LifeEnd::Unknown), None);
        assert_eq!(within(LifeEnd::Never), Some(false));
    }
}
