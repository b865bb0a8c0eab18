//! Months ahead, and the words for what is not known, on plain values.

use chrono::{Datelike, Months, NaiveDate};
use fullset_calc::ratings::Kind;
use fullset_care::life::LifePart;
use serde::Serialize;
use utoipa::ToSchema;

/// How many months ahead, unless said.
const USUAL_MONTHS: u32 = 24;
/// How many at most.
const MOST_MONTHS: u32 = 120;

/// What of a life is not on record.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Lacking {
    /// The date of make.
    DateOfMake,
    /// How many charge cycles it has behind it.
    Cycles,
}

impl Lacking {
    /// In a sentence, with what it is of: "date of make of the whip hose".
    pub fn words(self, part: LifePart) -> String {
        match (self, part) {
            (Self::DateOfMake, LifePart::Whole) => "date of make".into(),
            (Self::DateOfMake, part) => format!("date of make of the {}", part.word()),
            (Self::Cycles, _) => "charge cycles".into(),
        }
    }
}

/// The first day that is not told of any more; refused is what nobody plans by.
pub fn until(months: Option<u32>, today: NaiveDate) -> Result<NaiveDate, String> {
    let months = months.unwrap_or(USUAL_MONTHS);
    if !(1..=MOST_MONTHS).contains(&months) {
        return Err(format!("Ask for 1 to {MOST_MONTHS} months"));
    }
    let until = today.checked_add_months(Months::new(months));
    until.ok_or_else(|| "There are no such months in any calendar".into())
}

/// The month of a day: `2027-03`.
pub fn month_of(day: NaiveDate) -> String {
    format!("{:04}-{:02}", day.year(), day.month())
}

/// "14 hoses".
pub fn many_words(kind: Kind, pieces: usize) -> String {
    let of = match (pieces, kind) {
        (1, Kind::Battery) => "battery pack",
        (1, kind) => kind.word(),
        (_, kind) => kind.plural(),
    };
    format!("{pieces} {of}")
}

/// "date of make not known: 14 hoses".
pub fn unknown_words(lacking: Lacking, part: LifePart, kind: Kind, pieces: usize) -> String {
    format!("{} not known: {}", lacking.words(part), many_words(kind, pieces))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_not_known_is_said_by_kind_and_part() {
        for (lacking, part, kind, pieces, words) in [
            (Lacking::DateOfMake, LifePart::Whole, Kind::Hose, 14, "date of make not known: 14 hoses"),
            (
                Lacking::DateOfMake,
                LifePart::WhipHose,
                Kind::CombinationTool,
                1,
                "date of make of the whip hose not known: 1 combination tool",
            ),
            (Lacking::Cycles, LifePart::Whole, Kind::Battery, 2, "charge cycles not known: 2 battery packs"),
        ] {
            assert_eq!(unknown_words(lacking, part, kind, pieces), words);
        }
    }

    #[test]
    fn two_years_ahead_unless_said() {
        let day = |text: &str| text.parse::<NaiveDate>().unwrap();
        let today = day("2026-11-25");
        assert_eq!(until(None, today), Ok(day("2028-11-25")));
        assert_eq!(until(Some(1), day("2026-01-31")), Ok(day("2026-02-28")));
        assert!(until(Some(0), today).is_err() && until(Some(121), today).is_err());
        assert_eq!(month_of(day("2027-03-31")), "2027-03");
    }
}
