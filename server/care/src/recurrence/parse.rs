//! The text of a rule into a [`Recurrence`]; what cannot be read is said, with what to write.

use super::{ByDay, End, Frequency, Recurrence};
use chrono::{NaiveDateTime, Weekday};
use std::str::FromStr;

/// The longest text of a rule, in characters.
pub const MOST_RULE_TEXT: usize = 200;
/// The largest `INTERVAL`.
pub const MOST_INTERVAL: u32 = 1_000;
/// The largest `COUNT`.
pub const MOST_COUNT: u32 = 10_000;

impl FromStr for Recurrence {
    type Err = String;

    fn from_str(text: &str) -> Result<Self, String> {
        read(text)
    }
}

impl TryFrom<String> for Recurrence {
    type Error = String;

    fn try_from(text: String) -> Result<Self, String> {
        read(&text)
    }
}

fn read(text: &str) -> Result<Recurrence, String> {
    let length = text.chars().count();
    if length > MOST_RULE_TEXT {
        return Err(format!("the rule has {length} characters; it has {MOST_RULE_TEXT} at most"));
    }
    let text = text.trim().to_ascii_uppercase();
    let text = text.strip_prefix("RRULE:").unwrap_or(&text);
    if text.contains('\n') {
        return Err("write one rule, on one line".to_owned());
    }
    let mut parts: Vec<(&str, &str)> = Vec::new();
    for part in text.split(';') {
        let (name, value) = part
            .split_once('=')
            .ok_or_else(|| format!("\"{part}\" is no part of a rule: write NAME=VALUE"))?;
        if parts.iter().any(|(known, _)| *known == name) {
            return Err(format!("{name} stands there twice"));
        }
        parts.push((name, value));
    }
    let mut rule = Recurrence::every(frequency(&parts)?);
    for (name, value) in parts {
        take(&mut rule, name, value)?;
    }
    fits(&rule)?;
    Ok(rule)
}

fn frequency(parts: &[(&str, &str)]) -> Result<Frequency, String> {
    let offer = "write FREQ=DAILY, WEEKLY, MONTHLY or YEARLY";
    match parts.iter().find(|(name, _)| *name == "FREQ") {
        None => Err(format!("the rule does not say how often: {offer}")),
        Some((_, "DAILY")) => Ok(Frequency::Daily),
        Some((_, "WEEKLY")) => Ok(Frequency::Weekly),
        Some((_, "MONTHLY")) => Ok(Frequency::Monthly),
        Some((_, "YEARLY")) => Ok(Frequency::Yearly),
        Some((_, other)) => Err(format!("FREQ={other} is not for checks: {offer}")),
    }
}

fn take(rule: &mut Recurrence, name: &str, value: &str) -> Result<(), String> {
    match name {
        "FREQ" => {}
        "INTERVAL" => rule.interval = number(name, value, 1, MOST_INTERVAL)?,
        "COUNT" | "UNTIL" if rule.end != End::Never => return Err("write COUNT or UNTIL, not both".to_owned()),
        "COUNT" => rule.end = End::Count(number(name, value, 1, MOST_COUNT)?),
        "UNTIL" => rule.end = until(value)?,
        "BYMONTH" => rule.by_month = list(value, |one| number(name, one, 1, 12))?,
        "BYMONTHDAY" => rule.by_month_day = list(value, |one| signed(name, one, 31))?,
        "BYHOUR" => rule.by_hour = list(value, |one| number(name, one, 0, 23))?,
        "BYMINUTE" => rule.by_minute = list(value, |one| number(name, one, 0, 59))?,
        "BYSETPOS" => rule.by_set_pos = list(value, |one| signed(name, one, 366))?,
        "BYDAY" => {
            let mut days = Vec::new();
            for one in value.split(',') {
                let day = by_day(one)?;
                if !days.contains(&day) {
                    days.push(day);
                }
            }
            days.sort_by_key(|day| (day.nth, day.weekday.num_days_from_monday()));
            rule.by_day = days;
        }
        "WKST" => rule.week_start = weekday(value)?,
        _ => {
            return Err(format!(
                "{name} is not read here: a check recurs by day, week, month or year, on days and at times that are named"
            ));
        }
    }
    Ok(())
}

