//! Until when an answer holds.
//!
//! Time alone changes a piece in these ways: a check falls due, its grace runs out, its life or its allowance ends, the date is
//! past by which a defect had to be repaired. Each of these is said somewhere in the answer of a piece in service, so the next such
//! instant is the end of the answer. For a piece that must not be used anyway it may change nothing; there the answers before and
//! after are compared.

use super::assess::at_instant;
use super::board::Board;
use super::input::{Life, Piece, Policy, Rig, Rules, State};
use super::wire::Assessment;
use super::words::Voice;
use chrono::{DateTime, Utc};

/// So many instants of pieces that are out of service are compared at most; the one after them then ends the answer,
/// which can only refresh it too early.
const COMPARED: usize = 6;

/// Instants at which something about a piece changes by itself.
pub(super) fn turns<'p>(piece: &'p Piece, policy: &'p Policy) -> impl Iterator<Item = DateTime<Utc>> + 'p {
    let end = match &piece.life {
        Life::Ends(end) | Life::AllowedUntil(end, _) => Some(*end),
        Life::None | Life::Unknown => None,
    };
    let due = piece.checks.iter().filter_map(|check| check.due);
    due.flat_map(|due| [Some(due), policy.counts_from(due)])
        .chain([end])
        .chain(piece.limits.iter().map(|limit| limit.repair_by))
        .flatten()
}

fn counts_by_state(piece: &Piece) -> bool {
    piece.state == State::InService && piece.stop_use.is_none() && piece.quarantine.is_none()
}

/// `now` is the answer at `at`.
pub(super) fn until(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>, now: &Assessment) -> Option<DateTime<Utc>> {
    let next = |counted: bool, after: DateTime<Utc>| {
        let pieces = rig.pieces.iter().filter(move |p| counts_by_state(p) == counted);
        pieces.flat_map(|p| turns(p, &rules.policy)).filter(move |t| *t > after).min()
    };
    let certain = next(true, at);
    let mut after = at;
    for _ in 0..COMPARED {
        let Some(turn) = next(false, after).filter(|turn| certain.is_none_or(|c| *turn < c)) else {
            return certain;
        };
        if at_instant(rig, &Board::new(rig, rules, turn), turn, voice) != *now {
            return Some(turn);
        }
        after = turn;
    }
    next(false, after).into_iter().chain(certain).min()
}
