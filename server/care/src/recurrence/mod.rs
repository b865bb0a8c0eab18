//! Recurrences as RFC 5545 writes them (section 3.3.10), and their occurrences in a zone.
//!
//! Of a rule's parts those are read that a check can ask for: `FREQ` from daily to yearly, `INTERVAL`, `COUNT` or `UNTIL`, `BYMONTH`,
//! `BYMONTHDAY`, `BYDAY`, `BYHOUR`, `BYMINUTE`, `BYSETPOS`, `WKST`. Any other is refused by name, never passed over.
//!
//! | file | holds |
//! | --- | --- |
//! | `parse`, `print` | the text of a rule |
//! | `expand` | the local times of a rule, period by period |
//! | `series` | their instants in a zone |

mod expand;
mod parse;
mod print;
mod series;

pub use expand::{LAST_YEAR, MOST_PERIODS};
pub use parse::{MOST_COUNT, MOST_INTERVAL, MOST_RULE_TEXT};
pub use series::{Occurrence, Occurrences, Series};

use chrono::{DateTime, NaiveDateTime, Utc, Weekday};
use serde::{Deserialize, Serialize};

/// How often a rule's period comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum Frequency {
    /// Each day.
    Daily,
    /// Each week.
    Weekly,
    /// Each month.
    Monthly,
    /// Each year.
    Yearly,
}

/// When a rule ends.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub enum End {
    /// It does not.
    Never,
    /// After so many occurrences.
    Count(u32),
    /// At that local time, which is the last that may occur.
    UntilLocal(NaiveDateTime),
    /// At that instant, which is the last that may occur.
    UntilUtc(DateTime<Utc>),
}

/// A day of the week, or the n-th such day of a month or year; below zero it is counted from the end.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct ByDay {
    /// Which one; `None`: each.
    pub nth: Option<i32>,
    /// The day of the week.
    pub weekday: Weekday,
}

/// A recurrence rule. On the wire it is its RFC 5545 text: `FREQ=WEEKLY;BYDAY=MO`.
#[derive(Debug, Clone, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Recurrence {
    pub(crate) frequency: Frequency,
    pub(crate) interval: u32,
    pub(crate) end: End,
    pub(crate) by_month: Vec<u32>,
    pub(crate) by_month_day: Vec<i32>,
    pub(crate) by_day: Vec<ByDay>,
    pub(crate) by_hour: Vec<u32>,
    pub(crate) by_minute: Vec<u32>,
    pub(crate) by_set_pos: Vec<i32>,
    pub(crate) week_start: Weekday,
}

impl Recurrence {
    /// Each period of that length.
    #[must_use]
    pub const fn every(frequency: Frequency) -> Self {
        Self {
            frequency,
            interval: 1,
            end: End::Never,
            by_month: Vec::new(),
            by_month_day: Vec::new(),
            by_day: Vec::new(),
            by_hour: Vec::new(),
            by_minute: Vec::new(),
            by_set_pos: Vec::new(),
            week_start: Weekday::Mon,
        }
    }

    /// How often its period comes.
    #[must_use]
    pub const fn frequency(&self) -> Frequency {
        self.frequency
    }

    /// When it ends.
    #[must_use]
    pub const fn end(&self) -> End {
        self.end
    }

    /// Whether it ever occurs from that start on.
    #[must_use]
    pub fn occurs(&self, start: NaiveDateTime) -> bool {
        let zone = chrono_tz::UTC;
        Series { rule: self, start, zone }.all().next().is_some()
    }

    /// As people say it: "weekly", "every 2 weeks".
    #[must_use]
    pub fn words(&self) -> String {
        let (once, many) = match self.frequency {
            Frequency::Daily => ("daily", "days"),
            Frequency::Weekly => ("weekly", "weeks"),
            Frequency::Monthly => ("monthly", "months"),
            Frequency::Yearly => ("yearly", "years"),
        };
        if self.interval == 1 {
            once.to_owned()
        } else {
            format!("every {} {many}", self.interval)
        }
    }
}

#[cfg(feature = "openapi")]
mod schema {
    use super::Recurrence;
    use std::borrow::Cow;
    use utoipa::openapi::{ObjectBuilder, RefOr, Schema, schema::Type};
    use utoipa::{PartialSchema, ToSchema};

    impl PartialSchema for Recurrence {
        fn schema() -> RefOr<Schema> {
            ObjectBuilder::new()
                .schema_type(Type::String)
                .description(Some("A recurrence rule as RFC 5545 writes it, daily to yearly."))
                .max_length(Some(super::MOST_RULE_TEXT))
                .examples(["FREQ=WEEKLY;BYDAY=MO"])
                .into()
        }
    }

    impl ToSchema for Recurrence {
        fn name() -> Cow<'static, str> {
            "Recurrence".into()
        }
    }
}
