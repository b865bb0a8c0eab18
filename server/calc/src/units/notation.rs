//! How numbers are written: which sign parts the decimals, and what a single number tells about that.
//!
//! `10.500` is ten thousand five hundred in one country and ten and a half in another. A number that proves by itself
//! how it is meant (`8.1`, `1,234.5`, `0,205`, `10.400,5`) is read as it proves; one that does not is read by the style
//! of its file, and is refused where nobody knows the style.

use super::Unit;
use serde::{Deserialize, Serialize};

/// Which sign stands before the decimals; the other one groups thousands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum NumberStyle {
    /// `1,234.5`
    Point,
    /// `1.234,5`
    Comma,
}

impl NumberStyle {
    /// How a number of this style looks.
    #[must_use]
    pub const fn example(self) -> &'static str {
        match self {
            Self::Point => "1,234.5",
            Self::Comma => "1.234,5",
        }
    }

    const fn of_decimal(sign: char) -> Self {
        if sign == ',' { Self::Comma } else { Self::Point }
    }

    const fn of_grouping(sign: char) -> Self {
        if sign == ',' { Self::Point } else { Self::Comma }
    }
}

/// What the text around a number does not say: the unit of a column's heading, the style of a file.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Notation {
    /// The unit of a number without one.
    pub bare: Option<Unit>,
    /// How a number is read that may be meant in two ways; `None`: it is refused.
    pub style: Option<NumberStyle>,
}

impl Notation {
    /// The unit of bare numbers alone.
    #[must_use]
    pub const fn bare(unit: Option<Unit>) -> Self {
        Self { bare: unit, style: None }
    }

    /// The style alone.
    #[must_use]
    pub const fn styled(style: NumberStyle) -> Self {
        Self {
            bare: None,
            style: Some(style),
        }
    }
}

/// How many numbers of a file prove either style, and how many prove neither and need one.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct StyleVotes {
    /// Numbers that can only be meant with a decimal point.
    pub point: usize,
    /// Numbers that can only be meant with a decimal comma.
    pub comma: usize,
    /// Numbers that may be meant in both ways.
    pub open: usize,
}

impl StyleVotes {
    /// Counts every number in a text.
    pub fn count(&mut self, text: &str) {
        let runs = text.split(|c: char| !(c.is_ascii_digit() || matches!(c, '.' | ',')));
        for run in runs.map(|run| run.trim_end_matches(['.', ','])) {
            match digits(run) {
                Some(Digits::Shown(_, NumberStyle::Point)) => self.point += 1,
                Some(Digits::Shown(_, NumberStyle::Comma)) => self.comma += 1,
                Some(Digits::Open { .. }) => self.open += 1,
                Some(Digits::Plain(_)) | None => {}
            }
        }
    }

    /// The style that the numbers prove; `None` when none does, or when they contradict each other.
    #[must_use]
    pub const fn proven(self) -> Option<NumberStyle> {
        match (self.point, self.comma) {
            (1.., 0) => Some(NumberStyle::Point),
            (0, 1..) => Some(NumberStyle::Comma),
            _ => None,
        }
    }

    /// Whether numbers prove both styles.
    #[must_use]
    pub const fn contradicts(self) -> bool {
        self.point > 0 && self.comma > 0
    }
}

/// What the digits of one number can mean.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Digits {
    /// The same in every style.
    Plain(f64),
    /// This, and only in this style.
    Shown(f64, NumberStyle),
    /// One sign before exactly three digits: thousands or decimals.
    Open {
        /// Read as thousands.
        grouped: f64,
        /// Read as decimals.
        decimal: f64,
        /// The sign.
        sign: char,
    },
}

impl Digits {
    /// The value; the two that it may be where the style is not known.
    pub(super) fn value(self, style: Option<NumberStyle>) -> Result<f64, (f64, f64)> {
        match self {
            Self::Plain(value) | Self::Shown(value, _) => Ok(value),
            Self::Open { grouped, decimal, sign } => match style {
                Some(style) if style == NumberStyle::of_decimal(sign) => Ok(decimal),
                Some(_) => Ok(grouped),
                None => Err((grouped, decimal)),
            },
        }
    }
}

fn all_digits(text: &str) -> bool {
    text.bytes().all(|b| b.is_ascii_digit())
}

fn number(whole: &str, part: &str) -> Option<f64> {
    if (whole.is_empty() && part.is_empty()) || !all_digits(whole) || !all_digits(part) {
        return None;
    }
    format!("0{whole}.{part}0").parse::<f64>().ok().filter(|v| v.is_finite())
}

/// Whether these are thousands in groups: one to three digits, then three each time.
fn grouped<'a>(mut groups: impl Iterator<Item = &'a str>) -> bool {
    let first = groups.next().unwrap_or_default();
    (1..=3).contains(&first.len()) && all_digits(first) && groups.all(|g| g.len() == 3 && all_digits(g))
}

/// The sign before the decimals of a number that never was text, a spreadsheet's cell for example: it shows no style and needs none.
pub const EXACT: char = '\u{2396}';

