//! What a rig could do with one piece more or less: the question behind every stand-in. The rig page, the offers and the swap
//! itself ask it here.

use super::assess::{Answer, answer};
use super::board::Board;
use super::gaps::Asking;
use super::input::{Piece, Rig, Rules};
use super::wire::{GapIn, Level, Near, NearCode};
use super::words::Voice;
use crate::hookup::{Fluid, Hookup, Mates};
use crate::ratings::Kind;
use crate::sets;
use chrono::{DateTime, Utc};
use uuid::Uuid;

/// Whether one piece would serve one need or slot on a rig, with every reason against it.
#[derive(Debug, Clone, PartialEq)]
pub struct Fit {
    /// Whether the piece, put aboard, could serve there on its own merits: usable, of the kind, rated, driven.
    pub serves: bool,
    /// The three answers with it aboard.
    pub with: Answer,
    /// What speaks against it, as for a near miss.
    pub near: Vec<Near>,
    /// Whether connecting it would mix fluids. That is never done, whoever orders it.
    pub mixes_fluids: bool,
}

/// The rig with one piece more.
#[must_use]
pub fn with_piece(rig: &Rig<'_>, extra: &Piece, rules: &Rules, at: DateTime<Utc>) -> Answer {
    answer(rig, &Board::of(rig, others(rig, extra.id).chain([extra]), rules, at))
}

/// The rig with one piece less: what a donor rig would be left with.
#[must_use]
pub fn without_piece(rig: &Rig<'_>, id: Uuid, rules: &Rules, at: DateTime<Utc>) -> Answer {
    answer(rig, &Board::of(rig, others(rig, id), rules, at))
}

/// Whether a piece, put aboard, could serve a need of a grade, or a slot of the list. What is not there is not served.
#[must_use]
pub fn fits(place: (GapIn, &str), grade: Level, piece: &Piece, rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Fit {
    let board = Board::of(rig, others(rig, piece.id).chain([piece]), rules, at);
    let asking = Asking { board: &board, at, voice };
    let found = board.position(piece.id);
    let near = found.map_or_else(Vec::new, |i| match place {
        (GapIn::Slot, id) => against_slot(&asking, id, i, piece),
        (GapIn::Need, id) => {
            let near = against_need(&asking, grade, id, i, piece);
            if !near.is_empty() && lets_run(rig, &board, (grade, id), i, at) {
                Vec::new()
            } else {
                near
            }
        }
    });
    let mixes_fluids = mixes(&board, piece);
    Fit {
        serves: found.is_some() && near.is_empty(),
        with: answer(rig, &board),
        near,
        mixes_fluids,
    }
}

/// Whether a piece that is meant for nothing in particular would be of use on a rig.
#[must_use]
pub fn fits_anywhere(piece: &Piece, rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>, voice: &Voice<'_>) -> Fit {
    let board = Board::of(rig, others(rig, piece.id).chain([piece]), rules, at);
    let stops = super::faults::stops(piece, rules, at, voice).into_iter().map(super::gaps::from_reason);
    let mut near: Vec<Near> = stops.collect();
    if near.is_empty()
        && let Some(i) = board.position(piece.id)
        && piece.kind.is_tool()
        && board.of_use(board.reach(), board.usable) & sets::one(i) == 0
    {
        near = super::hookups::why_not_driven(&board, i, piece, board.usable, (at, voice));
    }
    Fit {
        serves: near.is_empty(),
        with: answer(rig, &board),
        mixes_fluids: mixes(&board, piece),
        near,
    }
}

/// The level that is spoken of for a rig: the expected one, full where none is set; the one reached where that is higher.
#[must_use]
pub fn target(rig: &Rig<'_>, rules: &Rules, at: DateTime<Utc>) -> Level {
    let board = Board::new(rig, rules, at);
    super::assess::target(rig, &board, answer(rig, &board).level)
}

/// Whether a piece, put aboard, would run there with what is aboard, or make something there run.
#[must_use]
pub fn is_of_use(rig: &Rig<'_>, piece: &Piece, rules: &Rules, at: DateTime<Utc>) -> bool {
    let board = Board::of(rig, others(rig, piece.id).chain([piece]), rules, at);
    let bit = board.position(piece.id).map_or(0, sets::one);
    board.usable & board.of_use(board.reach(), board.usable) & bit != 0
}

fn nowhere(piece: &Piece) -> Vec<Near> {
    vec![super::gaps::near(piece, NearCode::NoneAboard, "nothing of this kind is asked for there")]
}

fn against_slot(asking: &Asking<'_, '_>, id: &str, i: usize, piece: &Piece) -> Vec<Near> {
    let board = asking.board;
    let Some(slot) = board.slots.iter().find(|slot| slot.id == id && slot.kinds.contains(&piece.kind)) else {
        return nowhere(piece);
    };
    let belong = board.belonging(sets::one(i), board.reach());
    let mut near = asking.against_slot(slot, i, piece, belong);
    if near.is_empty() && piece.kind.is_tool() && board.of_use(board.reach(), board.usable) & sets::one(i) == 0 {
        // A stand-in that would not run is none, unless it is a part that is missing beside it.
        let why = super::hookups::why_not_driven(board, i, piece, board.usable, (asking.at, asking.voice));
        let own = why
            .into_iter()
            .filter(|near| near.piece == Some(piece.id) && !super::hookups::lies_beside(near.code));
        near.extend(own);
    }
    near.retain(|near| near.code != NearCode::NeededElsewhere);
    near
}

/// Of the parts of the need that ask for its kind, the one that least speaks against.
fn against_need(asking: &Asking<'_, '_>, grade: Level, id: &str, i: usize, piece: &Piece) -> Vec<Near> {
    let board = asking.board;
    let Some(grade) = board.grade(grade) else { return nowhere(piece) };
    let need = grade.grade.needs.iter().position(|need| need.id == id);
    grade
        .parts
        .iter()
        .filter(|part| Some(part.need) == need && part.part.kinds.contains(&piece.kind))
        .map(|part| {
            let mut near = asking.against_part(grade, part, i, piece, board.reach());
            near.retain(|near| near.code != NearCode::NeededElsewhere);
            near
        })
        .min_by_key(Vec::len)
        .unwrap_or_else(|| nowhere(piece))
}

/// A thing that fluid runs in, as far as it matters for mixing.
#[derive(Debug, Clone, Copy)]
pub struct Wet<'a> {
    /// What it is.
    pub kind: Kind,
    /// How it is hooked up.
    pub hookup: &'a Hookup,
}

