//! What stands on a piece's plate and in its papers: its serial number and its dates.

use chrono::{Datelike, Months, NaiveDate};
use serde::{Deserialize, Serialize};
use std::fmt;
use std::str::FromStr;

/// When something was made, as its label has it: a day, a month where the label names no day, or a year alone. What must not be too old
/// is counted from the first day that it can be, what must be old enough from the last.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub enum MadeOn {
    /// On that day.
    Day(NaiveDate),
    /// In the month that begins with that day.
    Month(NaiveDate),
    /// In the year that begins with that day.
    Year(NaiveDate),
}

impl MadeOn {
    /// Some day of that month; none where there is no such month.
    #[must_use]
    pub fn month(year: i32, month: u32) -> Option<Self> {
        NaiveDate::from_ymd_opt(year, month, 1).map(Self::Month)
    }

    /// Some day of that year; none where there is no such year.
    #[must_use]
    pub fn year(year: i32) -> Option<Self> {
        NaiveDate::from_ymd_opt(year, 1, 1).map(Self::Year)
    }

    /// The first day on which it can have been.
    #[must_use]
    pub const fn earliest(self) -> NaiveDate {
        match self {
            Self::Day(day) | Self::Month(day) | Self::Year(day) => day,
        }
    }

    /// The last day on which it can have been.
    #[must_use]
    pub fn latest(self) -> NaiveDate {
        let last = |first: NaiveDate, months| first.checked_add_months(Months::new(months)).and_then(|next| next.pred_opt()).unwrap_or(first);
        match self {
            Self::Day(day) => day,
            Self::Month(first) => last(first, 1),
            Self::Year(first) => last(first, 12),
        }
    }
}

/// As it is written: `2019-05-14`, `2019-05` for a month, `2019` for a year.
impl fmt::Display for MadeOn {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Day(day) => write!(f, "{day}"),
            Self::Month(first) => write!(f, "{:04}-{:02}", first.year(), first.month()),
            Self::Year(first) => write!(f, "{:04}", first.year()),
        }
    }
}

/// What stands for no day and no month.
const NOT_READ: &str =
    "A date of make is written as year-month-day, or as far as the label names it, as year-month or as year alone: 2019-05-14, 2019-05 or 2019";

impl FromStr for MadeOn {
    type Err = &'static str;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        let parts: Vec<&str> = text.split('-').collect();
        let number = |part: &str, digits: usize| {
            let plain = part.len() == digits && part.bytes().all(|byte| byte.is_ascii_digit());
            plain.then(|| part.parse::<u32>().ok()).flatten()
        };
        let year = |part: &str| number(part, 4).filter(|year| *year > 0).and_then(|year| i32::try_from(year).ok());
        let found = match parts.as_slice() {
            [y] => year(y).and_then(Self::year),
            [y, m] => year(y).zip(number(m, 2)).and_then(|(y, m)| Self::month(y, m)),
            [y, m, d] => {
                let day = year(y).zip(number(m, 2)).zip(number(d, 2));
                day.and_then(|((y, m), d)| NaiveDate::from_ymd_opt(y, m, d)).map(Self::Day)
            }
            _ => None,
        };
        found.ok_or(NOT_READ)
    }
}

impl TryFrom<String> for MadeOn {
    type Error = &'static str;

    fn try_from(text: String) -> Result<Self, Self::Error> {
        text.parse()
    }
}

impl From<MadeOn> for String {
    fn from(made: MadeOn) -> Self {
        made.to_string()
    }
}

/// The dates of a piece, as far as they are known.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Dates {
    /// Date of make.
    pub made_on: Option<MadeOn>,
    /// In service with the agency since.
    pub in_service_since: Option<NaiveDate>,
    /// Last annual service.
    pub last_service_on: Option<NaiveDate>,
}

/// Why dates cannot be so.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DateFault {
    /// The field at fault: `made_on`, `in_service_since` or `last_service_on`.
    pub field: &'static str,
    /// `date-in-future` or `dates-out-of-order`.
    pub code: &'static str,
    /// What is wrong.
    pub reason: String,
    /// What to do.
    pub hint: &'static str,
}

