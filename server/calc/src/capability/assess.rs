//! The whole answer, and the short one for mass recomputing.

use super::board::Board;
use super::fill::Filled;
use super::input::{Policy, Rig};
use super::wire::{Assessment, Filling, Gap, Level, Via};
use super::words::{self, Voice};
use super::{gaps, holds, margin, restore};
use crate::sets::{self, Set};
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// The short answer: what [`level`] gives.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Answer {
    /// Full, limited or none.
    pub level: Level,
    /// How many tools can run at once.
    pub simultaneous: u32,
    /// The piece in each slot, in the order of the complement.
    pub filled: Vec<Option<Uuid>>,
}

/// Level, tools at once and fillings of a rig at an instant, without reasons.
#[must_use]
pub fn level(rig: &Rig<'_>, policy: &Policy, at: DateTime<Utc>) -> Answer {
    answer(rig, &Board::new(rig, policy, at))
}

pub(super) fn answer(rig: &Rig<'_>, board: &Board<'_>) -> Answer {
    let best = board.best(board.usable);
    let at_once = board.net.at_once(board.usable);
    Answer {
        level: judged(rig, board.level(best.score, at_once)),
        simultaneous: number(at_once),
        filled: (0..board.slots.len())
            .map(|slot| best.matching.piece(slot).and_then(|p| board.piece(p)).map(|p| p.id))
            .collect(),
    }
}

/// A rig that is out of service, or for which nobody set a complement, has no capability whatever is aboard.
pub(super) fn judged(rig: &Rig<'_>, level: Level) -> Level {
    if rig.out_of_service.is_some() || rig.complement.is_none() {
        Level::None
    } else {
        level
    }
}

pub(super) fn number(n: usize) -> u32 {
    u32::try_from(n).unwrap_or(u32::MAX)
}

/// The whole answer about a rig at an instant, in the caller's voice.
///
/// `holds_until` is the first instant after `at` at which the answer would read differently if nobody did anything.
#[must_use]
pub fn assess(rig: &Rig<'_>, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Assessment {
    let board = Board::new(rig, policy, at);
    let mut answer = at_instant(rig, &board, policy, at, voice);
    answer.holds_until = holds::until(rig, &board, policy, at, voice, &answer);
    answer
}

/// The whole answer but for how long it holds.
pub(super) fn at_instant(rig: &Rig<'_>, board: &Board<'_>, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Assessment {
    let best = board.best(board.usable);
    let at_once = board.net.at_once(board.usable);
    let level = judged(rig, board.level(best.score, at_once));
    let loss = margin::of(board, level, rig.pieces.len());
    let gaps = gaps::of(board, &best, policy, at, voice);
    let mended = restore::smallest(rig, board, policy, at, voice, level);
    let id = |i: usize| board.piece(i).map(|p| p.id);
    Assessment {
        level,
        holds_until: None,
        simultaneous: number(at_once),
        simultaneous_min: number(board.simultaneous_min),
        margin: loss.margin.map(number),
        margin_at_least: loss.at_least,
        critical: sets::each(loss.critical).filter_map(id).collect(),
        fillings: fillings(board, &best),
        restore: mended.acts,
        restore_is_smallest: mended.is_smallest,
        also: also(rig, board, at_once, voice),
        remarks: remarks(rig, board, &gaps, policy, at, voice),
        gaps,
    }
}

fn fillings(board: &Board<'_>, best: &Filled) -> Vec<Filling> {
    let slotted = best.matching.used();
    let mut used: Set = 0;
    let id = |i: usize| board.piece(i).map(|p| p.id);
    // A feeder that feeds nothing yet comes first, then one that has a slot of its own.
    let choose = |among: Set, used: Set| {
        [among & !used & slotted, among & !used, among & slotted, among]
            .into_iter()
            .find_map(sets::first)
    };
    let mut all: Vec<Filling> = board
        .slots
        .iter()
        .map(|slot| Filling {
            slot: slot.id.clone(),
            piece: None,
            via: None,
        })
        .collect();
    for (i, filling) in all.iter_mut().enumerate() {
        let Some(piece) = best.matching.piece(i) else { continue };
        filling.piece = id(piece);
        let tool = sets::one(piece);
        if board.net.tools & tool == 0 || board.net.own_power & tool != 0 {
            continue;
        }
        let leads = |feeder: usize| sets::pick(&board.net.onward, feeder) & tool != 0;
        for source in sets::each(best.system).filter(|s| sets::pick(&board.net.drives, *s) & tool != 0) {
            let hoses = sets::each(sets::pick(&board.net.onward, source) & board.usable)
                .filter(|h| leads(*h))
                .fold(0, |set, h| set | sets::one(h));
            if let Some(hose) = choose(hoses, used) {
                used |= sets::one(hose);
                filling.via = id(source).zip(id(hose)).map(|(source, hose)| Via::Hose { source, hose });
                break;
            }
        }
        if filling.via.is_none() {
            let packs = sets::each(board.net.batteries & board.usable)
                .filter(|b| leads(*b))
                .fold(0, |set, b| set | sets::one(b));
            if let Some(pack) = choose(packs, used) {
                used |= sets::one(pack);
                filling.via = id(pack).map(|battery| Via::Battery { battery });
            }
        }
    }
    all
}

/// What holds the level down beside the slots.
fn also(rig: &Rig<'_>, board: &Board<'_>, at_once: usize, voice: &Voice<'_>) -> Vec<String> {
    let mut all = Vec::new();
    if let Some(notice) = rig.out_of_service {
        all.push(format!("rig out of service since {}, {}", voice.at(notice.since), notice.words));
    }
    if rig.complement.is_none() {
        all.push("no complement is set for this rig's class".to_owned());
    }
    if at_once < board.simultaneous_min {
        all.push(format!("{} can run at once, {} needed", words::tools(at_once), board.simultaneous_min));
    }
    all
}

/// What is to be known of pieces aboard without holding the level down.
fn remarks(rig: &Rig<'_>, board: &Board<'_>, gaps: &[Gap], policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Vec<String> {
    let mut all = holds::standing(rig, gaps, policy, at, voice);
    if !board.left_out.is_empty() {
        all.push(format!("{} pieces beyond the first {} are not counted", board.left_out.len(), sets::CAPACITY));
    }
    all
}
