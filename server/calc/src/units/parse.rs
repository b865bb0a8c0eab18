//! Reading what a person typed. Everything that is not plainly one number and one unit is refused, with a hint.

use super::{
    Dimension, Notation, Quantity, Unit, forms,
    notation::{Digits, EXACT, digits},
};
use serde::Serialize;

/// Why a typed quantity was refused.
///
/// Codes: `unreadable-number`, `ambiguous-number`, `negative-quantity`, `missing-unit`, `unknown-unit`, `ambiguous-unit`,
/// `torque-unit`, `wrong-dimension`, `two-values`, `span-out-of-order`.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct UnitFault {
    /// A code that never changes its meaning.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub code: &'static str,
    /// What is wrong, as a sentence part.
    pub reason: String,
    /// What to write instead, where that is known.
    pub hint: Option<String>,
}

impl std::fmt::Display for UnitFault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.write_str(&self.reason)
    }
}

impl std::error::Error for UnitFault {}

impl UnitFault {
    pub(crate) fn new(code: &'static str, reason: String, hint: Option<String>) -> Self {
        Self { code, reason, hint }
    }

    /// A unit that measures something else than what is wanted.
    pub(crate) fn wrong_dimension(unit: Unit, wanted: Dimension, value: Option<f64>) -> Self {
        let number = value.map(|v| format!("{v} ")).unwrap_or_default();
        match (unit.dimension(), wanted) {
            (Dimension::Energy, Dimension::Force) => Self::new(
                "torque-unit",
                format!("{} is a torque or an energy, not a force", unit.symbol()),
                Some("a rescue tool's force is given in lbf, kN or N; look it up on the tool's plate, it cannot be worked out from a torque".into()),
            ),
            (Dimension::Mass, Dimension::Force) => {
                let meant = if unit == Unit::Pound { "lbf" } else { "kgf or N" };
                Self::new(
                    "wrong-dimension",
                    format!("{} is a mass, not a force", unit.symbol()),
                    Some(format!("if a force is meant, write {number}{meant}")),
                )
            }
            (Dimension::Force, Dimension::Mass) => Self::new(
                "wrong-dimension",
                format!("{} is a force, not a mass", unit.symbol()),
                Some("a mass is given in lb or kg".into()),
            ),
            (has, _) => Self::new(
                "wrong-dimension",
                format!("{} is {}, not {}", unit.symbol(), has.word(), wanted.word()),
                Some(format!("write it in {}", wanted.offer())),
            ),
        }
    }
}

impl Quantity {
    /// Reads one number with its unit: `28.9"`, `31 1/2 in`, `717 bar`, `10 400 psi`.
    ///
    /// # Errors
    /// See [`UnitFault`]; nothing is guessed: `10,400 psi` may be 10400 or 10.4, and needs [`Quantity::parse_as`].
    pub fn parse(text: &str, wanted: Dimension) -> Result<Self, UnitFault> {
        Self::parse_as(text, wanted, Notation::default())
    }

    /// As [`Quantity::parse`], with the unit of a bare number and the style of an open one.
    ///
    /// # Errors
    /// See [`UnitFault`].
    pub fn parse_as(text: &str, wanted: Dimension, notation: Notation) -> Result<Self, UnitFault> {
        let text = text.trim();
        let size = |q: &Self| vec![q.si()];
        let read = |part: &str, notation| Self::parse_as(part, wanted, notation);
        if let Some(said) = forms::said_twice(text, notation, read, size) {
            return said;
        }
        let spelled = forms::spelled(text);
        if let Some(length) = forms::feet_and_inches(&spelled).filter(|_| wanted == Dimension::Length) {
            return length;
        }
        let (number, gap, rest) = split(&spelled);
        if number.is_empty() {
            return Err(unreadable(text));
        }
        let unit = unit_of(rest, gap, text, notation.bare, wanted);
        if spans(number) {
            return Err(UnitFault::new(
                "two-values",
                format!("\"{text}\" holds more than one number"),
                Some("give the lowest and the highest each in its own field".into()),
            ));
        }
        let read = Read::of(number).ok_or_else(|| unreadable(text))?;
        let unit = unit?;
        if forms::feet_like(number, unit) {
            return Err(unreadable(text));
        }
        let value = read.value(notation);
        if unit.dimension() != wanted {
            return Err(UnitFault::wrong_dimension(unit, wanted, value.ok()));
        }
        let value = value.map_err(|(grouped, decimal)| {
            UnitFault::new(
                "ambiguous-number",
                format!("\"{text}\" may be {grouped} or {decimal}"),
                Some(format!("write {grouped} or {decimal:.4}, or say which sign parts the decimals")),
            )
        })?;
        if value < 0.0 {
            return Err(UnitFault::new(
                "negative-quantity",
                format!("\"{text}\" is below zero"),
                Some("leave the sign away if it was a slip".into()),
            ));
        }
        Ok(Self { value, unit })
    }

