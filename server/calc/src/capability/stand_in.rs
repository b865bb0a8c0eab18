//! What a rig could do with one piece more or less: the question behind every stand-in.

use super::assess::{Answer, answer};
use super::board::Board;
use super::gaps;
use super::input::{Piece, Policy, Rig};
use super::wire::{Level, Near};
use super::words::Voice;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// What a further piece would do for a rig.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct WithPiece {
    /// The level with it.
    pub level: Level,
    /// Tools at once with it.
    pub simultaneous: u32,
    /// The slot that it would fill itself; `None`: it would only be a spare, or a hose behind the scenes.
    pub fills: Option<String>,
    /// Slots that are empty now and would be filled, in the order of the complement: with a hose these may be several.
    pub newly_filled: Vec<String>,
    /// The piece in each slot.
    pub filled: Vec<Option<Uuid>>,
}

/// Whether one piece would fill one slot on a rig, with every reason against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Whether the piece, put aboard, could fill the slot on its own merits: usable, of the kind, rated, hooked up.
    pub fits: bool,
    /// The level with it aboard.
    pub level: Level,
    /// What speaks against it, as for a near miss.
    pub near: Vec<Near>,
}

/// The rig with one piece more.
#[must_use]
pub fn with_piece(rig: &Rig<'_>, extra: &Piece, policy: &Policy, at: DateTime<Utc>) -> WithPiece {
    let before = answer(rig, &Board::new(rig, policy, at));
    let after = answer(rig, &Board::of(rig, others(rig, extra.id).chain([extra]), policy, at));
    let slots = rig.complement.map_or(&[][..], |c| c.slots.as_slice());
    let named = |i: usize| slots.get(i).map(|slot| slot.id.clone());
    let fills = after.filled.iter().position(|piece| *piece == Some(extra.id)).and_then(named);
    let newly = before
        .filled
        .iter()
        .zip(after.filled.iter())
        .enumerate()
        .filter(|(_, (b, a))| b.is_none() && a.is_some());
    WithPiece {
        level: after.level,
        simultaneous: after.simultaneous,
        fills,
        newly_filled: newly.filter_map(|(i, _)| named(i)).collect(),
        filled: after.filled,
    }
}

/// The rig with one piece less: what a donor rig would be left with.
#[must_use]
pub fn without_piece(rig: &Rig<'_>, id: Uuid, policy: &Policy, at: DateTime<Utc>) -> Answer {
    answer(rig, &Board::of(rig, others(rig, id), policy, at))
}

/// Whether a piece, put aboard, could fill that slot on its own merits. An unknown slot fits nothing.
///
/// The rig's system is the one that would be chosen with the piece aboard.
#[must_use]
pub fn fits(slot: &str, piece: &Piece, rig: &Rig<'_>, policy: &Policy, at: DateTime<Utc>, voice: &Voice<'_>) -> Fit {
    let board = Board::of(rig, others(rig, piece.id).chain([piece]), policy, at);
    let after = answer(rig, &board);
    let slot = board.slots.iter().position(|s| s.id == slot);
    let (fits, near) = slot.map_or((false, Vec::new()), |slot| gaps::verdict(&board, slot, piece, policy, at, voice));
    Fit {
        fits,
        level: after.level,
        near,
    }
}

fn others<'a>(rig: &Rig<'a>, id: Uuid) -> impl Iterator<Item = &'a Piece> {
    rig.pieces.iter().filter(move |piece| piece.id != id)
}
