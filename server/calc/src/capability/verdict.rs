//! "May I use it?" for one piece. The same rules as for the rig, in a fixed order: no; not on this rig; cannot be confirmed;
//! yes, with limit; yes. *In service* alone is never a yes.

use super::board::{Board, line_rules};
use super::faults;
use super::holds;
use super::input::{Batteries, Piece, Rig, Rules};
use super::wire::{PieceAnswer, Reason, ReasonCode, Verdict};
use super::words::Voice;
use crate::hookup::fold;
use crate::ratings::Kind;
use crate::sets;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// The most reasons that an answer gives.
const MOST_REASONS: usize = 40;

/// The answer for a piece that is on no rig.
#[must_use]
pub fn verdict(piece: &Piece, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> PieceAnswer {
    let own_pack = piece.kind.is_tool()
        && piece.hookup.battery.as_deref().is_some_and(|family| match rules.policy.batteries {
            Batteries::WithTool => true,
            Batteries::AsPieces => false,
            Batteries::WhereOnRecord => !rules.packs_on_record.iter().any(|known| fold(known) == fold(family)),
        });
    answer(piece, own_pack, None, rules, at, voice)
}

/// The answers for every piece aboard a rig, in the order in which they were handed in.
#[must_use]
pub fn verdicts(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<(Uuid, PieceAnswer)> {
    let board = Board::new(rig, rules, at);
    of_board(rig, &board, at, voice)
}

pub(super) fn of_board(rig: &Rig<'_>, board: &Board<'_>, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<(Uuid, PieceAnswer)> {
    let fit = board.of_use(board.usable);
    let reach = board.lines.reach(board.usable);
    rig.pieces
        .iter()
        .map(|piece| {
            let here = board.position(piece.id);
            let own_pack = here.is_some_and(|i| board.own_pack & sets::one(i) != 0);
            let why = here.filter(|i| board.usable & sets::one(*i) != 0).and_then(|i| {
                let low = reach.below(i) != 0 && !piece.rated_at.is_empty();
                let runs = fit & sets::one(i) != 0 || low || !needs_company(piece.kind);
                (!runs).then(|| why_not(board, i, piece, voice))
            });
            (piece.id, answer(piece, own_pack, why, board.rules, at, voice))
        })
        .collect()
}

const fn needs_company(kind: Kind) -> bool {
    kind.is_source() || kind.is_tool() || kind.is_conduit() || matches!(kind, Kind::Battery)
}

/// Why a usable piece cannot run on its rig.
fn why_not(board: &Board<'_>, i: usize, piece: &Piece, voice: &Voice<'_>) -> String {
    if piece.kind.is_tool() {
        let mut parts = super::hookups::why_not_driven(board, i, piece, board.usable, voice);
        parts.truncate(4);
        if !parts.is_empty() {
            return parts.into_iter().map(|near| near.words).collect::<Vec<_>>().join("; ");
        }
    }
    let text = match piece.kind {
        Kind::Battery => "no battery tool of its family is aboard",
        kind if kind.is_source() => "no usable hose aboard fits it",
        Kind::Adapter if !line_rules(board.rules).adapters => "the agency does not allow adapters",
        _ => "no usable source aboard feeds it",
    };
    format!("{}: {text}", faults::named(piece))
}

fn answer(piece: &Piece, own_pack: bool, not_here: Option<String>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> PieceAnswer {
    let mut reasons = faults::stops(piece, rules, at, voice);
    let mut verdict = if reasons.is_empty() { Verdict::Yes } else { Verdict::No };
    let mut lower = |to: Verdict, more: Vec<Reason>, all: &mut Vec<Reason>| {
        if !more.is_empty() {
            verdict = verdict.min(to);
            all.extend(more);
        }
    };
    let here = not_here.map(|words| Reason {
        piece: Some(piece.id),
        code: ReasonCode::CannotRunHere,
        words,
        since: None,
    });
    lower(Verdict::NotOnThisRig, here.into_iter().collect(), &mut reasons);
    lower(Verdict::CannotBeConfirmed, faults::doubts(piece, own_pack, rules, at, voice), &mut reasons);
    lower(Verdict::YesWithLimit, faults::limits(piece, at, voice), &mut reasons);
    reasons.truncate(MOST_REASONS);
    let holds_until = holds::turns(piece, &rules.policy).filter(|turn| *turn > at).min();
    PieceAnswer {
        verdict,
        reasons,
        last_check: piece.last_check,
        holds_until,
    }
}

