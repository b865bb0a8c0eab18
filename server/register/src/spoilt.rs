//! Text that spreadsheets spoil: what they take for formulas, and what they make of numbers and dates that were typed in as names.

use super::cells::{Fault, figure, is_blank};
use fullset_calc::units::EXACT;

/// Signs with which a spreadsheet begins to calculate.
pub(super) const FORMULA: &[char] = &['=', '+', '-', '@', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}'];

/// Whether a text stands in a file only with an apostrophe before it: a spreadsheet would take it for a formula, or reading for nothing or
/// for what a spreadsheet has spoilt.
fn needs_guard(text: &str) -> bool {
    text.starts_with(FORMULA) || text.starts_with('\'') || (!text.is_empty() && is_blank(text)) || eaten(text).is_some()
}

/// Text as it stands in a file: an apostrophe goes before what [`needs_guard`], so that [`unguarded`] always gives the text back.
#[must_use]
pub fn guarded(text: &str) -> String {
    if needs_guard(text) { format!("'{text}") } else { text.to_owned() }
}

/// Takes back what [`guarded`] did; any other apostrophe stays.
#[must_use]
pub fn unguarded(text: &str) -> &str {
    text.strip_prefix('\'').filter(|rest| needs_guard(rest)).unwrap_or(text)
}

/// What a cell of plain text says; nothing where it is blank or one of the usual stand-ins. What stands behind an apostrophe is meant as it
/// stands there.
///
/// # Errors
/// `eaten-by-spreadsheet`: what was typed in can no longer be told.
pub fn said(cell: &str) -> Result<Option<String>, Fault> {
    let raw = figure(cell).replace(EXACT, ".");
    let text = unguarded(&raw);
    if text.len() < raw.len() {
        return Ok(Some(text.to_owned()));
    }
    if is_blank(text) {
        return Ok(None);
    }
    match eaten(text) {
        Some(how) => Err(Fault::new(
            "eaten-by-spreadsheet",
            format!("\"{text}\" is {how}; what was typed in can no longer be told"),
            Some("format the column as text in the spreadsheet, write it again as on the piece, and export once more".into()),
        )),
        None => Ok(Some(text.to_owned())),
    }
}

/// The most digits that a spreadsheet keeps of a number.
const SPREADSHEET_DIGITS: usize = 15;

/// What a spreadsheet has made of a name or number that was typed in, where it shows.
fn eaten(text: &str) -> Option<&'static str> {
    let digits = |text: &str| !text.is_empty() && text.bytes().all(|byte| byte.is_ascii_digit());
    let figure = |text: &str| text.split_once(['.', ',']).map_or(digits(text), |(whole, part)| digits(whole) && digits(part));
    if let Some((number, power)) = text.split_once(['E', 'e'])
        && figure(number)
        && power.strip_prefix(['+', '-']).is_some_and(digits)
    {
        return Some("a number that a spreadsheet has shortened");
    }
    if let Some((whole, part)) = text.split_once(['.', ','])
        && digits(whole)
        && digits(part)
        && part.trim_matches('0').is_empty()
    {
        return Some("a number as programs write it, without the zeros that may have stood before it");
    }
    if digits(text) && text.len() > SPREADSHEET_DIGITS && text.trim_end_matches('0').len() <= SPREADSHEET_DIGITS {
        return Some("a number of which a spreadsheet has kept the first digits only");
    }
    if text.starts_with('#') && (text.ends_with(['!', '?']) || (text.len() > 2 && text.trim_matches('#').is_empty())) {
        return Some("a spreadsheet's error");
    }
    let months = ["Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec"];
    let month_and = |text: &str, other: &str| months.contains(&text) && digits(other) && other.len() <= 2;
    let dated = text.split_once('-').is_some_and(|(a, b)| month_and(a, b) || month_and(b, a));
    (dated || text.ends_with(" 00:00:00")).then_some("a date that a spreadsheet has made of it")
}
