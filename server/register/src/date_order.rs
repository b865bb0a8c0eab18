//! Whether the day or the month comes first in the dates of one column: what they prove, and what they leave open.

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

/// What is known before a file is looked at.
#[derive(Debug, Clone, Copy)]
pub struct DateHabit {
    /// What somebody chose for this file.
    pub chosen: Option<DateOrder>,
    /// How the agency writes; it only backs what a column shows.
    pub usual: DateOrder,
}

/// Two numbers and a year behind them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Open {
    pub(super) a: u32,
    pub(super) b: u32,
    pub(super) year: i32,
    /// Whether dots stand between them.
    pub(super) dots: bool,
    /// Whether the first may be a year of two digits.
    pub(super) year_first: bool,
}

/// What the dates of one column and one sign show.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Tally {
    pub(super) month_first: usize,
    pub(super) day_first: usize,
    pub(super) open: usize,
    /// Dates whose year may stand first.
    pub(super) year_first: usize,
    /// Whether a date shows that the year of two digits stands last.
    year_last: bool,
}

/// A date that proves the agency's own habit proves it for so many that show nothing.
const BACKS: usize = 4;

impl Tally {
    pub(super) fn count(&mut self, date: Open) {
        match (date.a > 12, date.b > 12) {
            _ if date.year_first => self.year_first += 1,
            (false, true) => self.month_first += 1,
            (true, false) if date.a <= 31 => self.day_first += 1,
            (false, false) if date.a != date.b => self.open += 1,
            _ => {}
        }
        // 7/25/19 is no year-month-day.
        self.year_last |= !date.year_first && date.b > 12;
    }

    pub(super) fn settled(mut self) -> Self {
        if self.year_last {
            // The year stands last in this column, so these are days of a month like the others.
            self.open += std::mem::take(&mut self.year_first);
        }
        self
    }

    pub(super) const fn is_empty(self) -> bool {
        self.month_first + self.day_first + self.open + self.year_first == 0
    }

    /// What the dates prove for the others of their column: those that agree with the agency's habit for a few, others only when they are
    /// as many. One stray date turns no column.
    pub(super) fn proven(self, habit: DateOrder) -> Option<DateOrder> {
        let (order, shown) = match (self.month_first, self.day_first) {
            (shown @ 1.., 0) => (DateOrder::MonthFirst, shown),
            (0, shown @ 1..) => (DateOrder::DayFirst, shown),
            _ => return None,
        };
        let enough = if order == habit {
            shown.saturating_mul(BACKS) >= self.open
        } else {
            self.open == 0 || (shown >= 2 && shown >= self.open)
        };
        enough.then_some(order)
    }
}
