//! Safety notices of makers and agencies: which pieces one is about, and what it asks.
//!
//! Whether a piece is affected is read from its model, its serial number and its date of make. What cannot be told from them counts as
//! affected until somebody has looked at the plate.

use chrono::NaiveDate;
use fullset_calc::plate::MadeOn;
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::Fault;

/// The most models of one notice.
pub const MOST_MODELS: usize = 50;
/// The most ranges of serial numbers of one notice.
pub const MOST_RANGES: usize = 50;
/// The longest serial number, in characters.
pub const MOST_SERIAL: usize = 60;

/// Serial numbers from one to another, both with it. They differ in their last run of digits alone: `KX-1000` to `KX-1999`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct SerialRange {
    /// The first: 1 to 60 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 60))]
    pub from: String,
    /// The last: 1 to 60 characters.
    #[cfg_attr(feature = "openapi", schema(min_length = 1, max_length = 60))]
    pub to: String,
}

/// The pieces that a notice is about: of one of these models, and, where they are given, in one of the ranges and made within the dates.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = NoticeCovers))]
pub struct Affected {
    /// 1 to 50 models.
    #[cfg_attr(feature = "openapi", schema(min_items = 1, max_items = 50))]
    pub models: Vec<Uuid>,
    /// Up to 50 ranges; none: every serial number.
    #[serde(default)]
    #[cfg_attr(feature = "openapi", schema(max_items = 50))]
    pub serials: Vec<SerialRange>,
    /// Made on this day or later.
    #[serde(default)]
    pub made_from: Option<NaiveDate>,
    /// Made on this day or earlier.
    #[serde(default)]
    pub made_to: Option<NaiveDate>,
}

/// Whether a piece is affected.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "affected", rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
#[cfg_attr(feature = "openapi", schema(as = NoticeHit))]
pub enum Hit {
    /// It is not.
    No,
    /// It is.
    Yes,
    /// It may be, and counts as affected.
    Unknown {
        /// What to look at.
        why: String,
    },
}

impl Hit {
    /// Whether it counts as affected.
    #[must_use]
    pub const fn counts(&self) -> bool {
        !matches!(self, Self::No)
    }
}

/// A serial number as it is compared: letters in capitals without spaces and dashes, and its last run of digits as a number.
#[derive(Debug, PartialEq, Eq)]
struct Serial {
    before: String,
    number: u128,
    after: String,
}

fn read(text: &str) -> Option<Serial> {
    let plain: String = text.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_uppercase).collect();
    let end = plain.rfind(|c: char| c.is_ascii_digit())? + 1;
    let (head, after) = plain.split_at_checked(end)?;
    let start = head
        .rfind(|c: char| !c.is_ascii_digit())
        .map_or(0, |at| at + head[at..].chars().next().map_or(1, char::len_utf8));
    let (before, digits) = head.split_at_checked(start)?;
    Some(Serial {
        before: before.to_owned(),
        number: digits.parse().ok()?,
        after: after.to_owned(),
    })
}

impl SerialRange {
    fn ends(&self) -> Option<(Serial, Serial)> {
        let (from, to) = (read(&self.from)?, read(&self.to)?);
        (from.before == to.before && from.after == to.after && from.number <= to.number).then_some((from, to))
    }
}

/// How a number compares with a range, where it is written another way than the range's ends.
fn within(range: &SerialRange, serial: &str) -> Hit {
    let Some((from, to)) = range.ends() else {
        return Hit::Unknown {
            why: format!("the range {} to {} cannot be read", range.from, range.to),
        };
    };
    let Some(own) = read(serial) else {
        return Hit::Unknown {
            why: format!(
                "its serial number {serial} has no digits: compare the plate with {} to {}",
                range.from, range.to
            ),
        };
    };
    let inside = (from.number..=to.number).contains(&own.number);
    match own.before == from.before && own.after == from.after {
        true if inside => Hit::Yes,
        true => Hit::No,
        false if inside => Hit::Unknown {
            why: format!(
                "its serial number {serial} is written another way than {} to {}: look at the plate",
                range.from, range.to
            ),
        },
        // A letter read as a digit moves the number anywhere.
        false if serial.chars().any(|c| matches!(c, 'O' | 'o' | 'I' | 'i' | 'l')) => match read(&serial.replace(['O', 'o'], "0").replace(['I', 'i', 'l'], "1"))
        {
            Some(other) if other.number >= from.number && other.number <= to.number => Hit::Unknown {
                why: format!("its serial number {serial} may hold a letter for a digit: look at the plate"),
            },
            _ => Hit::No,
        },
        false => Hit::No,
    }
}

