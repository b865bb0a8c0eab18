//! The same figures in other units.

use fullset_calc::capability::Piece;
use fullset_calc::hookup::Hookup;
use fullset_calc::ratings::{Figure, Rating, Ratings};
use fullset_calc::units::{Quantity, Unit};
use std::sync::Arc;

/// The same size in another unit.
pub fn in_unit(q: Quantity, us: bool) -> Quantity {
    use fullset_calc::units::Dimension::{Force, Length, Mass, Pressure};
    let unit = match (q.dimension(), us) {
        (Pressure, true) => Unit::Psi,
        (Pressure, false) => Unit::Megapascal,
        (Length, true) => Unit::Inch,
        (Length, false) => Unit::Centimetre,
        (Force, true) => Unit::PoundForce,
        (Force, false) => Unit::Newton,
        (Mass, true) => Unit::Pound,
        (Mass, false) => Unit::Kilogram,
        _ => q.unit,
    };
    q.to(unit).unwrap()
}

/// The same ratings in other units.
pub fn ratings_in(ratings: &Ratings, us: bool) -> Ratings {
    let other = ratings.iter().map(|(term, rating)| {
        let figure = match rating.figure {
            Figure::Quantity(q) => Figure::Quantity(in_unit(q, us)),
            other => other,
        };
        (term, Rating { figure, ..rating.clone() })
    });
    other.collect()
}

/// The same piece, its figures in other units.
pub fn rewrite(piece: &mut Piece, us: bool) {
    piece.ratings = Arc::new(ratings_in(&piece.ratings, us));
    let mut rated_at = Vec::clone(&piece.rated_at);
    for at in &mut rated_at {
        (at.pressure, at.ratings) = (in_unit(at.pressure, us), ratings_in(&at.ratings, us));
    }
    piece.rated_at = Arc::new(rated_at);
    let mut hookup = Hookup::clone(&piece.hookup);
    hookup.pressure = hookup.pressure.map(|q| in_unit(q, us));
    hookup.allowable_pressure = hookup.allowable_pressure.map(|q| in_unit(q, us));
    hookup.outlets.iter_mut().for_each(|outlet| outlet.pressure = in_unit(outlet.pressure, us));
    piece.hookup = Arc::new(hookup);
}
