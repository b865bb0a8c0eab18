//! A [`Recurrence`] as text: one spelling for each rule, which reads back as the same.

use super::{ByDay, End, Frequency, Recurrence};
use chrono::Weekday;
use std::fmt;

impl fmt::Display for Recurrence {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        let frequency = match self.frequency {
            Frequency::Daily => "DAILY",
            Frequency::Weekly => "WEEKLY",
            Frequency::Monthly => "MONTHLY",
            Frequency::Yearly => "YEARLY",
        };
        write!(f, "FREQ={frequency}")?;
        if self.interval != 1 {
            write!(f, ";INTERVAL={}", self.interval)?;
        }
        match self.end {
            End::Never => {}
            End::Count(count) => write!(f, ";COUNT={count}")?,
            End::UntilLocal(local) => write!(f, ";UNTIL={}", local.format("%Y%m%dT%H%M%S"))?,
            End::UntilUtc(at) => write!(f, ";UNTIL={}", at.format("%Y%m%dT%H%M%SZ"))?,
        }
        list(f, "BYMONTH", &self.by_month)?;
        list(f, "BYMONTHDAY", &self.by_month_day)?;
        list(f, "BYDAY", &self.by_day)?;
        list(f, "BYHOUR", &self.by_hour)?;
        list(f, "BYMINUTE", &self.by_minute)?;
        list(f, "BYSETPOS", &self.by_set_pos)?;
        if self.week_start != Weekday::Mon {
            write!(f, ";WKST={}", letters(self.week_start))?;
        }
        Ok(())
    }
}

fn list<T: fmt::Display>(f: &mut fmt::Formatter<'_>, name: &str, all: &[T]) -> fmt::Result {
    for (n, one) in all.iter().enumerate() {
        if n == 0 {
            write!(f, ";{name}={one}")?;
        } else {
            write!(f, ",{one}")?;
        }
    }
    Ok(())
}

impl fmt::Display for ByDay {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        if let Some(nth) = self.nth {
            write!(f, "{nth}")?;
        }
        f.write_str(letters(self.weekday))
    }
}

const fn letters(day: Weekday) -> &'static str {
    match day {
        Weekday::Mon => "MO",
        Weekday::Tue => "TU",
        Weekday::Wed => "WE",
        Weekday::Thu => "TH",
        Weekday::Fri => "FR",
        Weekday::Sat => "SA",
        Weekday::Sun => "SU",
    }
}

impl From<Recurrence> for String {
    fn from(rule: Recurrence) -> Self {
        rule.to_string()
    }
}
