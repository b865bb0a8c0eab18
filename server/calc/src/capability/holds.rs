//! Until when the answer holds, and what is to be said about pieces whose time has passed or is passing.
//!
//! Time alone changes a piece in three ways: a check falls due, its grace runs out, its life ends. For a piece that is
//! in service each of these is said somewhere in the answer, so the next such instant is the end of the answer. For a
//! piece that is out of service anyway it may change nothing; there the answers before and after are compared.

use super::assess::at_instant;
use super::board::Board;
use super::input::{Life, Piece, Policy, Rig, State};
use super::wire::{Assessment, Gap};
use super::{gaps, words::Voice};
use chrono::{DateTime, Utc};

/// So many instants of pieces that are out of service are compared at most; the one after them then ends the answer,
/// which can only refresh it too early.
const COMPARED: usize = 64;

/// Steps of work that only a rig full of nonsense takes.
const HARD: usize = 20_000;

/// Instants at which something about a piece changes by itself.
fn turns<'p>(piece: &'p Piece, policy: &'p Policy) -> impl Iterator<Item = DateTime<Utc>> + 'p {
    let end = if let Life::Ends(end) = piece.life { Some(end) } else { None };
    piece
        .checks
        .iter()
        .flat_map(|c| [Some(c.due), policy.counts_from(c.due)])
        .chain([end])
        .flatten()
}

fn counts_by_state(piece: &Piece) -> bool {
    piece.state == State::InService && piece.stop_use.is_none()
}

/// `board` is the rig as it was judged now.
pub(super) fn until(rig: &Rig<'_>, board: &Board<'_>, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>, now: &Assessment) -> Option<DateTime<Utc>> {
    let next = |counted: bool, after: DateTime<Utc>| {
        let pieces = rig.pieces.iter().filter(move |p| counts_by_state(p) == counted);
        pieces.flat_map(|p| turns(p, policy)).filter(move |t| *t > after).min()
    };
    let certain = next(true, at);
    let mut after = at;
    // A rig that took this much to judge is not judged again and again.
    let compared = if board.net.work.get() > HARD { 0 } else { COMPARED };
    for _ in 0..compared {
        let Some(turn) = next(false, after).filter(|turn| certain.is_none_or(|c| *turn < c)) else {
            return certain;
        };
        if at_instant(rig, &Board::new(rig, policy, turn), policy, turn, voice) != *now {
            return Some(turn);
        }
        after = turn;
    }
    next(false, after).into_iter().chain(certain).min()
}

/// What stands against pieces that are in service, as far as no gap says it already: age, and overdue checks whether or
/// not they count.
pub(super) fn standing(rig: &Rig<'_>, said: &[Gap], policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<String> {
    let mut pieces: Vec<&Piece> = rig.pieces.iter().filter(|piece| counts_by_state(piece) && !is_quiet(piece, at)).collect();
    pieces.sort_unstable_by(|a, b| a.tag.cmp(&b.tag).then_with(|| a.id.cmp(&b.id)));
    let mut all = Vec::new();
    for piece in pieces {
        if !said.iter().any(|gap| gap.near.iter().any(|near| near.piece == Some(piece.id))) {
            all.extend(
                gaps::faults(piece, policy, at, voice)
                    .into_iter()
                    .map(|near| format!("{}, not counted", near.words)),
            );
        }
        for check in piece.checks.iter().filter(|check| at >= check.due) {
            let name = format!("{} {}: {} overdue since {}", piece.kind.word(), piece.tag, check.name, voice.at(check.due));
            match policy.counts_from(check.due) {
                None => all.push(format!("{name}, counted all the same by the agency's policy")),
                Some(end) if at < end => all.push(format!("{name}, still counted until {}", voice.at(end))),
                Some(_) => {}
            }
        }
    }
    all
}

/// Whether nothing at all is to be said of the piece's age and checks.
fn is_quiet(piece: &Piece, at: DateTime<Utc>) -> bool {
    let young = match piece.life {
        Life::None => true,
        Life::Ends(end) => at < end,
        Life::Unknown => false,
    };
    young && piece.checks.iter().all(|check| at < check.due)
}
