//! What to buy next, and what it brings.

use super::Stock;
use super::pipeline::{Ladder, check};
use crate::amount::{float, percent, whole};
use crate::unfit::Unfit;
use serde::{Deserialize, Serialize};
use std::iter::Peekable;
use uuid::Uuid;

/// Points of a curve at most.
const MOST: usize = 10_000;

/// Pieces that can take each other's slots.
#[derive(Debug, Clone, PartialEq)]
pub struct Family {
    /// Id by which the caller names the family; the curve names it by the same.
    pub id: Uuid,
    /// As said in words: "cutters, twin line".
    pub name: String,
    /// Mean number of pieces away, see [`super::pipeline`].
    pub mean_away: f64,
    /// How many spares the family has before anything is bought.
    pub spares: usize,
    /// Price of one more, in the agency's money; above 0.
    pub price: f64,
    /// What one waiting slot of it counts against one of another.
    pub weight: f64,
}

/// One more piece.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Bought {
    /// The family that gets one more piece.
    pub family: Uuid,
    /// Money spent so far, this piece included.
    pub spent: f64,
    /// Weighted shortage that this piece takes away.
    pub takes_away: f64,
    /// Weighted shortage of all families that is left.
    pub shortage: f64,
    /// What the spares of its family do from now on.
    pub stock: Stock,
    /// True: no stock for as much money has less shortage. False: bought with money that was too little for a better one.
    pub is_best: bool,
    /// The same in a sentence for people.
    pub words: String,
}

/// The buying curve.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Curve {
    /// Weighted shortage before anything is bought.
    pub before: f64,
    /// What to buy, best return first.
    pub buy: Vec<Bought>,
    /// Money spent in all, in the currency of the budget.
    pub spent: f64,
    /// Weighted shortage with all that bought.
    pub shortage: f64,
    /// No stock for the budget has less shortage than this.
    pub shortage_bound: f64,
    /// True when no stock for the budget has less shortage.
    pub proved: bool,
    /// False when the curve was cut off at its greatest length before the budget was spent.
    pub whole: bool,
}

struct Shelf<'a> {
    family: &'a Family,
    price: i64,
    ladder: Peekable<Ladder>,
    now: Stock,
}

impl Shelf<'_> {
    /// Weighted shortage that the next piece takes away.
    fn next_takes(&mut self) -> f64 {
        self.ladder
            .peek()
            .map_or(0.0, |next| (self.now.shortage - next.shortage).max(0.0) * self.family.weight)
    }
}

/// Buys by return until the budget is spent or nothing is worth it.
///
/// # Errors
/// A mean, price, weight or budget that is no number or below 0, or a price of nothing.
pub fn curve(families: &[Family], budget: f64) -> Result<Curve, Unfit> {
    let mut left = whole(budget, "the budget")?;
    let budget = left;
    let mut shelves = Vec::with_capacity(families.len());
    for family in families {
        check(family.mean_away)?;
        whole(family.weight, &format!("the weight of {}", family.name))?;
        let price = whole(family.price, &format!("the price of {}", family.name))?;
        if price == 0 {
            return Err(Unfit::new("price", format!("{} cost nothing: give a price above 0", family.name)));
        }
        let mut ladder = Ladder::new(family.mean_away).skip_to(family.spares);
        let Some(now) = ladder.next() else { continue };
        shelves.push(Shelf { family, price, ladder, now });
    }
    let total = |shelves: &[Shelf<'_>]| shelves.iter().map(|s| s.now.shortage * s.family.weight).sum::<f64>();
    let before = total(&shelves);
    let (mut buy, mut best_so_far, mut bound) = (Vec::new(), true, None);
    while buy.len() < MOST {
        // The best return there is; and the best that can be paid.
        let (mut any, mut paid) = (0.0, None);
        for (at, shelf) in shelves.iter_mut().enumerate() {
            let per_price = shelf.next_takes() / float(shelf.price);
            any = f64::max(any, per_price);
            if shelf.price <= left && per_price > 0.0 && paid.is_none_or(|(best, _)| per_price > best) {
                paid = Some((per_price, at));
            }
        }
        let shortage = total(&shelves);
        if best_so_far && paid.is_none_or(|(best, _)| any > best) {
            // All money that is left could at most bring the best return there is.
            best_so_far = false;
            bound = Some((shortage - any * float(left)).max(0.0));
        }
        let Some((_, at)) = paid else { break };
        let Some(shelf) = shelves.get_mut(at) else { break };
        let takes_away = shelf.next_takes();
        let Some(next) = shelf.ladder.next() else { break };
        shelf.now = next;
        left -= shelf.price;
        let family = shelf.family;
        let words = format!(
            "One more of {}: {} spare{}, a spare on the shelf for {} of failures, no slot waiting {} of the time.",
            family.name,
            next.spares,
            if next.spares == 1 { "" } else { "s" },
            percent(next.fill_rate),
            percent(next.ready_rate)
        );
        buy.push(Bought {
            family: family.id,
            spent: crate::amount::real(budget - left),
            takes_away,
            shortage: total(&shelves),
            stock: next,
            is_best: best_so_far,
            words,
        });
    }
    let shortage = total(&shelves);
    let bound = bound.unwrap_or(shortage).min(shortage);
    Ok(Curve {
        before,
        spent: crate::amount::real(budget - left),
        shortage,
        shortage_bound: bound,
        proved: shortage - bound <= shortage.abs() * 1e-12,
        whole: buy.len() < MOST,
        buy,
    })
}

impl Ladder {
    /// From a number of spares on.
    fn skip_to(mut self, spares: usize) -> Peekable<Self> {
        for _ in 0..spares.min(MOST) {
            self.next();
        }
        self.peekable()
    }
}
