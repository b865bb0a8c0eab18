//! Until when an answer holds.
//!
//! Time alone changes a piece in these ways: a check falls due, its grace runs out, its life or its allowance ends, the date is
//! past by which a defect had to be repaired. Each of these is said somewhere in the answer, so the next such instant ends it. It may
//! leave the three answers as they are and change a reason alone; the answer is then refreshed early, never late.

use super::input::{Life, Piece, Policy, Rig};
use chrono::{DateTime, Utc};

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
        .chain(piece.looser_rules.iter().flat_map(|own| [Some(own.from), own.until]))
        .flatten()
}

/// When a piece that may be used now must no longer be, if nobody does anything.
pub(super) fn lapses(piece: &Piece, policy: &Policy) -> Option<DateTime<Utc>> {
    let end = match &piece.life {
        Life::Ends(end) | Life::AllowedUntil(end, _) => Some(*end),
        Life::None | Life::Unknown => None,
    };
    let checks = piece.checks.iter().filter_map(|check| policy.counts_from(check.due?));
    checks.chain(end).chain(piece.limits.iter().filter_map(|limit| limit.repair_by)).min()
}

/// The first of them, of all pieces aboard, after `at`.
pub(super) fn until(rig: &Rig<'_>, policy: &Policy, at: DateTime<Utc>) -> Option<DateTime<Utc>> {
    let turns = rig.pieces.iter().flat_map(|piece| turns(piece, policy));
    turns.filter(|turn| *turn > at).min()
}
