//! The fewest acts that bring a rig to the level it should have.
//!
//! Acts that are thought of:
//! - *put the rig back* when it is out of service itself;
//! - *check*: do all overdue checks of a piece that nothing else is held against;
//! - *put right* a piece aboard that is out of service, missing, under a notice or past its repair date, or that an open defect
//!   keeps from a rating. A piece whose life has ended, or whose age is unknown, cannot be put right;
//! - *put aboard* a piece that just does: a tool for a part of a need, on a family and pressure that are aboard; a further source,
//!   hose, adapter or pack of such a family.
//!
//! Fewest acts win; among equally many those with the more checks and then the more pieces put aboard rather than put right (a
//! repair takes longest); then lowest number. Whether a set does is asked of the level itself, so what is proposed works.

mod again;
mod families;
mod offers;
pub(super) mod search;

use super::act::{Act, ActKind};
use super::board::{Board, carries_packs, own_packs};
use super::faults;
use super::input::{Life, Piece, Rig, Rules, State};
use super::reason::Reason;
use super::wire::Level;
use super::words::Voice;
use crate::sets::{self, Set};
pub(super) use again::runs_again;
use chrono::{DateTime, Utc};
use offers::Offers;
use search::{Attempts, Sort};

/// Sets of acts that are asked of the level at most; what was found by then works, but is not shown to be smallest.
const TRIES: usize = 400;

/// Steps of work that are spent on asking; a usual rig takes some thousands.
const WORK: usize = 300_000;

/// One act more outweighs any preference between kinds.
const ACT: u32 = 1000;

pub(super) struct Mended {
    pub acts: Vec<Act>,
    /// Whether no smaller set of these acts does, for certain.
    pub is_smallest: bool,
}

/// The acts for a rig that stands at `level`, up to `target`.
pub(super) fn smallest(rig: &Rig<'_>, board: &Board<'_>, target: Level, level: Level, at: DateTime<Utc>, voice: &Voice<'_>) -> Mended {
    let nothing = |is_smallest| Mended { acts: Vec::new(), is_smallest };
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
    let whole = Rig { out_of_service: None, ..*rig };
    let offers = Offers::new(board, target, at);
    let pieces = board.pieces.iter().copied().chain(offers.all.iter().map(|offer| &offer.piece));
    let mut with = Board::of(&whole, pieces, board.rules, at);
    // Packs that are thought of put no other tool's pack on record.
    with.own_pack = own_packs(board.rules, &with.pieces, carries_packs(&board.pieces));
    let with = with;
    let own = board.pieces.len();
    let aboard = with.usable & first(own);
    if with.holds(aboard, target) {
        // Without the rig out of service there would be nothing to do.
        return Mended { is_smallest: true, acts };
    }
    let sorts = sorts(&with, own, &offers, at);
    let before = with.work();
    let mut tries = Attempts::new(TRIES, &sorts, |pieces: Set| {
        let alive = offers.replaced(pieces, own).fold(aboard | pieces, |alive, of| alive & !sets::one(of));
        (with.work() - before < WORK).then(|| with.holds(alive, target))
    });
    let found = tries.cheapest();
    board.count(with.work());
    let Some(found) = found else { return nothing(false) };
    let mut chosen: Vec<(u32, usize)> = Vec::new();
    for (sort, count) in sorts.iter().zip(&found.counts) {
        chosen.extend(sort.members.iter().take(*count).map(|i| (sort.weight, *i)));
    }
    chosen.sort_unstable();
    acts.extend(chosen.into_iter().filter_map(|(_, i)| {
        let offer = i.checked_sub(own).and_then(|n| offers.all.get(n));
        match offer.map(|offer| offer.repairs) {
            None => board.piece(i).map(|piece| mend(piece, board.rules, at, voice)),
            Some(Some(of)) => board.piece(of).map(|piece| put_right(piece, board.rules, at, voice)),
            Some(None) => offer.map(|offer| offer.act(voice)),
        }
    }));
    Mended {
        acts,
        is_smallest: found.is_smallest && offers.is_whole && !with.is_cut() && board.left_out.is_empty(),
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
            .find(|sort: &&mut Sort| sort.weight == weight && sort.members.first().is_some_and(|first| with.sort_of(*first) == with.sort_of(i)))
        {
            Some(sort) => sort.members.push(i),
            None => all.push(Sort { members: vec![i], weight }),
        }
    };
    for i in sets::each(first(own) & !with.usable) {
        match with.piece(i).and_then(|piece| act_for(piece, at)) {
            Some(ActKind::Check) => add(i, ACT),
            Some(_) if !offers.repair(i) => add(i, ACT + 2),
            _ => {}
        }
    }
    for (n, offer) in offers.all.iter().enumerate() {
        add(own + n, if offer.repairs.is_some() { ACT + 2 } else { ACT + 1 });
    }
    all
}

/// How a piece aboard can be made to serve again: by its checks alone, or by putting it right. None: it cannot.
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
    if act_for(piece, at) == Some(ActKind::Check) {
        on(piece, ActKind::Check, "do the check", &faults::stops(piece, rules, at, voice))
    } else {
        put_right(piece, rules, at, voice)
    }
}

fn put_right(piece: &Piece, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Act {
    let mut why = faults::stops(piece, rules, at, voice);
    why.extend(faults::limits(piece, at, voice));
    on(piece, ActKind::PutRight, "put right", &why)
}

fn on(piece: &Piece, act: ActKind, what: &str, why: &[Reason]) -> Act {
    let name = format!("{}: ", faults::named(piece));
    let why: Vec<&str> = why.iter().map(|reason| reason.words.strip_prefix(&name).unwrap_or(&reason.words)).collect();
    Act {
        act,
        piece: Some(piece.id),
        need: None,
        kind: None,
        family: None,
        words: format!("{name}{what} ({})", why.join("; ")),
    }
}
