//! The rule of the level once more, written from the words of the design (4.2 to 4.3a) and as simply as can be: every
//! alternative, every assignment of pieces, every line is tried. Clear and slow, for rigs of about nine pieces.
//!
//! It shares no code with the crate beyond the plain input types and the folding of coupling names. Where the design leaves room
//! the choice is written at the function that makes it.
#![allow(dead_code)]

pub mod acts;
pub mod asked;
pub mod dice;
pub mod lines;
pub mod needs;
pub mod units;
pub mod verdict;
pub mod sound;
pub mod worlds;

use chrono::{DateTime, Days, Utc};
use fullset_calc::capability::{DueCheck, Level, Life, Overdue, Piece, Policy, Rules, State};
use fullset_calc::ratings::{Figure, Kind, Rating, Ratings, Term};

/// Writing a figure in another unit and back may lose this share.
pub const LOST_IN_UNITS: f64 = 1e-9;

/// A rig at one instant: its pieces, and the rules that it is judged by.
pub struct Judge<'a> {
    pub pieces: Vec<&'a Piece>,
    pub rules: &'a Rules,
    pub at: DateTime<Utc>,
    /// Whether a battery tool with a pack that is not tracked runs. It does for the level, not for the confirmed level.
    pub own_packs_run: bool,
}

pub fn is_tool(kind: Kind) -> bool {
    [Kind::Cutter, Kind::Spreader, Kind::CombinationTool, Kind::Ram].contains(&kind)
}

pub fn is_source(kind: Kind) -> bool {
    kind == Kind::PowerUnit || kind == Kind::HandPump
}

/// Names are compared as coupling names are: letters and digits alone, in lower case.
pub fn same(a: &str, b: &str) -> bool {
    let folded = |name: &str| name.chars().filter(|c| c.is_alphanumeric()).flat_map(char::to_lowercase).collect::<String>();
    !folded(a).is_empty() && folded(a) == folded(b)
}

/// When a check begins to count against its piece.
pub fn counts_from(check: &DueCheck, policy: &Policy) -> Option<DateTime<Utc>> {
    let days = match check.overdue {
        Overdue::AgencyGrace => policy.overdue_grace_days?,
        Overdue::Grace(days) => days,
        Overdue::SaidOnly => return None,
    };
    Some(check.due? + Days::new(u64::from(days)))
}

/// 4.3: what may be used now. What is unknown may not; an unknown check date takes away the confirmation only.
pub fn usable(piece: &Piece, policy: &Policy, at: DateTime<Utc>) -> bool {
    let young = match &piece.life {
        Life::None => true,
        Life::Ends(end) => at < *end,
        Life::AllowedUntil(end, _) => at < *end,
        Life::Unknown => false,
    };
    let checked = piece.checks.iter().all(|check| match counts_from(check, policy) {
        Some(lapse) => at < lapse,
        None => true,
    });
    let repaired = piece.limits.iter().all(|limit| limit.repair_by.is_none_or(|by| at < by));
    piece.state == State::InService && piece.stop_use.is_none() && piece.quarantine.is_none() && young && checked && repaired
}

/// 4.3: a piece that the confirmed level may rest on.
pub fn confirmed(piece: &Piece, policy: &Policy, at: DateTime<Utc>) -> bool {
    usable(piece, policy, at)
        && !piece.checks.is_empty()
        && piece.checks.iter().all(|check| check.due.is_some_and(|due| at < due))
        && piece.limits.is_empty()
        && piece.used_unchecked.is_none()
        && piece.untried_since.is_none()
        && matches!(piece.life, Life::None | Life::Ends(_))
}

impl<'a> Judge<'a> {
    pub fn new(pieces: impl IntoIterator<Item = &'a Piece>, rules: &'a Rules, at: DateTime<Utc>) -> Self {
        Self {
            pieces: pieces.into_iter().collect(),
            rules,
            at,
            own_packs_run: true,
        }
    }

