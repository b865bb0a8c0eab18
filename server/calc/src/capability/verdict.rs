//! "May I use it?" for one piece. The same rules as for the rig, in a fixed order: no; not on this rig; cannot be confirmed;
//! yes, with limit; yes. *In service* alone is never a yes.

use super::board::{Board, line_rules, own_packs};
use super::faults;
use super::holds;
use super::input::{Life, Piece, Rig, Rules};
use super::reason::{PieceAnswer, Reason, ReasonCode, Verdict};
use super::words::Voice;
use crate::hookup::Reach;
use crate::ratings::Kind;
use crate::sets::{self, Set};
use chrono::{DateTime, Utc};
use std::collections::BTreeMap;
use uuid::Uuid;

/// The most reasons that an answer gives.
const MOST_REASONS: usize = 40;
/// The most instants at which something aboard must no longer be used that are looked at.
const MOST_TURNS: usize = 32;

/// What the rig makes of a piece.
#[derive(Default)]
struct Here<'p> {
    /// Why it cannot run there.
    why_not: Option<String>,
    /// The first instant from which it does not run there any more, because the piece that is named must no longer be used.
    until: Option<(DateTime<Utc>, &'p str)>,
}

/// The answer for a piece that is on no rig.
#[must_use]
pub fn verdict(piece: &Piece, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> PieceAnswer {
    let own_pack = own_packs(rules, &[piece], false) != 0;
    answer(piece, own_pack, Here::default(), rules, at, voice)
}

/// The answers for every piece aboard a rig, in the order in which they were handed in.
#[must_use]
pub fn verdicts(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<(Uuid, PieceAnswer)> {
    let board = Board::new(rig, rules, at);
    of_board(rig, &board, at, voice)
}

pub(super) fn of_board(rig: &Rig<'_>, board: &Board<'_>, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<(Uuid, PieceAnswer)> {
    let runs_until = runs_until(board, at);
    rig.pieces
        .iter()
        .map(|piece| {
            let here = board.position(piece.id);
            let own_pack = here.is_some_and(|i| board.own_pack & sets::one(i) != 0);
            let needs_others = here.filter(|i| needs_others(board, *i, piece));
            let of_rig = Here {
                why_not: needs_others
                    .filter(|i| !runs(board, *i, piece, (board.usable, board.reach())))
                    .map(|i| why_not(board, i, piece, (at, voice))),
                until: needs_others.and_then(|i| runs_until.get(&i).copied()),
            };
            (piece.id, answer(piece, own_pack, of_rig, board.rules, at, voice))
        })
        .collect()
}

/// For each piece that runs here, when it stops because another must no longer be used. Past `MOST_TURNS` the next instant
/// stands for all that are left: earlier than needed, and never later.
fn runs_until<'a>(board: &Board<'a>, at: DateTime<Utc>) -> BTreeMap<usize, (DateTime<Utc>, &'a str)> {
    let usable = || sets::each(board.usable).filter_map(|i| Some((i, board.piece(i)?)));
    let lapse = |(i, piece): (usize, &'a Piece)| Some((holds::lapses(piece, &board.rules.policy)?, piece.tag.as_str(), i));
    let mut turns: Vec<_> = usable().filter(|(_, piece)| needs_company(piece.kind)).filter_map(lapse).collect();
    turns.retain(|(turn, ..)| *turn > at);
    turns.sort_unstable();
    // One of unknown age is told what it would run with, so it waits too.
    let all = board
        .pieces
        .iter()
        .enumerate()
        .filter(|(i, piece)| board.usable & sets::one(*i) != 0 || piece.life == Life::Unknown);
    let mut waiting: Vec<(usize, &Piece)> = all.map(|(i, piece)| (i, *piece)).filter(|(i, piece)| needs_others(board, *i, piece)).collect();
    waiting.retain(|(i, piece)| runs(board, *i, piece, (board.usable, board.reach())));
    let mut until = BTreeMap::new();
    let mut left = board.usable;
    for (n, same) in turns.chunk_by(|a, b| a.0 == b.0).enumerate() {
        let Some((turn, tag, _)) = same.first().copied() else { continue };
        left = same.iter().fold(left, |left, (.., i)| left & !sets::one(*i));
        waiting.retain(|(i, _)| same.iter().all(|(.., lapsed)| lapsed != i));
        if waiting.is_empty() {
            break;
        }
        let reach = board.lines.reach(left);
        let last = n == MOST_TURNS;
        waiting.retain(|(i, piece)| {
            let goes_on = !last && runs(board, *i, piece, (left, &reach));
            if !goes_on {
                until.insert(*i, (turn, tag));
            }
            goes_on
        });
    }
    until
}

fn needs_others(board: &Board<'_>, i: usize, piece: &Piece) -> bool {
    needs_company(piece.kind) && board.own_pack & sets::one(i) == 0
}

/// Whether the piece, if it may be used, does something here with what is usable and what that reaches. Of one whose age is
/// unknown that is asked as if it might be used.
fn runs(board: &Board<'_>, i: usize, piece: &Piece, (usable, reach): (Set, &Reach)) -> bool {
    let bit = sets::one(i);
    let anew;
    let reach = if usable & bit != 0 {
        reach
    } else if piece.life == Life::Unknown {
        anew = board.lines.reach(usable | bit);
        &anew
    } else {
        return true;
    };
    let below = reach.below(i) != 0 && !piece.rated_at.is_empty();
    if piece.kind == Kind::Battery {
        // A pack fills a slot of the list beside a tool that is out of use; it drives nothing there.
        return sets::each(board.lines.tools & usable).any(|tool| board.lines.packs_of(tool) & bit != 0);
    }
    below || board.of_use(reach, usable | bit) & bit != 0
}

const fn needs_company(kind: Kind) -> bool {
    kind.is_source() || kind.is_tool() || kind.is_conduit() || matches!(kind, Kind::Battery)
}

/// Why a usable piece cannot run on its rig.
fn why_not(board: &Board<'_>, i: usize, piece: &Piece, speak: (DateTime<Utc>, &Voice<'_>)) -> String {
    if piece.kind.is_tool() {
        let mut parts = super::hookups::why_not_driven(board, i, piece, board.usable | sets::one(i), speak);
        parts.truncate(4);
        if !parts.is_empty() {
            return parts.into_iter().map(|near| near.words).collect::<Vec<_>>().join("; ");
        }
    }
    let text = match piece.kind {
        Kind::Battery => "no usable battery tool of its family is aboard",
        kind if kind.is_source() => "no usable hose aboard fits it",
        Kind::Adapter if !line_rules(board.rules).adapters => "the agency does not allow adapters",
        _ => "no usable source aboard feeds it",
    };
    format!("{}: {text}", faults::named(piece))
}

fn answer(piece: &Piece, own_pack: bool, here: Here<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> PieceAnswer {
    let stops = faults::stops(piece, rules, at, voice);
    if !stops.is_empty() {
        // Time alone takes none of these away.
        return told(piece, Verdict::No, stops, None);
    }
    let mut reasons = Vec::new();
    let mut verdict = Verdict::Yes;
    let mut lower = |to: Verdict, more: Vec<Reason>, all: &mut Vec<Reason>| {
        if !more.is_empty() {
            verdict = verdict.min(to);
            all.extend(more);
        }
    };
    let cannot = here.why_not.map(|words| Reason {
        piece: Some(piece.id),
        code: ReasonCode::CannotRunHere,
        words,
        since: None,
    });
    lower(Verdict::NotOnThisRig, cannot.into_iter().collect(), &mut reasons);
    lower(Verdict::CannotBeConfirmed, faults::doubts(piece, own_pack, rules, at, voice), &mut reasons);
    lower(Verdict::YesWithLimit, faults::limits(piece, at, voice), &mut reasons);
    reasons.extend(faults::looser_rules(piece, at));
    let own = holds::next(std::slice::from_ref(piece), &rules.policy, at);
    let holds_until = match (own, here.until) {
        (Some(own), Some((until, _))) if own.at <= until => Some((own.at, own.words())),
        (Some(own), None) => Some((own.at, own.words())),
        (_, Some((until, tag))) => Some((until, format!("it runs with {tag}, which must not be used any more then"))),
        (None, None) => None,
    };
    told(piece, verdict, reasons, holds_until)
}

fn told(piece: &Piece, verdict: Verdict, mut reasons: Vec<Reason>, holds_until: Option<(DateTime<Utc>, String)>) -> PieceAnswer {
    let (holds_until, holds_until_why) = holds_until.unzip();
    reasons.truncate(MOST_REASONS);
    PieceAnswer {
        verdict,
        reasons,
        last_check: piece.last_check,
        holds_until,
        holds_until_why,
    }
}
