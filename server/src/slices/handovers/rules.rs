//! What may happen to a handover, and how much of a sheet is kept; on plain values.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use super::feed::{HandoverPart, HandoverState};

const MOST_PARTS: usize = 24;
const MOST_LINES: usize = 60;
const MOST_TITLE: usize = 200;
const MOST_LINE: usize = 500;
/// The most characters of all lines together: a station's phones keep the copy.
const MOST_TEXT: usize = 40_000;

/// What a member does with a handover, by the names of the commands.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum HandoverAct {
    /// Takes it.
    #[serde(rename = "handover.take")]
    Take,
    /// Takes it back.
    #[serde(rename = "handover.withdraw")]
    Withdraw,
}

/// Whether the act may be done; if not, why.
pub const fn may(_: HandoverAct, state: HandoverState) -> Result<(), &'static str> {
    match state {
        HandoverState::Given => Ok(()),
        HandoverState::Taken => Err("This handover was taken already; give the next one"),
        HandoverState::Withdrawn => Err("This handover was withdrawn; give it anew"),
    }
}

/// What a handover allows in its state, apart from who asks. The next one of its place may be given in any.
pub fn allows(state: HandoverState) -> Vec<HandoverAct> {
    let all = [HandoverAct::Take, HandoverAct::Withdraw];
    all.into_iter().filter(|act| may(*act, state).is_ok()).collect()
}

fn words(field: &str, text: &str, most: usize) -> Result<String, (String, String)> {
    let text = text.trim();
    let fits = (1..=most).contains(&text.chars().count()) && !text.contains('\0');
    if fits {
        return Ok(text.to_owned());
    }
    Err((field.to_owned(), format!("Keep it to 1 to {most} characters, without a NUL character")))
}

/// Holds a copy of a sheet to its bounds, trimmed.
pub fn parts(given: Vec<HandoverPart>) -> Result<Vec<HandoverPart>, (String, String)> {
    if given.is_empty() || given.len() > MOST_PARTS {
        return Err(("parts".into(), format!("A sheet has 1 to {MOST_PARTS} parts")));
    }
    let mut kept = Vec::with_capacity(given.len());
    let mut all = 0;
    for (n, part) in given.into_iter().enumerate() {
        if part.lines.len() > MOST_LINES {
            let words = format!("{MOST_LINES} lines of a part are kept; cut it and say in left_out how many are not");
            return Err((format!("parts[{n}].lines"), words));
        }
        let lines = part.lines.iter().enumerate();
        let lines: Result<Vec<String>, _> = lines.map(|(m, line)| words(&format!("parts[{n}].lines[{m}]"), line, MOST_LINE)).collect();
        let part = HandoverPart {
            title: words(&format!("parts[{n}].title"), &part.title, MOST_TITLE)?,
            lines: lines?,
            left_out: part.left_out,
        };
        all += part.title.chars().count() + part.lines.iter().map(|line| line.chars().count()).sum::<usize>();
        kept.push(part);
    }
    if all > MOST_TEXT {
        return Err((
            "parts".into(),
            format!("{MOST_TEXT} characters of a sheet are kept; cut it and say in left_out how many lines are not"),
        ));
    }
    Ok(kept)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn part(title: &str, lines: &[&str]) -> HandoverPart {
        HandoverPart {
            title: title.into(),
            lines: lines.iter().map(|line| (*line).to_owned()).collect(),
            left_out: 0,
        }
    }

    #[test]
    fn what_waits_is_taken_or_withdrawn_once() {
        assert_eq!(allows(HandoverState::Given), [HandoverAct::Take, HandoverAct::Withdraw]);
        assert!(allows(HandoverState::Taken).is_empty() && allows(HandoverState::Withdrawn).is_empty());
    }

    #[test]
    fn a_copy_is_kept_whole_or_refused_never_cut_in_silence() {
        let kept = parts(vec![part(" Reported: 1 ", &[" CU-1 leaks "]), part("Used: none", &[])]).unwrap();
        assert_eq!(kept, [part("Reported: 1", &["CU-1 leaks"]), part("Used: none", &[])]);
        let field = |given| parts(given).unwrap_err().0;
        assert_eq!(field(vec![]), "parts");
        assert_eq!(field(vec![part("x", &[]); 25]), "parts");
        assert_eq!(field(vec![part("x", &["y"; 61])]), "parts[0].lines");
        assert_eq!(field(vec![part(" ", &[])]), "parts[0].title");
        assert_eq!(field(vec![part("x", &["y", " "])]), "parts[0].lines[1]");
        assert_eq!(field(vec![part("x", &[&"y".repeat(501)])]), "parts[0].lines[0]");
        let long = "y".repeat(500);
        let lines = vec![long.as_str(); 60];
        assert_eq!(field(vec![part("x", &lines), part("x", &lines)]), "parts");
        assert!(parts(vec![part("x", &lines)]).is_ok());
    }
}