/// Reads digits with their signs, thousands grouped by comma, point, blank or apostrophe; `None` for anything else.
pub(super) fn digits(text: &str) -> Option<Digits> {
    if let Some((whole, part)) = text.split_once(EXACT) {
        return number(whole, part).map(Digits::Plain);
    }
    if let Some(sign) = [' ', '\'', '\u{2019}'].into_iter().find(|sign| text.contains(*sign)) {
        return sign_grouped(text, sign);
    }
    let Some((whole, rest)) = text.rsplit_once(['.', ',']) else {
        return number(text, "").map(Digits::Plain);
    };
    let sign = if text.get(whole.len()..)?.starts_with(',') { ',' } else { '.' };
    if !whole.contains(['.', ',']) {
        if rest.is_empty() {
            return number(whole, "").map(Digits::Plain);
        }
        let decimal = number(whole, rest)?;
        let open = rest.len() == 3 && (1..=3).contains(&whole.len()) && !whole.starts_with('0');
        return Some(if open {
            Digits::Open {
                grouped: number(&format!("{whole}{rest}"), "")?,
                decimal,
                sign,
            }
        } else {
            Digits::Shown(decimal, NumberStyle::of_decimal(sign))
        });
    }
    let other = if sign == ',' { '.' } else { ',' };
    let plain = |text: &str| text.replace(['.', ','], "");
    if !whole.contains(other) && grouped(text.split(sign)) {
        return number(&plain(text), "").map(|value| Digits::Shown(value, NumberStyle::of_grouping(sign)));
    }
    if !whole.contains(sign) && !rest.is_empty() && grouped(whole.split(other)) {
        return number(&plain(whole), rest).map(|value| Digits::Shown(value, NumberStyle::of_decimal(sign)));
    }
    None
}

/// Thousands grouped by a sign that is never one before decimals.
fn sign_grouped(text: &str, sign: char) -> Option<Digits> {
    let (whole, rest) = text.split_once(['.', ',']).unwrap_or((text, ""));
    if !grouped(whole.split(sign)) {
        return None;
    }
    let value = number(&whole.replace(sign, ""), rest)?;
    Some(match text.get(whole.len()..)?.chars().next() {
        Some(sign) if !rest.is_empty() => Digits::Shown(value, NumberStyle::of_decimal(sign)),
        _ => Digits::Plain(value),
    })
}

#[cfg(test)]
#[allow(clippy::unwrap_used)]
mod tests {
    use super::*;
    use NumberStyle::{Comma, Point};

    #[test]
    fn a_number_proves_its_style_or_is_open() {
        for (text, value, style) in [
            ("8.1", 8.1, Point),
            ("1,234.5", 1234.5, Point),
            ("0.205", 0.205, Point),
            (".205", 0.205, Point),
            ("1,234,567", 1_234_567.0, Point),
            ("10 400.5", 10_400.5, Point),
            ("8.1250", 8.125, Point),
            ("12,5", 12.5, Comma),
            ("0,205", 0.205, Comma),
            ("10.400,5", 10_400.5, Comma),
            ("1.234.567", 1_234_567.0, Comma),
            ("10 400,500", 10_400.5, Comma),
            ("10'400.500", 10_400.5, Point),
            ("10\u{2019}400,5", 10_400.5, Comma),
            ("1234,567", 1234.567, Comma),
        ] {
            assert_eq!(digits(text), Some(Digits::Shown(value, style)), "{text}");
            // What proves itself is read the same whatever the style of the file.
            assert_eq!(digits(text).unwrap().value(Some(Point)), digits(text).unwrap().value(Some(Comma)));
        }
        for (text, value) in [
            ("717", 717.0),
            ("10 400", 10_400.0),
            ("10'400", 10_400.0),
            ("10\u{2396}500", 10.5),
            ("8.", 8.0),
            ("0", 0.0),
        ] {
            assert_eq!(digits(text), Some(Digits::Plain(value)), "{text}");
        }
        for (text, point, comma) in [
            ("10.500", 10.5, 10_500.0),
            ("10,500", 10_500.0, 10.5),
            ("8,125", 8125.0, 8.125),
            ("1.234", 1.234, 1234.0),
        ] {
            let open = digits(text).unwrap();
            assert_eq!((open.value(Some(Point)), open.value(Some(Comma))), (Ok(point), Ok(comma)), "{text}");
            assert!(open.value(None).is_err());
        }
        for text in [
            "",
            ".",
            ",",
            "1,23,456",
            "1.2.3",
            "1,234.5,6",
            "12.34,5",
            "1..2",
            "1 2",
            "1 23 456",
            "10,4 00",
            "10'40",
            "1'234 567",
            "10\u{2396}5,0",
            "1.234,567.8",
        ] {
            assert_eq!(digits(text), None, "{text}");
        }
    }

    #[test]
    fn votes_are_counted_number_by_number() {
        let mut votes = StyleVotes::default();
        for text in ["44.0-63.6 kN", "9,900-14,300 lbf", "8,", "31 1/2 in", "n/a", "10400 psi"] {
            votes.count(text);
        }
        assert_eq!(votes, StyleVotes { point: 2, comma: 0, open: 2 });
        assert_eq!((votes.proven(), votes.contradicts()), (Some(Point), false));
        votes.count("0,205 m");
        assert_eq!((votes.proven(), votes.contradicts()), (None, true));
        assert_eq!(StyleVotes::default().proven(), None);
    }
}