    /// Reads a lowest and a highest value, `9900-14300 lbf` or `44.0 to 63.6 kN`. One value stands for both.
    ///
    /// # Errors
    /// `span-out-of-order` when the lowest is above the highest; else see [`UnitFault`].
    pub fn parse_span(text: &str, wanted: Dimension, notation: Notation) -> Result<(Self, Self), UnitFault> {
        let both = |(low, high): &(Self, Self)| vec![low.si(), high.si()];
        let read = |part: &str, notation| Self::parse_span(part, wanted, notation);
        if let Some(said) = forms::said_twice(text.trim(), notation, read, both) {
            return said;
        }
        let clean = text.trim().replace(['\u{2013}', '\u{2014}'], "-").replace(" to ", "-").replace("...", "-");
        if clean.starts_with(['-', '\u{2212}']) {
            return Self::parse_as(&clean, wanted, notation).map(|q| (q, q));
        }
        // `1-1/2 in` is one number, and the hyphen of a unit (`ft-lb`) divides nothing.
        let cut = clean.match_indices('-').find(|(i, _)| {
            let next = clean.get(i + 1..).unwrap_or_default();
            let both = next.trim_start().starts_with(|c: char| c.is_ascii_digit());
            let head = clean.get(..*i).unwrap_or_default().trim_end();
            both && head.starts_with(|c: char| c.is_ascii_digit()) && !mixed_follows(next)
        });
        let Some((at, _)) = cut else {
            return Self::parse_as(&clean, wanted, notation).map(|q| (q, q));
        };
        let (low, high) = (clean.get(..at).unwrap_or_default(), clean.get(at + 1..).unwrap_or_default());
        let high = Self::parse_as(high, wanted, notation)?;
        let low = Self::parse_as(
            low,
            wanted,
            Notation {
                bare: Some(high.unit),
                ..notation
            },
        )?;
        if low.si() > high.si() {
            return Err(UnitFault::new(
                "span-out-of-order",
                format!("\"{text}\": the lowest is above the highest"),
                Some("write the lowest first".into()),
            ));
        }
        Ok((low, high))
    }

    /// Reads the forces of a ram's stages, first stage first: `47500 / 23600 / 12400 lbf`.
    ///
    /// # Errors
    /// See [`UnitFault`]; a text with no value at all is `unreadable-number`.
    pub fn parse_stages(text: &str, wanted: Dimension, notation: Notation) -> Result<Vec<Self>, UnitFault> {
        let sizes = |forces: &Vec<Self>| forces.iter().map(|force| force.si()).collect();
        let read = |part: &str, notation| Self::parse_stages(part, wanted, notation);
        if let Some(said) = forms::said_twice(text.trim(), notation, read, sizes) {
            return said;
        }
        let parts: Vec<&str> = text.split(['/', ';']).map(str::trim).collect();
        let Some(last) = parts.last() else { return Err(unreadable(text)) };
        let bare = Some(Self::parse_as(last, wanted, notation)?.unit);
        parts.iter().map(|part| Self::parse_as(part, wanted, Notation { bare, ..notation })).collect()
    }
}

/// Signs that group thousands in some countries, and stand for feet in others.
pub(super) const APOSTROPHES: [char; 2] = ['\'', '\u{2019}'];

