//! Dates as people and spreadsheets write them.
//!
//! In `6/7/2025` only the column can tell which number is the month: numbers above 12 in its other dates do. No column tells it of
//! another one, and a column that contradicts itself or has one stray date tells nothing: its open dates are asked about. Dates with
//! dots are their own habit and usually day first, so they are judged apart from those with slashes.

pub use super::date_order::{DateHabit, DateOrder};
use super::{
    cells::{Fault, is_blank},
    date_order::{Open, Tally},
    fields::Field,
    months::month,
};
use chrono::{Datelike, NaiveDate};
use fullset_calc::plate::MadeOn;
use std::collections::BTreeMap;

/// A date before the order of its numbers is known.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Shape {
    /// Year, month and day are plain.
    Plain(i32, u32, u32),
    /// Two numbers and a year.
    Open(Open),
}

/// How the dates of one column and one sign are read.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Order {
    /// So.
    Known(DateOrder),
    /// As far as each shows itself; the others are asked about.
    Open,
}

/// How the dates of one file are to be read, column by column.
#[derive(Debug, Clone)]
pub struct Dates {
    orders: BTreeMap<(Field, bool), Order>,
    year: i32,
}

/// What was found in a file's dates.
#[derive(Debug, Clone)]
pub struct DatesFound {
    /// How to read them.
    pub dates: Dates,
    /// The order to report, where any was needed and known.
    pub order: Option<DateOrder>,
    /// How many dates may be meant in two ways, with nothing to decide it.
    pub open: usize,
    /// What is to be said.
    pub notes: Vec<String>,
}

impl Dates {
    /// Finds the order of each column from its cells.
    pub fn find<'a>(columns: impl Iterator<Item = (Field, &'a str, Vec<&'a str>)>, habit: DateHabit, today: NaiveDate) -> DatesFound {
        let year = today.year();
        let mut found = DatesFound {
            dates: Self { orders: BTreeMap::new(), year },
            order: None,
            open: 0,
            notes: Vec::new(),
        };
        for (field, heading, cells) in columns {
            let mut tallies = [Tally::default(), Tally::default()];
            for cell in cells {
                if let (Ok(Some(Shape::Open(date))), [slashed, dotted]) = (shape(cell, year), &mut tallies) {
                    if date.dots { dotted.count(date) } else { slashed.count(date) }
                }
            }
            for (tally, dots) in tallies.into_iter().zip([false, true]).filter(|(tally, _)| !tally.is_empty()) {
                found.column(field, heading, tally.settled(), dots, habit);
            }
        }
        found
    }
}

impl DatesFound {
    fn column(&mut self, field: Field, heading: &str, tally: Tally, dots: bool, habit: DateHabit) {
        let usual = if dots { DateOrder::DayFirst } else { habit.usual };
        // Nobody known here writes 6.19.2025 where days come first.
        let dotted = (dots && habit.usual == DateOrder::DayFirst && tally.month_first == 0).then_some(DateOrder::DayFirst);
        let proven = tally.proven(usual).or(dotted).filter(|_| tally.year_first == 0);
        let order = proven.or(habit.chosen);
        self.dates.orders.insert((field, dots), order.map_or(Order::Open, Order::Known));
        self.order = self.order.or(order);
        let (sign, count) = (if dots { "6.7.2025" } else { "6/7/2025" }, tally.open + tally.year_first);
        let (m, d) = (tally.month_first, tally.day_first);
        match (order, proven) {
            (None, _) if count > 0 => {
                self.open += count;
                let shown = if m + d > 0 {
                    format!("{m} others can only be month first and {d} only day first")
                } else {
                    "nothing in the column shows which".to_owned()
                };
                self.notes.push(format!(
                    "{count} dates of “{heading}” such as {sign} may be meant in two ways, and {shown}; their rows were refused: choose whether the day or the month comes first"
                ));
            }
            (Some(order), None) if count > 0 => self.notes.push(format!(
                "{count} dates of “{heading}” such as {sign} do not show whether day or month comes first; they were read {}, as chosen",
                order.words()
            )),
            _ => {}
        }
    }
}

impl Dates {
    /// The date of make in a cell: a day, or as far as the label names it.
    ///
    /// # Errors
    /// As `read`.
    pub fn read_make(&self, field: Field, text: &str) -> Result<Option<MadeOn>, Fault> {
        match of_month(text).or_else(|| of_year(text)) {
            Some(part) => Ok(Some(part)),
            None => Ok(self.read(field, text)?.map(MadeOn::Day)),
        }
    }

    /// The date in a cell of a column; nothing where the cell says that it is not known.
    ///
    /// # Errors
    /// `impossible-date`, `date-serial`, `date-order`, `ambiguous-date` or `unreadable-date`.
    pub fn read(&self, field: Field, text: &str) -> Result<Option<NaiveDate>, Fault> {
        let Some(shape) = shape(text, self.year)? else { return Ok(None) };
        let (year, month, day) = match shape {
            Shape::Plain(year, month, day) => (year, month, day),
            Shape::Open(date) => self.ordered(field, date, text)?,
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

    /// Year, month and day of a date by the order of its column.
    fn ordered(&self, field: Field, date: Open, text: &str) -> Result<(i32, u32, u32), Fault> {
        let Open { a, b, year, .. } = date;
        let order = self.orders.get(&(field, date.dots)).copied().unwrap_or(Order::Open);
        let order = match order {
            Order::Known(order) => order,
            Order::Open if a == b && !date.year_first => DateOrder::DayFirst,
            Order::Open if date.year_first || (a <= 12 && b <= 12) => {
                let reason = format!("\"{text}\" may be meant in two ways: choose whether the day or the month comes first");
                let hint = "write it as year-month-day, for example 2025-06-19, or choose the order for the file";
                return Err(Fault::new("ambiguous-date", reason, Some(hint.into())));
            }
            Order::Open if b > 12 => DateOrder::MonthFirst,
            Order::Open => DateOrder::DayFirst,
        };
        let (month, day) = if order == DateOrder::MonthFirst { (a, b) } else { (b, a) };
        if month > 12 && day <= 12 {
            let reason = format!("\"{text}\" does not fit the other dates of its column, which are {}", order.words());
            let hint = "write it as year-month-day, for example 2025-06-19";
            return Err(Fault::new("date-order", reason, Some(hint.into())));
        }
        Ok((year, month, day))
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

/// `2015`: a year alone.
fn of_year(text: &str) -> Option<MadeOn> {
    let text = text.trim();
    let year = text.parse::<i32>().ok().filter(|year| text.len() == 4 && (1900..=2200).contains(year))?;
    MadeOn::year(year)
}

/// Without a time of day behind the date.
fn without_time(text: &str) -> &str {
    let Some((before, _)) = text.split_once(':') else { return text };
    let day = before.trim_end_matches(|c: char| c.is_ascii_digit());
    let day = day.strip_suffix(['t', ' ']).unwrap_or(before);
    day.trim_end()
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
                | "de"
                | "er"
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
            (Some(first), None, Some(b), _) => year(c).map(|year| {
                let both = |text: &str| text.len() == 2;
                let behind = c.parse::<u32>().is_ok_and(|day| both(c) && (1..=31).contains(&day));
                // 19/07/25 is the 19th of July, or the 25th of July 2019.
                let past = i32::try_from(first).is_ok_and(|short| short <= today % 100 + 1 || short > 31);
                Shape::Open(Open {
                    a: first,
                    b,
                    year,
                    dots: day_part.contains('.'),
                    year_first: both(a) && behind && (1..=12).contains(&b) && past,
                })
            }),
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
