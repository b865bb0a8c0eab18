//! The fewest acts that bring a rig to the level it should have.
//!
//! Acts that are thought of:
//! - *put the rig back* when it is out of service itself;
//! - *check*: do all overdue checks of a piece that nothing else is held against;
//! - *put right* a piece aboard that is out of service, missing, under a notice or past its repair date. A piece whose life has
//!   ended, or whose age is unknown, cannot be put right;
//! - *put aboard* a piece that just does: a tool for a part of a need, on a family that is aboard; a further source, hose, adapter
//!   or pack of such a family.
//!
//! Fewest acts win; among equally many those with the more checks and then the more pieces put aboard rather than put right (a
//! repair takes longest); then lowest number. Whether a set does is asked of the level itself, so what is proposed works.

mod offers;
mod search;

use super::board::Board;
use super::faults;
use super::input::{Life, Piece, Rig, Rules, State};
use super::wire::{Act, ActKind, Level};
use super::words::Voice;
use crate::sets::{self, Set};
use chrono::{DateTime, Utc};
use offers::Offers;
use search::{Sort, Tries};

/// Sets of acts that are asked of the level at most; what was found by then works, but is not shown to be smallest.
const TRIES: usize = 400;

/// One act more outweighs any preference between kinds.
const ACT: u32 = 1000;

pub(super) struct Mended {
    pub acts: Vec<Act>,
    /// Whether no smaller set of these acts does, for certain.
    pub is_smallest: bool,
}

/// The acts for a rig that stands at `level`, up to `target`.
pub(super) fn smallest(rig: &Rig<'_>, board: &Board<'_>, target: Level, level: Level, at: DateTime<Utc>, voice: &Voice<'_>) -> Mended {
    let nothing = |is_smallest| Mended {
        acts: Vec::new(),
        is_smallest,
    };
    if level >= target {
        return nothing(true);
    }
    if board.grades.is_empty() {
        return nothing(false);
    }
    let mut acts = Vec::new();
    if let Some(notice) = rig.out_of_service {
        acts.push(Act {
            act: ActKind::PutRigBack,
            piece: None,
            need: None,
            kind: None,
            family: None,
            words: format!("put the rig back in service (out since {}, {})", voice.at(notice.since), notice.words),
        });
    }
    let whole = Rig {
        out_of_service: None,
        ..*rig
    };
    let offers = Offers::new(board, target);
    let pieces = board.pieces.iter().copied().chain(offers.all.iter().map(|offer| &offer.piece));
    let with = Board::of(&whole, pieces, board.rules, at);
    let own = board.pieces.len();
    if with.holds(with.usable & first(own), target) {
        return Mended { acts, is_smallest: true };
    }
    let sorts = sorts(&with, own, &offers, at);
    let mut tries = Tries::new(TRIES, &sorts, |pieces: Set| with.holds((with.usable & first(own)) | pieces, target));
    let Some(found) = tries.cheapest() else { return nothing(false) };
    let mut chosen: Vec<(u32, usize)> = Vec::new();
    for (sort, count) in sorts.iter().zip(&found.counts) {
        chosen.extend(sort.members.iter().take(*count).map(|i| (sort.weight, *i)));
    }
    chosen.sort_unstable();
    acts.extend(chosen.into_iter().filter_map(|(_, i)| {
        if i < own {
            board.piece(i).map(|piece| mend(piece, board.rules, at, voice))
        } else {
            offers.all.get(i - own).map(|offer| offer.act(voice))
        }
    }));
    Mended {
        acts,
        is_smallest: found.is_smallest && offers.is_whole && board.left_out.is_empty(),
    }
}

/// The first `n` pieces.
const fn first(n: usize) -> Set {
    if n >= sets::CAPACITY { Set::MAX } else { (1 << n) - 1 }
}

/// What can be had, those that can stand for each other together: first the pieces aboard that can be mended, then what could
/// be put aboard.
fn sorts(with: &Board<'_>, own: usize, offers: &Offers, at: DateTime<Utc>) -> Vec<Sort> {
    let mut all: Vec<Sort> = Vec::new();
    let matters = with.matters();
    let mut add = |i: usize, weight: u32| {
        if matters & sets::one(i) == 0 {
            return;
        }
        match all
            .iter_mut()
            .find(|sort: &&mut Sort| sort.weight == weight && sort.members.first().is_some_and(|first| with.alike(*first, i)))
        {
            Some(sort) => sort.members.push(i),
            None => all.push(Sort { members: vec![i], weight }),
        }
    };
    for i in sets::each(first(own) & !with.usable) {
        match with.piece(i).and_then(|piece| act_for(piece, at)) {
            Some(ActKind::Check) => add(i, ACT),
            Some(_) => add(i, ACT + 2),
            None => {}
        }
    }
    for n in 0..offers.all.len() {
        add(own + n, ACT + 1);
    }
    all
}

/// How a piece aboard that is not usable can be made usable.
fn act_for(piece: &Piece, at: DateTime<Utc>) -> Option<ActKind> {
    match &piece.life {
        Life::Unknown => None,
        Life::Ends(end) | Life::AllowedUntil(end, _) if at >= *end => None,
        _ => {
            let past = piece.limits.iter().any(|limit| limit.repair_by.is_some_and(|by| at >= by));
            let only_late = piece.state == State::InService && piece.stop_use.is_none() && piece.quarantine.is_none() && !past;
            Some(if only_late { ActKind::Check } else { ActKind::PutRight })
        }
    }
}

fn mend(piece: &Piece, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Act {
    let name = format!("{}: ", faults::named(piece));
    let stops = faults::stops(piece, rules, at, voice);
    let why: Vec<&str> = stops.iter().map(|reason| reason.words.strip_prefix(&name).unwrap_or(&reason.words)).collect();
    let (act, what) = if act_for(piece, at) == Some(ActKind::Check) {
        (ActKind::Check, "do the check")
    } else {
        (ActKind::PutRight, "put right")
    };
    Act {
        act,
        piece: Some(piece.id),
        need: None,
        kind: None,
        family: None,
        words: format!("{name}{what} ({})", why.join("; ")),
    }
}
