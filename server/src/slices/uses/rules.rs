//! Which pieces of a use may be said to be looked over.

use std::collections::BTreeSet;

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

use crate::slices::pieces::PieceId;

/// The most pieces of one use: more than any rig carries.
pub const MOST_PIECES: usize = 200;
/// The most looks over one use.
pub const MOST_CHECKS: usize = 20;

/// What is wrong with a list of pieces: its field under `body.`, and why.
#[derive(Debug, PartialEq, Eq)]
pub struct ListFault {
    /// The field at fault, by its path: `body.pieces[2]`.
    pub field: String,
    /// What is wrong and what to do.
    pub words: String,
}

/// Holds a list of pieces to 1 to 200, each once.
pub fn named_once(pieces: &[PieceId]) -> Result<(), ListFault> {
    if !(1..=MOST_PIECES).contains(&pieces.len()) {
        return Err(ListFault {
            field: "body.pieces".into(),
            words: format!("Name the pieces that were used, from 1 to {MOST_PIECES}"),
        });
    }
    let mut seen = BTreeSet::new();
    match pieces.iter().position(|piece| !seen.insert(*piece)) {
        Some(n) => Err(ListFault {
            field: format!("body.pieces[{n}]"),
            words: "This piece is named twice; name it once".into(),
        }),
        None => Ok(()),
    }
}

/// Whether a piece must not have been used at that time, as far as its present state says: out of service or missing since then at the
/// latest.
pub fn was_out(in_service: bool, since: DateTime<Utc>, used_at: DateTime<Utc>) -> bool {
    !in_service && since <= used_at
}

/// What a member does with a use, by the name of the command.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub enum UseAct {
    /// Says that what was used has been looked over.
    #[serde(rename = "use.check")]
    Check,
}

/// Whether a use that was looked over so often may be looked over again; if not, why.
pub fn may(act: UseAct, checks: usize) -> Result<(), &'static str> {
    match act {
        UseAct::Check if checks >= MOST_CHECKS => Err("What was used here was looked over 20 times; record the next use as a new one"),
        UseAct::Check => Ok(()),
    }
}

/// What a use allows that was looked over so often, apart from who asks.
pub fn allows(checks: usize) -> Vec<UseAct> {
    [UseAct::Check].into_iter().filter(|act| may(*act, checks).is_ok()).collect()
}

/// What a look over a use is about.
#[derive(Debug)]
pub struct CheckFacts<'a> {
    /// The pieces that were used.
    pub used: &'a [PieceId],
    /// When they were used.
    pub used_at: DateTime<Utc>,
    /// How often it was looked over already.
    pub checks: usize,
}

/// Whether these pieces may be said to be looked over at that time; `None` names all of the use.
pub fn may_check(facts: &CheckFacts<'_>, pieces: Option<&[PieceId]>, at: DateTime<Utc>) -> Result<(), ListFault> {
    let fault = |field: String, words: &str| {
        Err(ListFault {
            field,
            words: words.to_owned(),
        })
    };
    if let Err(why) = may(UseAct::Check, facts.checks) {
        return fault("body.id".into(), why);
    }
    if at < facts.used_at {
        return fault("body.id".into(), "This look is older than the use; what is used is looked over afterwards");
    }
    let stranger = pieces.and_then(|pieces| pieces.iter().position(|piece| !facts.used.contains(piece)));
    match stranger {
        Some(n) => fault(format!("body.pieces[{n}]"), "This piece was not among those that were used"),
        None => Ok(()),
    }
}

#[cfg(test)]
mod tests {
    use uuid::Uuid;

    use super::*;

    #[test]
    fn a_piece_that_went_out_after_its_use_was_not_out() {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        assert!(was_out(false, at(100), at(100)));
        assert!(!was_out(false, at(101), at(100)));
        assert!(!was_out(true, at(99), at(100)));
    }

    #[test]
    fn a_look_comes_after_the_use_and_names_what_was_used() {
        let at = |seconds| DateTime::from_timestamp(seconds, 0).unwrap();
        let (one, other) = (PieceId(Uuid::from_u128(1)), PieceId(Uuid::from_u128(2)));
        let facts = CheckFacts {
            used: &[one],
            used_at: at(100),
            checks: 19,
        };
        assert_eq!(may_check(&facts, None, at(100)), Ok(()));
        assert_eq!(may_check(&facts, Some(&[one]), at(101)), Ok(()));
        assert!(may_check(&facts, None, at(99)).is_err());
        assert_eq!(may_check(&facts, Some(&[one, other]), at(101)).unwrap_err().field, "body.pieces[1]");
        assert!(may_check(&CheckFacts { checks: 20, ..facts }, None, at(101)).is_err());
    }
}
