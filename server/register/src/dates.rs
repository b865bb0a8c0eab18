//! Dates as people and spreadsheets write them.
//!
//! In `6/7/2025` only the file can tell which number is the month: any number above 12 in one of its dates does. Dates
//! with dots are their own habit and usually day first, so they are judged apart from those with slashes.

use super::cells::{Fault, is_blank};
use chrono::{Datelike, NaiveDate};
use fullset_calc::plate::MadeOn;
use serde::{Deserialize, Serialize};

/// Which number of a date of three numbers comes first.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum DateOrder {
    /// `6/19/2025`
    #[default]
    #[serde(rename = "month first")]
    MonthFirst,
    /// `19/6/2025`
    #[serde(rename = "day first")]
    DayFirst,
}

impl DateOrder {
    /// The words for it.
    #[must_use]
    pub const fn words(self) -> &'static str {
        match self {
            Self::MonthFirst => "month first",
            Self::DayFirst => "day first",
        }
    }
}

/// A date before the order of its numbers is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    /// Year, month and day are plain.
    Plain(i32, u32, u32),
    /// Two numbers and a year, and whether dots stand between them.
    Open(u32, u32, i32, bool),
}

/// What the dates of one habit show.
#[derive(Debug, Clone, Copy, Default)]
struct Tally {
    month_first: usize,
    day_first: usize,
    open: usize,
}

impl Tally {
    fn count(&mut self, a: u32, b: u32) {
        match (a > 12, b > 12) {
            (false, true) => self.month_first += 1,
            (true, false) => self.day_first += 1,
            (false, false) if a != b => self.open += 1,
            _ => {}
        }
    }

    fn order(self, default: DateOrder) -> DateOrder {
        match self.month_first.cmp(&self.day_first) {
            std::cmp::Ordering::Greater => DateOrder::MonthFirst,
            std::cmp::Ordering::Less => DateOrder::DayFirst,
            std::cmp::Ordering::Equal => default,
        }
    }

    fn note(self, default: DateOrder, example: &str) -> Option<String> {
        let order = self.order(default).words();
        match (self.month_first, self.day_first, self.open) {
            (0, 0, 0) => None,
            (0, 0, n) => Some(format!(
                "{n} dates such as {example} do not show whether day or month comes first; they were read {order}"
            )),
            (0, _, _) | (_, 0, _) => None,
            (m, d, n) => Some(format!(
                "the dates such as {example} contradict each other ({m} can only be month first, {d} only day first); the {n} that fit both were read {order}, and those that do not fit were refused"
            )),
        }
    }
}

/// How the dates of one file are to be read.
#[derive(Debug, Clone, Copy)]
pub struct Dates {
    slashed: DateOrder,
    dotted: DateOrder,
    year: i32,
}

impl Dates {
    /// Finds the order from every date cell of the file. `default` decides where slashes leave it open.
    ///
    /// Hands back the order to report, where any date needed one, and notes.
    pub fn find<'a>(cells: impl Iterator<Item = &'a str>, default: DateOrder, today: NaiveDate) -> (Self, Option<DateOrder>, Vec<String>) {
        let (mut slashed, mut dotted) = (Tally::default(), Tally::default());
        let year = today.year();
        for cell in cells {
            if let Ok(Some(Shape::Open(a, b, _, dots))) = shape(cell, year) {
                if dots { dotted.count(a, b) } else { slashed.count(a, b) }
            }
        }
        let dates = Self {
            slashed: slashed.order(default),
            dotted: dotted.order(DateOrder::DayFirst),
            year,
        };
        let used = |tally: Tally| tally.month_first + tally.day_first + tally.open > 0;
        let told = if used(slashed) {
            Some(dates.slashed)
        } else {
            used(dotted).then_some(dates.dotted)
        };
        let notes = [slashed.note(default, "6/7/2025"), dotted.note(DateOrder::DayFirst, "6.7.2025")];
        (dates, told, notes.into_iter().flatten().collect())
    }

    /// The date of make in a cell: a day, or a month where the label names no day.
    ///
    /// # Errors
    /// As `read`.
    pub fn read_make(&self, text: &str) -> Result<Option<MadeOn>, Fault> {
        match of_month(text) {
            Some(month) => Ok(Some(month)),
            None => Ok(self.read(text)?.map(MadeOn::Day)),
        }
    }

    /// The date in a cell; nothing where the cell says that it is not known.
    ///
    /// # Errors
    /// `impossible-date`, `date-serial`, `date-order` or `unreadable-date`.
    pub fn read(&self, text: &str) -> Result<Option<NaiveDate>, Fault> {
        let Some(shape) = shape(text, self.year)? else { return Ok(None) };
        let (year, month, day) = match shape {
            Shape::Plain(year, month, day) => (year, month, day),
            Shape::Open(a, b, year, dots) => {
                let order = if dots { self.dotted } else { self.slashed };
                let (month, day) = if order == DateOrder::MonthFirst { (a, b) } else { (b, a) };
                if month > 12 && day <= 12 {
                    let reason = format!("\"{text}\" does not fit the file's other dates, which are {}", order.words());
                    return Err(Fault::new(
                        "date-order",
                        reason,
                        Some("write it as year-month-day, for example 2025-06-19".into()),
                    ));
                }
                (year, month, day)
            }
        };
        let date = NaiveDate::from_ymd_opt(year, month, day).filter(|_| (1900..=2200).contains(&year));
        date.map(Some).ok_or_else(|| {
            Fault::new(
                "impossible-date",
                format!("there is no such day as \"{text}\""),
                Some("correct the day, the month or the year".into()),
            )
        })
    }
}

