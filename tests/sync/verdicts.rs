//! What the model says of single acts: which are taken, and which are refused for what.

use serde_json::Value;
use uuid::Uuid;

use super::{known::Piece, model::Act};

/// What must become of a command in a state.
#[derive(Debug, Clone, PartialEq)]
pub enum Verdict {
    /// It acts.
    Applies,
    /// The record has changed.
    Conflict,
    /// It is refused with this code.
    Refused(&'static str),
    /// It acts where the tool would run on that rig, and is refused as against a rule where not: that is judged by the
    /// calculation, which has tests of its own.
    AsItFits,
}

/// The one piece that a phone's use names.
pub fn used_piece(body: &Value) -> Uuid {
    body["pieces"][0].as_str().and_then(|id| id.parse().ok()).expect("a piece")
}

pub fn rule(holds: bool) -> Verdict {
    if holds { Verdict::Applies } else { Verdict::Refused("rule-broken") }
}

/// A hose past its life is not released, whoever looked it over; and what is under pressure and out for something that nobody has
/// named is not an officer's to release: of those who have phones the coordinator files the maker's paper.
pub fn released(verdict: Verdict, piece: &Piece, unnamed: bool, act: &Act) -> Verdict {
    let not_theirs = unnamed && piece.under_pressure && act.command["body"]["evidence"]["makers_service"].is_null();
    if verdict == Verdict::Applies && (not_theirs || piece.is_past_life(act.said)) {
        Verdict::Refused("evidence-missing")
    } else {
        verdict
    }
}

/// What opens the other way is decided on the revision that was seen.
pub fn decided(command: &Value, rev: i64, holds: bool) -> Verdict {
    match command["expects"].as_i64() {
        None => Verdict::Refused("revision-needed"),
        Some(seen) if seen != rev => Verdict::Conflict,
        Some(_) => rule(holds),
    }
}
