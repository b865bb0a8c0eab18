//! Pieces with nothing wrong in themselves.

use super::dice::Dice;
use super::worlds::{Sort, now, piece};
use chrono::Duration;
use fullset_calc::capability::{DueCheck, Life, Overdue, Piece, State};
use proptest::prelude::*;

/// A piece that is sound in itself; whether anything aboard fits it is another matter.
pub fn sound_piece() -> impl Strategy<Value = Piece> {
    prop::collection::vec(any::<u8>(), 28).prop_map(|row| {
        let mut piece = piece(&mut Dice::new(&row), 90, row.last().is_some_and(|last| *last < 128), Sort::Steady);
        make_sound(&mut piece);
        piece
    })
}

pub fn make_sound(piece: &mut Piece) {
    (piece.state, piece.stop_use, piece.quarantine, piece.life) = (State::InService, None, None, Life::None);
    (piece.limits, piece.used_unchecked, piece.untried_since) = (Vec::new(), None, None);
    let (name, due, overdue) = ("annual service".into(), Some(now() + Duration::days(90)), Overdue::AgencyGrace);
    piece.checks = vec![DueCheck { name, due, overdue }];
}