/// Runs of digits and runs of letters, in order.
fn tokens(text: &str) -> Vec<&str> {
    let mut out = Vec::new();
    let mut rest = text;
    while let Some(first) = rest.chars().next() {
        let digit = first.is_ascii_digit();
        let end = rest
            .find(|c: char| !c.is_alphanumeric() || c.is_ascii_digit() != digit)
            .unwrap_or(rest.len())
            .max(first.len_utf8());
        let (token, after) = rest.split_at_checked(end).unwrap_or((rest, ""));
        if first.is_alphanumeric() {
            out.push(token);
        }
        rest = after;
    }
    out
}

/// `2015-07`, `07/2015`, `Jul 2015`: a month and a year of four digits.
fn of_month(text: &str) -> Option<MadeOn> {
    let lower = text.trim().to_lowercase();
    let parts = tokens(&lower);
    let year = |part: &str| part.parse::<i32>().ok().filter(|year| part.len() == 4 && (1900..=2200).contains(year));
    let month = |part: &str| month(part).or_else(|| part.parse::<u32>().ok().filter(|_| part.len() <= 2));
    match parts.as_slice() {
        [a, b] => {
            let found = year(a).zip(month(b)).or_else(|| year(b).zip(month(a)));
            found.and_then(|(year, month)| MadeOn::month(year, month))
        }
        _ => None,
    }
}

/// Without a time of day behind the date.
fn without_time(text: &str) -> &str {
    let Some((before, _)) = text.split_once(':') else { return text };
    let day = before.trim_end_matches(|c: char| c.is_ascii_digit());
    let day = day.strip_suffix(['t', ' ']).unwrap_or(before);
    day.trim_end()
}

const MONTHS: &[&str] = &[
    "january",
    "february",
    "march",
    "april",
    "may",
    "june",
    "july",
    "august",
    "september",
    "october",
    "november",
    "december",
];

fn month(word: &str) -> Option<u32> {
    let at = MONTHS
        .iter()
        .position(|name| name.starts_with(word) && (word.len() == 3 || word.len() == name.len() || word == "sept"))?;
    u32::try_from(at + 1).ok()
}

fn shape(text: &str, today: i32) -> Result<Option<Shape>, Fault> {
    let text = text.trim();
    if is_blank(text) {
        return Ok(None);
    }
    let lower = text.to_lowercase();
    let unreadable = |hint: &str| Fault::new("unreadable-date", format!("\"{text}\" is not a date that can be read"), Some(hint.into()));
    let plain = || unreadable("write it as year-month-day, for example 2025-06-19");
    let day_part = without_time(&lower);
    let aside = |t: &&str| {
        !matches!(
            *t,
            "st" | "nd"
                | "rd"
                | "th"
                | "of"
                | "mon"
                | "monday"
                | "tue"
                | "tues"
                | "tuesday"
                | "wed"
                | "wednesday"
                | "thu"
                | "thur"
                | "thurs"
                | "thursday"
                | "fri"
                | "friday"
                | "sat"
                | "saturday"
                | "sun"
                | "sunday"
        )
    };
    let parts: Vec<&str> = tokens(day_part).into_iter().filter(aside).collect();
    let number = |t: &str| t.parse::<u32>().ok().filter(|_| t.len() <= 4);
    let year = |t: &str| match (t.len(), t.parse::<i32>().ok()) {
        (4, year) => year,
        // Two digits are of this century up to ten years ahead, else of the last one.
        (2, Some(short)) => Some(if today / 100 * 100 + short <= today + 10 {
            today / 100 * 100 + short
        } else {
            today / 100 * 100 - 100 + short
        }),
        _ => None,
    };
    let found = match parts.as_slice() {
        [one] if one.len() == 8 && one.bytes().all(|b| b.is_ascii_digit()) => {
            let part = |from: usize, to: usize| one.get(from..to).and_then(|t| t.parse::<u32>().ok()).unwrap_or(0);
            Some(Shape::Plain(i32::try_from(part(0, 4)).unwrap_or(0), part(4, 6), part(6, 8)))
        }
        [one] | [one, _] if one.len() == 5 && one.bytes().all(|b| b.is_ascii_digit()) => {
            let reason = format!("\"{text}\" is a spreadsheet's day count, not a date");
            return Err(Fault::new(
                "date-serial",
                reason,
                Some("format the column as a date in the spreadsheet and export it again".into()),
            ));
        }
        [_] | [_, _] if !parts.iter().any(|t| t.len() > 9) => return Err(unreadable("give day, month and year, for example 2025-06-19")),
        [a, b, c] => match (number(a), month(b), number(b), number(c)) {
            (Some(_), None, Some(m), Some(d)) if a.len() == 4 => year(a).map(|y| Shape::Plain(y, m, d)),
            (Some(a), None, Some(b), _) => year(c).map(|y| Shape::Open(a, b, y, day_part.contains('.'))),
            (Some(_), Some(m), _, Some(d)) if a.len() == 4 => year(a).map(|y| Shape::Plain(y, m, d)),
            (Some(d), Some(m), ..) => year(c).map(|y| Shape::Plain(y, m, d)),
            (None, _, Some(d), _) => month(a).and_then(|m| year(c).map(|y| Shape::Plain(y, m, d))),
            _ => None,
        },
        _ => None,
    };
    found.map(Some).ok_or_else(plain)
}

#[cfg(test)]
#[path = "dates_tests.rs"]
mod tests;
