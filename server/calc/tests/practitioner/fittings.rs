//! Rigs with other hoses, couplings and pressures than the whole set has.

use super::kit::*;
use super::scene::*;
use fullset_calc::capability::{Grade, Piece};
use fullset_calc::ratings::{Kind, Ratings};
use fullset_calc::units::Quantity;

pub fn conduits(middle: Vec<Piece>) -> Vec<Piece> {
    and(without(on_one_hose(), "HO-1"), middle)
}

/// Cutter, spreader and ram on that coupling.
pub fn tools_on(family: &str, pieces: Vec<Piece>) -> Vec<Piece> {
    pieces.into_iter().map(|p| if p.kind.is_tool() { p.coupled(family) } else { p }).collect()
}

pub fn tools_at(pressure: Quantity, pieces: Vec<Piece>) -> Vec<Piece> {
    pieces.into_iter().map(|p| if p.kind.is_tool() { p.at(pressure) } else { p }).collect()
}

pub fn as_rated(pieces: Vec<Piece>, pressure: Quantity) -> Vec<Piece> {
    let same = |p: Piece| {
        let ratings: Ratings = Ratings::clone(&p.ratings);
        if p.kind.is_tool() { p.rated_at(pressure, ratings) } else { p }
    };
    pieces.into_iter().map(same).collect()
}

pub fn ends(tag: &str, near: &str, far: &str) -> Piece {
    hose(tag, 10.0).coupled(near).wired(|h| h.tool_coupling = Some(far.into()))
}

/// Any two tools at once.
pub fn two_at_once() -> fullset_calc::capability::Grades {
    own(Grade {
        tools_at_once: 2,
        ..grade(vec![
            need("cut", vec![vec![part(&[Kind::Cutter])]]),
            need("spread", vec![vec![part(&[Kind::Spreader])]]),
        ])
    })
}

pub fn foreign_reel() -> Vec<Piece> {
    let reel = hose("HO-1", 10.0).but(|p| p.fixed_to = Some(id("PU-2")));
    and(conduits(vec![reel]), [pump("PU-2", 1).out()])
}
