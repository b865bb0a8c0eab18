//! Whether a piece is confirmed: whether records say that it was checked as it must be. Checks as such (readings, plans) come
//! in through the same door, as due checks: they only add to what is asked here.

use super::input::{Life, Piece};
use chrono::{DateTime, Utc};

/// Whether nothing stands between the piece and its confirmation. Whether it is usable at all is asked before.
pub(super) fn is_confirmed(piece: &Piece, at: DateTime<Utc>) -> bool {
    let age_known = match &piece.life {
        Life::None => true,
        Life::Ends(end) => at < *end,
        Life::Unknown | Life::AllowedUntil(..) => false,
    };
    age_known
        && piece.limits.is_empty()
        && piece.used_unchecked.is_none()
        && piece.used_while_out.is_none()
        && piece.released.is_none()
        && piece.untried_since.is_none()
        && !piece.checks.is_empty()
        && piece.checks.iter().all(|check| check.due.is_some_and(|due| at < due))
}
