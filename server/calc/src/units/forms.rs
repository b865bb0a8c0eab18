//! Other ways to write a quantity: `10½ in`, `5' 3"`, and one that is said in two units, `8 in (203 mm)`.

use super::{Dimension, Notation, NumberStyle, Quantity, Unit, UnitFault, parse};
use std::borrow::Cow;

/// Two sizes are one that was said twice when they differ by no more than this share, which covers rounding into the other unit.
const SAID_TWICE: f64 = 0.02;

/// The signs for fractions of an inch.
const FRACTIONS: &[(char, &str)] = &[
    ('\u{bd}', "1/2"),
    ('\u{bc}', "1/4"),
    ('\u{be}', "3/4"),
    ('\u{215b}', "1/8"),
    ('\u{215c}', "3/8"),
    ('\u{215d}', "5/8"),
    ('\u{215e}', "7/8"),
];

/// The text with the signs for fractions written out: `10½` as `10 1/2`.
pub(super) fn spelled(text: &str) -> Cow<'_, str> {
    let sign = |c: char| FRACTIONS.iter().find(|(sign, _)| *sign == c);
    if !text.contains(|c| sign(c).is_some()) {
        return Cow::Borrowed(text);
    }
    let mut out = String::with_capacity(text.len() + 4);
    for c in text.chars() {
        match sign(c) {
            Some((_, words)) => {
                if out.ends_with(|c: char| c.is_ascii_digit()) {
                    out.push(' ');
                }
                out.push_str(words);
            }
            None => out.push(c),
        }
    }
    Cow::Owned(out)
}

/// Words and signs for feet, the longest first.
const FEET: &[&str] = &["feet", "foot", "ft.", "ft", "'", "\u{2032}", "\u{2019}"];

/// Feet and inches, `5' 3"`, in inches; `None` where the text is not of that form.
pub(super) fn feet_and_inches(text: &str) -> Option<Result<Quantity, UnitFault>> {
    let (number, rest) = text.split_at_checked(text.find(|c: char| !c.is_ascii_digit())?)?;
    let rest = rest.trim_start();
    let tail = FEET.iter().find_map(|word| rest.strip_prefix(word))?.trim_start_matches([' ', '-']);
    let thousands = rest.starts_with(parse::APOSTROPHES) && groups(number, tail);
    if thousands || !tail.starts_with(|c: char| c.is_ascii_digit()) {
        return None;
    }
    let feet: f64 = number.parse().ok()?;
    Some(Quantity::parse_as(tail, Dimension::Length, Notation::default()).and_then(|inches| {
        if inches.unit != Unit::Inch || inches.value >= 12.0 {
            return Err(UnitFault::new(
                "two-values",
                format!("\"{text}\" is no length in feet and inches"),
                Some("write feet and less than 12 inches, for example 5' 3\"".into()),
            ));
        }
        Ok(Quantity::new(feet * 12.0 + inches.value, Unit::Inch))
    }))
}

/// What stands before brackets and in them, where a quantity stands in both.
fn twice(text: &str) -> Option<(&str, &str)> {
    let (first, second) = text.strip_suffix(')')?.rsplit_once('(')?;
    let begins = |text: &str| text.trim().starts_with(|c: char| c.is_ascii_digit());
    (begins(first) && begins(second)).then(|| (first.trim(), second.trim()))
}

/// Reads a text that says the same in two units by its first, where both agree; `None` where it says one thing. The two tell the style of
/// their numbers, whatever the file's is: only one way of reading them agrees.
pub(super) fn said_twice<T: PartialEq>(
    text: &str,
    notation: Notation,
    read: impl Fn(&str, Notation) -> Result<T, UnitFault>,
    sizes: impl Fn(&T) -> Vec<f64>,
) -> Option<Result<T, UnitFault>> {
    let (first, second) = twice(text)?;
    let near = |(a, b): (&f64, &f64)| (a - b).abs() <= SAID_TWICE * a.max(*b);
    let agree = |a: &T, b: &T| {
        let (a, b) = (sizes(a), sizes(b));
        a.len() == b.len() && a.iter().zip(&b).all(near)
    };
    let pair = |style| {
        let notation = Notation { style, ..notation };
        let inner = Notation { bare: None, ..notation };
        read(first, notation).and_then(|one| read(second, inner).map(|other| (one, other)))
    };
    let plain = pair(notation.style);
    if let Ok((one, other)) = &plain
        && agree(one, other)
    {
        return Some(plain.map(|(one, _)| one));
    }
    let mut agreeing: Vec<T> = Vec::new();
    for (one, other) in [NumberStyle::Point, NumberStyle::Comma].into_iter().filter_map(|style| pair(Some(style)).ok()) {
        if agree(&one, &other) && !agreeing.contains(&one) {
            agreeing.push(one);
        }
    }
    Some(match (agreeing.pop(), plain) {
        (Some(one), _) if agreeing.is_empty() => Ok(one),
        (_, Err(fault)) => Err(fault),
        _ => Err(UnitFault::new(
            "two-values",
            format!("\"{text}\" gives two sizes that are not the same"),
            Some("look at the plate again and write one of them".into()),
        )),
    })
}

/// Whether thousands are grouped by an apostrophe here, as in `10'400`: three digits behind it, no more, and a digit before it.
pub(super) fn groups(before: &str, after: &str) -> bool {
    let digits = after.bytes().take_while(u8::is_ascii_digit).count();
    let before = before.bytes().rev().take_while(u8::is_ascii_digit).count();
    digits == 3 && (1..=3).contains(&before)
}

/// Whether the number of a length is grouped by an apostrophe and its unit is that of feet or inches: `5'300"` is neither.
pub(super) fn feet_like(number: &str, unit: Unit) -> bool {
    number.contains(parse::APOSTROPHES) && matches!(unit, Unit::Inch | Unit::Foot)
}