/// Whether a piece can have these dates. `today` is the day in the agency's time zone. What is not known stands in nobody's
/// way: nothing is made, put in service or serviced after today, and nothing is put in service or serviced before it is
/// made.
///
/// # Errors
/// The first date that cannot be so: `date-in-future`, `dates-out-of-order`.
pub fn dates(dates: Dates, today: NaiveDate) -> Result<(), DateFault> {
    let named = [
        ("made_on", "the date of make", dates.made_on.map(MadeOn::earliest)),
        ("in_service_since", "the first day of service", dates.in_service_since),
        ("last_service_on", "the last annual service", dates.last_service_on),
    ];
    for (field, words, day) in named {
        if let Some(day) = day.filter(|day| *day > today) {
            return Err(DateFault {
                field,
                code: "date-in-future",
                reason: format!("{words}, {day}, lies in the future"),
                hint: "correct the year, or leave the date out when it is not known",
            });
        }
    }
    let Some(made_on) = dates.made_on else { return Ok(()) };
    for (field, words, day) in named.into_iter().skip(1) {
        if let Some(day) = day.filter(|day| *day < made_on.earliest()) {
            return Err(DateFault {
                field,
                code: "dates-out-of-order",
                reason: format!("{words}, {day}, lies before the date of make, {made_on}"),
                hint: "look at the label again: one of the two dates is wrong",
            });
        }
    }
    Ok(())
}

/// A serial number as two plates are compared: capitals and blanks make no difference.
#[must_use]
pub fn plain_serial(serial: &str) -> String {
    serial.chars().filter(|c| !c.is_whitespace()).flat_map(char::to_lowercase).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn blanks_and_capitals_make_no_other_serial() {
        let same = |one: &str, other: &str| plain_serial(one) == plain_serial(other);
        assert!(same("AB 12", "ab12") && !same("AB12", "AB-12") && !same("AB10", "ABIO"));
    }

    #[test]
    fn a_label_may_name_a_month_or_a_year_alone() {
        for (text, first, last) in [
            ("2019-05-14", "2019-05-14", "2019-05-14"),
            ("2019-05", "2019-05-01", "2019-05-31"),
            ("2020-02", "2020-02-01", "2020-02-29"),
            ("9999-12", "9999-12-01", "9999-12-31"),
            ("2019", "2019-01-01", "2019-12-31"),
            ("9999", "9999-01-01", "9999-12-31"),
        ] {
            let made: MadeOn = text.parse().unwrap();
            assert_eq!((made.earliest().to_string(), made.latest().to_string()), (first.into(), last.into()));
            assert_eq!(made.to_string(), text);
        }
        for text in [
            "",
            "201",
            "20190",
            "2019-",
            "2019-5",
            "2019-13",
            "2019-02-30",
            "19-05-14",
            "0000-01",
            "+2019-05",
            "2019-05-14-",
            "-001-05",
            "2019-05-1x",
        ] {
            assert_eq!(text.parse::<MadeOn>(), Err(NOT_READ), "{text}");
        }
    }

    #[test]
    fn no_date_lies_in_the_future_or_before_the_make() {
        let made_on = |text: &str| (!text.is_empty()).then(|| text.parse::<MadeOn>().unwrap());
        let day = |text: &str| (!text.is_empty()).then(|| text.parse::<NaiveDate>().unwrap());
        let today = day("2026-11-25").unwrap();
        for (made, since, service, found) in [
            ("", "", "", None),
            ("2020-01-01", "2020-01-01", "2020-01-01", None),
            ("2026-11-25", "2026-11-25", "2026-11-25", None),
            ("", "2020-01-01", "2019-01-01", None),
            ("2026-11-26", "", "", Some(("made_on", "date-in-future"))),
            ("2026-11", "2026-11-01", "2026-11-25", None),
            ("2026-12", "", "", Some(("made_on", "date-in-future"))),
            ("2026", "2026-01-01", "2026-11-25", None),
            ("2027", "", "", Some(("made_on", "date-in-future"))),
            ("2026", "2025-12-31", "", Some(("in_service_since", "dates-out-of-order"))),
            ("2026-11", "2026-10-31", "", Some(("in_service_since", "dates-out-of-order"))),
            ("", "2026-11-26", "", Some(("in_service_since", "date-in-future"))),
            ("", "", "2062-06-01", Some(("last_service_on", "date-in-future"))),
            ("2020-01-02", "2020-01-01", "", Some(("in_service_since", "dates-out-of-order"))),
            ("2020-01-02", "", "2020-01-01", Some(("last_service_on", "dates-out-of-order"))),
            ("2020-01-02", "2021-01-01", "2019-01-01", Some(("last_service_on", "dates-out-of-order"))),
        ] {
            let all = Dates {
                made_on: made_on(made),
                in_service_since: day(since),
                last_service_on: day(service),
            };
            assert_eq!(
                dates(all, today).err().map(|fault| (fault.field, fault.code)),
                found,
                "{made} {since} {service}"
            );
        }
    }
}
