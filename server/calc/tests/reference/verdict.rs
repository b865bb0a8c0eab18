//! "May I use it?" for a piece on no rig, in the order of design 4.3a.

use super::lines::Way;
use super::{Judge, counts_from, is_source, is_tool, same};
use chrono::{DateTime, Utc};
use fullset_calc::capability::{Batteries, Life, Piece, ReasonCode, Rules, State, Verdict};
use fullset_calc::ratings::Kind;

/// The verdict and its first reason; a plain yes has none. `None` where the design does not say: an allowance of an unknown age
/// that has run out is no yes, and is called neither an ended life nor an unknown age.
pub fn verdict(piece: &Piece, rules: &Rules, at: DateTime<Utc>) -> Option<(Verdict, Option<ReasonCode>)> {
    if matches!(&piece.life, Life::AllowedUntil(end, _) if at >= *end) {
        return None;
    }
    let no = [
        (matches!(piece.state, State::OutOfService { .. }), ReasonCode::OutOfService),
        (matches!(piece.state, State::Missing { .. }), ReasonCode::Missing),
        (piece.stop_use.is_some(), ReasonCode::StopUse),
        (matches!(piece.life, Life::Ends(end) if at >= end), ReasonCode::LifeEnded),
        (piece.quarantine.is_some(), ReasonCode::Quarantined),
        (overdue_beyond_grace(piece, rules, at), ReasonCode::CheckOverdue),
        (
            piece.limits.iter().any(|limit| limit.repair_by.is_some_and(|by| at >= by)),
            ReasonCode::RepairByPast,
        ),
    ];
    let doubts = [
        (piece.life == Life::Unknown, ReasonCode::AgeUnknown),
        (piece.checks.iter().any(|check| check.due.is_none()), ReasonCode::CheckDateUnknown),
        (is_tool(piece.kind) && piece.ratings.is_empty(), ReasonCode::RatingUnknown),
        (hookup_unknown(piece), ReasonCode::HookupUnknown),
        (piece.used_unchecked.is_some(), ReasonCode::UsedUnchecked),
        (piece.untried_since.is_some(), ReasonCode::NotTried),
        (
            piece.checks.iter().any(|check| check.due.is_some_and(|due| at >= due)),
            ReasonCode::OverdueInGrace,
        ),
        (piece.checks.is_empty(), ReasonCode::NoPlan),
        (own_pack(piece, rules), ReasonCode::PackNotOnRecord),
        (matches!(piece.life, Life::AllowedUntil(..)), ReasonCode::AgeAllowed),
    ];
    let first = |list: &[(bool, ReasonCode)]| list.iter().find(|(holds, _)| *holds).map(|(_, code)| *code);
    Some(match (first(&no), first(&doubts), piece.limits.is_empty()) {
        (Some(code), _, _) => (Verdict::No, Some(code)),
        (None, Some(code), _) => (Verdict::CannotBeConfirmed, Some(code)),
        (None, None, false) => (Verdict::YesWithLimit, Some(ReasonCode::OpenDefect)),
        (None, None, true) => (Verdict::Yes, None),
    })
}

fn overdue_beyond_grace(piece: &Piece, rules: &Rules, at: DateTime<Utc>) -> bool {
    piece.checks.iter().filter_map(|check| counts_from(check, &rules.policy)).any(|from| at >= from)
}

/// Whether nobody wrote down how it is hooked up: coupling, fluid and pressure of what carries fluid, the family of a pack.
fn hookup_unknown(piece: &Piece) -> bool {
    let hookup = &piece.hookup;
    let wet = hookup.coupling.is_some() && hookup.fluid.is_some() && hookup.pressure.is_some();
    match piece.kind {
        Kind::Battery => hookup.battery.is_none(),
        Kind::Charger | Kind::Accessory => false,
        kind if is_tool(kind) => hookup.battery.is_none() && !wet,
        _ => !wet,
    }
}

fn own_pack(piece: &Piece, rules: &Rules) -> bool {
    let Some(family) = piece.hookup.battery.as_ref().filter(|_| is_tool(piece.kind)) else {
        return false;
    };
    match rules.policy.batteries {
        Batteries::WithTool => true,
        Batteries::AsPieces => false,
        Batteries::WhereOnRecord => !rules.packs_on_record.iter().any(|known| same(known, family)),
    }
}

/// Whether a piece can run with what is aboard and usable, taking the piece itself as sound; `None` where the design does not
/// say, or says it in another place of the order.
pub fn runs_here(pieces: &[Piece], subject: usize, rules: &Rules, at: DateTime<Utc>) -> Option<bool> {
    let mut pieces = pieces.to_vec();
    super::sound::make_sound(&mut pieces[subject]);
    let piece = &pieces[subject];
    if hookup_unknown(piece) || rules.policy.batteries == Batteries::WithTool {
        return None;
    }
    let judge = Judge::new(&pieces, rules, at);
    let kind = piece.kind;
    if is_tool(kind) {
        let ways: Vec<_> = judge.ways().into_iter().filter(|(tool, _)| *tool == subject).collect();
        if ways.iter().any(|(tool, way)| judge.ratings_by(*tool, way).is_some()) {
            return Some(true);
        }
        // Fed below its rated pressure it meets nothing; whether that is called running is left open here.
        return ways.is_empty().then_some(false);
    }
    if is_source(kind) || kind.is_conduit() {
        let part = |line: &super::lines::Line| line.source == subject || line.conduits.contains(&subject);
        return judge.lines().iter().any(part).then_some(true);
    }
    if kind == Kind::Battery {
        let served = |way: &Way| matches!(way, Way::Pack(family) if piece.hookup.battery.as_ref().is_some_and(|has| same(has, family)));
        return Some(judge.ways().iter().any(|(_, way)| served(way)));
    }
    Some(true)
}