impl Wet<'_> {
    fn fluid(&self) -> Option<Fluid> {
        let runs = self.kind.is_source() || self.kind.is_tool() || self.kind.is_conduit();
        self.hookup.fluid.filter(|_| runs)
    }

    fn ends(&self) -> impl Iterator<Item = &str> {
        let own = [self.hookup.coupling.as_deref(), self.hookup.tool_coupling.as_deref()];
        own.into_iter()
            .flatten()
            .chain(self.hookup.outlets.iter().map(|outlet| outlet.coupling.as_str()))
    }
}

/// Whether two things that could be joined hold different fluids. What is not known is not held against them.
#[must_use]
pub fn would_mix(one: Wet<'_>, other: Wet<'_>, mates: &Mates) -> bool {
    let (Some(a), Some(b)) = (one.fluid(), other.fluid()) else { return false };
    a != b && one.ends().any(|end| other.ends().any(|far| mates.mate(end, far)))
}

/// Whether a source, hose, adapter or pack is what a need lacks: looked at alone, it is met with the piece and not without.
fn lets_run(rig: &Rig<'_>, with: &Board<'_>, (grade, need): (Level, &str), i: usize, at: DateTime<Utc>) -> bool {
    let Some(piece) = with.piece(i).filter(|_| with.usable & sets::one(i) != 0) else {
        return false;
    };
    let beside = piece.kind.is_source() || piece.kind.is_conduit() || piece.kind == Kind::Battery;
    let met = |board: &Board<'_>, alive| {
        let fit = board.grade(grade)?;
        let need = fit.grade.needs.iter().position(|known| known.id == need)?;
        Some(board.is_met_alone_with(fit, need, alive))
    };
    beside && met(with, with.usable) == Some(true) && {
        let without = Board::of(rig, others(rig, piece.id), with.rules, at);
        met(&without, without.usable) == Some(false)
    }
}

/// Whether something aboard that it could be joined to holds another fluid than it does.
fn mixes(board: &Board<'_>, piece: &Piece) -> bool {
    fn wet(piece: &Piece) -> Wet<'_> {
        Wet {
            kind: piece.kind,
            hookup: &piece.hookup,
        }
    }
    let mut others = board.pieces.iter().filter(|other| other.id != piece.id);
    others.any(|other| would_mix(wet(piece), wet(other), &board.rules.mates))
}

fn others<'a>(rig: &Rig<'a>, id: Uuid) -> impl Iterator<Item = &'a Piece> {
    rig.pieces.iter().filter(move |piece| piece.id != id)
}