/// The number, whether white space follows it, and what stands behind.
fn split(text: &str) -> (&str, bool, &str) {
    let sign = |c: char| matches!(c, '.' | ',' | '+' | '-' | '/' | '\u{2212}' | '\u{2013}' | '\u{2044}' | EXACT);
    let grouping = |at: usize, c: char| {
        let (before, after) = (text.get(..at).unwrap_or_default(), text.get(at + c.len_utf8()..).unwrap_or_default());
        APOSTROPHES.contains(&c) && forms::groups(before, after)
    };
    let mut letters = text
        .char_indices()
        .filter(|(at, c)| !(c.is_ascii_digit() || c.is_whitespace() || sign(*c) || grouping(*at, *c)));
    let at = letters.next().map_or(text.len(), |(at, _)| at);
    let (number, rest) = text.split_at_checked(at).unwrap_or((text, ""));
    (number.trim(), number.ends_with(char::is_whitespace), rest.trim())
}

fn unit_of(rest: &str, gap: bool, text: &str, bare: Option<Unit>, wanted: Dimension) -> Result<Unit, UnitFault> {
    if rest.is_empty() {
        return bare.ok_or_else(|| UnitFault::new("missing-unit", format!("\"{text}\" has no unit"), Some(format!("add {}", wanted.offer()))));
    }
    let found = Unit::from_symbol(rest);
    match found {
        // "10k-ish": letters grown onto the number that are no unit make the number itself unreadable.
        Err(fault) if fault.code == "unknown-unit" => Err(if gap {
            UnitFault {
                hint: Some(format!("write it in {}", wanted.offer())),
                ..fault
            }
        } else {
            unreadable(text)
        }),
        other => other,
    }
}

fn unreadable(text: &str) -> UnitFault {
    UnitFault::new(
        "unreadable-number",
        format!("\"{text}\" is not one plain number with a unit"),
        Some("write digits and a unit, for example 10,400 psi".into()),
    )
}

/// Whether the digits hold two numbers (`9900-14300`), not one mixed fraction (`1-1/2`).
fn spans(number: &str) -> bool {
    let body = number.trim_start_matches(['-', '+', '\u{2212}']).replace(['\u{2013}', '\u{2212}'], "-");
    if let Some((_, after)) = body.split_once('-') {
        return !mixed_follows(after) && after.trim().starts_with(|c: char| c.is_ascii_digit());
    }
    body.contains('/') && fraction(body.split_whitespace().last().unwrap_or_default()).is_none()
}

fn mixed_follows(after: &str) -> bool {
    let end = after
        .find(|c: char| !(c.is_ascii_digit() || matches!(c, '/' | '\u{2044}')))
        .unwrap_or(after.len());
    after.get(..end).and_then(fraction).is_some()
}

/// A signed number before its style is known: digits, an inch fraction, or both.
struct Read {
    sign: f64,
    digits: Digits,
    part: f64,
}

impl Read {
    fn of(text: &str) -> Option<Self> {
        let (sign, body) = match text.strip_prefix(['-', '\u{2212}', '\u{2013}']) {
            Some(rest) => (-1.0, rest.trim_start()),
            None => (1.0, text.strip_prefix('+').unwrap_or(text).trim_start()),
        };
        let body = body.replace(['\u{a0}', '\u{202f}', '\u{2009}'], " ");
        if let Some(part) = fraction(&body) {
            return Some(Self {
                sign,
                digits: Digits::Plain(0.0),
                part,
            });
        }
        if let Some((whole, part)) = body.rsplit_once([' ', '-'])
            && let (Some(digits), Some(part)) = (digits(whole), fraction(part))
        {
            return Some(Self { sign, digits, part });
        }
        digits(&body).map(|digits| Self { sign, digits, part: 0.0 })
    }

    fn value(&self, notation: Notation) -> Result<f64, (f64, f64)> {
        self.digits.value(notation.style).map(|value| self.sign * (value + self.part))
    }
}

/// A proper inch fraction: numerator below a denominator of 2, 4, 8, 16, 32 or 64.
fn fraction(text: &str) -> Option<f64> {
    let (top, bottom) = text.split_once(['/', '\u{2044}'])?;
    let (top, bottom): (u8, u8) = (top.parse().ok()?, bottom.parse().ok()?);
    (matches!(bottom, 2 | 4 | 8 | 16 | 32 | 64) && top < bottom).then(|| f64::from(top) / f64::from(bottom))
}