    pub fn usable(&self, piece: usize) -> bool {
        usable(self.pieces[piece], &self.rules.policy, self.at)
    }

    /// The usable pieces of the kinds asked for.
    pub fn of(&self, wanted: impl Fn(Kind) -> bool) -> Vec<usize> {
        (0..self.pieces.len()).filter(|i| self.usable(*i) && wanted(self.pieces[*i].kind)).collect()
    }

    /// The highest grade that is met together with all lower ones; each grade is judged on its own.
    pub fn level(&self) -> Level {
        let Some(grades) = &self.rules.grades else { return Level::NotJudged };
        let mut reached = Level::None;
        let ladder = [
            (Level::Limited, Some(&grades.limited)),
            (Level::Full, Some(&grades.full)),
            (Level::Heavy, grades.heavy.as_ref()),
        ];
        for (level, grade) in ladder {
            match grade {
                Some(grade) if self.meets(grade) => reached = level,
                _ => return reached,
            }
        }
        reached
    }
}

/// The level of a rig with these pieces; a rig that is out of service itself reaches none.
pub fn level<'a>(pieces: impl IntoIterator<Item = &'a Piece>, rules: &'a Rules, out: bool, at: DateTime<Utc>) -> Level {
    match Judge::new(pieces, rules, at).level() {
        Level::NotJudged => Level::NotJudged,
        _ if out => Level::None,
        level => level,
    }
}

/// The level of the confirmed pieces alone: no battery tool runs on a pack that is not on record.
pub fn confirmed_level<'a>(pieces: impl IntoIterator<Item = &'a Piece>, rules: &'a Rules, out: bool, at: DateTime<Utc>) -> Level {
    let sound = pieces.into_iter().filter(|piece| confirmed(piece, &rules.policy, at));
    let judge = Judge {
        own_packs_run: false,
        ..Judge::new(sound, rules, at)
    };
    match judge.level() {
        Level::NotJudged => Level::NotJudged,
        _ if out => Level::None,
        level => level,
    }
}

/// Whether a size is at least another, but for what units lose.
pub fn at_least(a: f64, b: f64) -> bool {
    a >= b - LOST_IN_UNITS * a.abs().max(b.abs())
}

/// The standards of which the figures mean the same have the same name here.
fn family(standard: &str) -> String {
    let name = standard.to_uppercase();
    if name.contains("NFPA") {
        "NFPA".into()
    } else if name.contains("13204") {
        "EN".into()
    } else {
        name
    }
}

/// Whether one rating meets one minimum. A rating by another standard never does; of a term that comes out of a standard's
/// own test, one that names no standard does not either.
pub fn meets_minimum(term: Term, rating: &Rating, minimum: &Rating) -> bool {
    match (&minimum.standard, &rating.standard) {
        (Some(asked), Some(has)) if family(asked) != family(has) => return false,
        (Some(_), None) if term.by_test() => return false,
        _ => {}
    }
    match (&rating.figure, &minimum.figure) {
        (Figure::Quantity(has), Figure::Quantity(needs)) if has.dimension() == needs.dimension() => match term {
            Term::Mass | Term::RetractedLength => at_least(needs.si(), has.si()),
            _ => at_least(has.si(), needs.si()),
        },
        (Figure::Levels(has), Figure::Levels(needs)) => has.serves(needs) == Some(true),
        (Figure::Letter(has), Figure::Letter(needs)) => has.letter() >= needs.letter(),
        _ => false,
    }
}

/// Whether ratings meet all minimums, those left out of account that a limit takes away.
pub fn meets_all(ratings: &Ratings, minimums: &Ratings, taken_away: &[Term]) -> bool {
    minimums.iter().all(|(term, minimum)| {
        let rating = ratings.get(term).filter(|_| !taken_away.contains(&term));
        rating.is_some_and(|rating| meets_minimum(term, rating, minimum))
    })
}
