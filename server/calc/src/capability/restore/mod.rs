//! The smallest set of acts that makes the rig full.
//!
//! Acts that are thought of:
//! - *put the rig back* when it is out of service itself;
//! - *check*: do all overdue checks of a piece that nothing else is held against;
//! - *put right* a piece aboard that is out of service or under a stop-use notice (its checks are done with it). A piece
//!   whose life has ended, or whose age is unknown, cannot be put right;
//! - *put aboard* a piece for a slot, just meeting its minimums, on a family that is aboard: a coupling and fluid at the
//!   pressure of a source, or a battery family; or a further source, hose, tool or battery that takes no slot.
//!
//! Fewest acts win; among equally many those with the more checks and then the more pieces put aboard rather than put
//! right (a repair takes longest); then lowest slot and tag.

mod offers;
mod search;

use super::board::Board;
use super::gaps;
use super::input::{Life, Piece, Policy, Rig};
use super::wire::{Act, ActKind, Level};
use super::words::Voice;
use crate::sets::{self, Set};
use chrono::{DateTime, Utc};
use offers::Offers;

pub(super) struct Mended {
    pub acts: Vec<Act>,
    /// Whether no smaller set exists, for certain.
    pub is_smallest: bool,
}

/// The acts for a rig that stands at `level`.
pub(super) fn smallest(rig: &Rig<'_>, board: &Board<'_>, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>, level: Level) -> Mended {
    if level == Level::Full || rig.complement.is_none() {
        return Mended {
            acts: Vec::new(),
            is_smallest: true,
        };
    }
    let mut acts = Vec::new();
    if let Some(notice) = rig.out_of_service {
        let words = format!("put the rig back in service (out since {}, {})", voice.at(notice.since), notice.words);
        acts.push(Act {
            act: ActKind::PutRigBack,
            piece: None,
            slot: None,
            kind: None,
            family: None,
            words,
        });
    }
    if rig.out_of_service.is_some() && board.holds(board.usable, Level::Full) {
        return Mended { acts, is_smallest: true };
    }
    let offers = Offers::new(board, policy, at);
    let Some(found) = search::smallest(&offers) else {
        return Mended {
            acts: Vec::new(),
            is_smallest: true,
        };
    };
    let mut chosen: Vec<usize> = sets::each(found.acts).collect();
    chosen.sort_by_key(|i| (offers.weight(*i), *i));
    acts.extend(chosen.into_iter().filter_map(|i| match board.piece(i) {
        Some(piece) => Some(mend(piece, policy, at, voice)),
        None => offers.put_aboard(board, i, voice),
    }));
    Mended {
        acts,
        is_smallest: found.is_smallest && offers.complete,
    }
}

/// How a piece aboard that is not usable can be made usable.
fn act_for(piece: &Piece, at: DateTime<Utc>) -> Option<ActKind> {
    match piece.life {
        Life::Unknown => None,
        Life::Ends(end) if at >= end => None,
        _ if piece.state == super::input::State::InService && piece.stop_use.is_none() => Some(ActKind::Check),
        _ => Some(ActKind::PutRight),
    }
}

fn mend(piece: &Piece, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Act {
    let name = format!("{} {}: ", piece.kind.word(), piece.tag);
    let faults = gaps::faults(piece, policy, at, voice);
    let why: Vec<&str> = faults.iter().map(|near| near.words.strip_prefix(&name).unwrap_or(&near.words)).collect();
    let (act, what) = if act_for(piece, at) == Some(ActKind::Check) {
        (ActKind::Check, "do the check")
    } else {
        (ActKind::PutRight, "put right")
    };
    Act {
        act,
        piece: Some(piece.id),
        slot: None,
        kind: None,
        family: None,
        words: format!("{name}{what} ({})", why.join("; ")),
    }
}

/// The pieces aboard that are not usable but can be made so, by act.
fn mendable(board: &Board<'_>, at: DateTime<Utc>) -> (Set, Set) {
    let mut checks = 0;
    let mut rights = 0;
    for (i, piece) in board.pieces.iter().enumerate() {
        if board.usable & sets::one(i) == 0 {
            match act_for(piece, at) {
                Some(ActKind::Check) => checks |= sets::one(i),
                Some(_) => rights |= sets::one(i),
                None => {}
            }
        }
    }
    (checks, rights)
}