/// What the parts say together.
fn fits(rule: &Recurrence) -> Result<(), String> {
    let long = matches!(rule.frequency, Frequency::Monthly | Frequency::Yearly);
    if !long && rule.by_day.iter().any(|day| day.nth.is_some()) {
        return Err("a day with a number, such as 1MO, goes with FREQ=MONTHLY or YEARLY only".to_owned());
    }
    if rule.frequency == Frequency::Weekly && !rule.by_month_day.is_empty() {
        return Err("BYMONTHDAY does not go with FREQ=WEEKLY".to_owned());
    }
    let by_others = [&rule.by_month, &rule.by_hour, &rule.by_minute].iter().any(|list| !list.is_empty());
    if !rule.by_set_pos.is_empty() && !by_others && rule.by_day.is_empty() && rule.by_month_day.is_empty() {
        return Err("BYSETPOS picks from what another part names: write BYDAY or BYMONTHDAY too".to_owned());
    }
    Ok(())
}

fn number(name: &str, text: &str, least: u32, most: u32) -> Result<u32, String> {
    let value = if text.bytes().all(|byte| byte.is_ascii_digit()) {
        text.parse().ok()
    } else {
        None
    };
    value
        .filter(|value| (least..=most).contains(value))
        .ok_or_else(|| format!("{name}: \"{text}\" is no number from {least} to {most}"))
}

fn signed(name: &str, text: &str, most: u32) -> Result<i32, String> {
    let (sign, digits) = match text.strip_prefix('-') {
        Some(digits) => (-1, digits),
        None => (1, text.strip_prefix('+').unwrap_or(text)),
    };
    let size = number(name, digits, 1, most)?;
    i32::try_from(size)
        .map(|size| sign * size)
        .map_err(|_| format!("{name}: \"{text}\" is too large"))
}

fn list<T: Ord>(text: &str, read: impl Fn(&str) -> Result<T, String>) -> Result<Vec<T>, String> {
    let mut all = text.split(',').map(read).collect::<Result<Vec<T>, String>>()?;
    all.sort();
    all.dedup();
    Ok(all)
}

fn weekday(text: &str) -> Result<Weekday, String> {
    match text {
        "MO" => Ok(Weekday::Mon),
        "TU" => Ok(Weekday::Tue),
        "WE" => Ok(Weekday::Wed),
        "TH" => Ok(Weekday::Thu),
        "FR" => Ok(Weekday::Fri),
        "SA" => Ok(Weekday::Sat),
        "SU" => Ok(Weekday::Sun),
        other => Err(format!("\"{other}\" is no day: write MO, TU, WE, TH, FR, SA or SU")),
    }
}

fn by_day(text: &str) -> Result<ByDay, String> {
    let cut = text.len().saturating_sub(2);
    let (Some(nth), Some(day)) = (text.get(..cut), text.get(cut..)) else {
        return Err(format!("\"{text}\" is no day: write MO or 1MO"));
    };
    Ok(ByDay {
        nth: if nth.is_empty() { None } else { Some(signed("BYDAY", nth, 53)?) },
        weekday: weekday(day)?,
    })
}

fn until(text: &str) -> Result<End, String> {
    let wrong = || format!("UNTIL: \"{text}\" is no time: write 20261231T235959, or with a Z for UTC");
    let (digits, utc) = text.strip_suffix('Z').map_or((text, false), |digits| (digits, true));
    if digits.len() != 15 {
        return Err(wrong());
    }
    let local = NaiveDateTime::parse_from_str(digits, "%Y%m%dT%H%M%S").map_err(|_| wrong())?;
    Ok(if utc { End::UntilUtc(local.and_utc()) } else { End::UntilLocal(local) })
}
