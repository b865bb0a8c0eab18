//! What stands on a piece's plate and in its papers: its serial number and its dates.

use chrono::NaiveDate;

/// The dates of a piece, as far as they are known.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Dates {
    /// Date of make.
    pub made_on: Option<NaiveDate>,
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
        ("made_on", "the date of make", dates.made_on),
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
        if let Some(day) = day.filter(|day| *day < made_on) {
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
    fn no_date_lies_in_the_future_or_before_the_make() {
        let day = |text: &str| (!text.is_empty()).then(|| text.parse::<NaiveDate>().unwrap());
        let today = day("2026-11-25").unwrap();
        for (made, since, service, found) in [
            ("", "", "", None),
            ("2020-01-01", "2020-01-01", "2020-01-01", None),
            ("2026-11-25", "2026-11-25", "2026-11-25", None),
            ("", "2020-01-01", "2019-01-01", None),
            ("2026-11-26", "", "", Some(("made_on", "date-in-future"))),
            ("", "2026-11-26", "", Some(("in_service_since", "date-in-future"))),
            ("", "", "2062-06-01", Some(("last_service_on", "date-in-future"))),
            ("2020-01-02", "2020-01-01", "", Some(("in_service_since", "dates-out-of-order"))),
            ("2020-01-02", "", "2020-01-01", Some(("last_service_on", "dates-out-of-order"))),
            ("2020-01-02", "2021-01-01", "2019-01-01", Some(("last_service_on", "dates-out-of-order"))),
        ] {
            let all = Dates {
                made_on: day(made),
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