impl Affected {
    /// Whether a piece is affected.
    #[must_use]
    pub fn hit(&self, model: Uuid, serial: Option<&str>, made_on: Option<MadeOn>) -> Hit {
        if !self.models.contains(&model) {
            return Hit::No;
        }
        let by_serial = match serial {
            _ if self.serials.is_empty() => Hit::Yes,
            None => Hit::Unknown {
                why: "its serial number is not on record: look at the plate".to_owned(),
            },
            Some(serial) => {
                let hits: Vec<Hit> = self.serials.iter().map(|range| within(range, serial)).collect();
                if hits.contains(&Hit::Yes) {
                    Hit::Yes
                } else {
                    hits.into_iter().find(Hit::counts).unwrap_or(Hit::No)
                }
            }
        };
        let by_date = match made_on {
            _ if self.made_from.is_none() && self.made_to.is_none() => Hit::Yes,
            None => Hit::Unknown {
                why: "its date of make is not on record: look at the plate".to_owned(),
            },
            Some(made) if self.made_from.is_some_and(|from| made.latest() < from) || self.made_to.is_some_and(|to| made.earliest() > to) => Hit::No,
            Some(made) if self.made_from.is_some_and(|from| made.earliest() < from) || self.made_to.is_some_and(|to| made.latest() > to) => Hit::Unknown {
                why: format!("it was made in {made}, and the notice begins or ends in that month: look at the plate for the day"),
            },
            Some(_) => Hit::Yes,
        };
        match (by_serial, by_date) {
            (Hit::No, _) | (_, Hit::No) => Hit::No,
            (Hit::Yes, Hit::Yes) => Hit::Yes,
            (unknown @ Hit::Unknown { .. }, _) | (_, unknown) => unknown,
        }
    }

    /// What is wrong with it; none: it can be kept.
    #[must_use]
    pub fn validate(&self) -> Vec<Fault> {
        let mut found = Vec::new();
        if !(1..=MOST_MODELS).contains(&self.models.len()) {
            found.push(Fault::new("models", format!("name the models, 1 to {MOST_MODELS}")));
        }
        if self.serials.len() > MOST_RANGES {
            found.push(Fault::new("serials", format!("{MOST_RANGES} ranges are the most")));
        }
        for (n, range) in self.serials.iter().enumerate() {
            let long = |text: &str| text.chars().count() > MOST_SERIAL;
            if long(&range.from) || long(&range.to) {
                found.push(Fault::new(
                    format!("serials[{n}]"),
                    format!("a serial number has {MOST_SERIAL} characters at most"),
                ));
            } else if range.ends().is_none() {
                found.push(Fault::new(
                    format!("serials[{n}]"),
                    "the ends of a range differ in their last run of digits alone, and the first is not above the last: KX-1000 to KX-1999",
                ));
            }
        }
        if let (Some(from), Some(to)) = (self.made_from, self.made_to)
            && from > to
        {
            found.push(Fault::new("made_from", "the first date of make is after the last"));
        }
        found
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn affected(serials: &[(&str, &str)]) -> Affected {
        Affected {
            models: vec![Uuid::nil()],
            serials: serials
                .iter()
                .map(|(from, to)| SerialRange {
                    from: (*from).into(),
                    to: (*to).into(),
                })
                .collect(),
            made_from: None,
            made_to: None,
        }
    }

    #[test]
    fn a_range_holds_its_ends_and_nothing_beyond() {
        let notice = affected(&[("KX-1000", "KX-1999")]);
        assert!(notice.validate().is_empty());
        let hit = |serial: &str| notice.hit(Uuid::nil(), Some(serial), None);
        for serial in ["KX-1000", "kx 1000", "KX1999", "KX-01500"] {
            assert_eq!(hit(serial), Hit::Yes, "{serial}");
        }
        for serial in ["KX-999", "KX-2000", "KY-2500"] {
            assert_eq!(hit(serial), Hit::No, "{serial}");
        }
        assert_eq!(notice.hit(Uuid::from_u128(1), Some("KX-1500"), None), Hit::No);
    }

    #[test]
    fn what_cannot_be_told_counts_as_affected() {
        let notice = affected(&[("KX-1000", "KX-1999")]);
        for serial in [None, Some("1500"), Some("KX-1500-B"), Some("none"), Some("KX-1O5O"), Some("KXI500")] {
            let hit = notice.hit(Uuid::nil(), serial, None);
            assert!(matches!(hit, Hit::Unknown { .. }), "{serial:?}: {hit:?}");
            assert!(hit.counts());
        }
        let dated = Affected {
            made_to: "2024-06-30".parse().ok(),
            ..affected(&[])
        };
        assert!(matches!(dated.hit(Uuid::nil(), None, None), Hit::Unknown { .. }));
        assert_eq!(dated.hit(Uuid::nil(), None, "2024-06-30".parse().ok()), Hit::Yes);
        assert_eq!(dated.hit(Uuid::nil(), None, "2024-07-01".parse().ok()), Hit::No);
        assert_eq!(dated.hit(Uuid::nil(), None, "2024-06".parse().ok()), Hit::Yes, "the whole month");
        assert_eq!(dated.hit(Uuid::nil(), None, "2024-07".parse().ok()), Hit::No);
        let midmonth = Affected {
            made_from: "2024-06-15".parse().ok(),
            ..affected(&[])
        };
        assert!(matches!(midmonth.hit(Uuid::nil(), None, "2024-06".parse().ok()), Hit::Unknown { .. }));
    }

    #[test]
    fn a_range_that_cannot_be_read_is_refused() {
        for (from, to) in [("KX-1000", "KY-1999"), ("KX-2000", "KX-1000"), ("none", "none"), ("", "")] {
            assert_eq!(affected(&[(from, to)]).validate().len(), 1, "{from} to {to}");
        }
        assert_eq!(
            Affected {
                models: Vec::new(),
                ..affected(&[])
            }
            .validate()
            .len(),
            1
        );
    }
}
