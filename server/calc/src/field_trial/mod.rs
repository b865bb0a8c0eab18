//! What a field trial comes to: several evaluators answer weighted questions about candidate tools, and measure them.
//!
//! - An evaluator's score of a candidate is the weighted mean of the answers that were given ([`score`]). A missing answer is missing: it
//!   is never nothing, and where it could turn an order it is taken either way.
//! - Over the evaluators a candidate has a median with its quartiles, its lowest and its highest ([`spread`]). Nothing is called the best.
//! - One candidate stands ahead of another only where it does so whichever one evaluator is left out ([`pairs`]), as the jackknife leaves
//!   out one observation at a time (Quenouille 1956, Biometrika 43, 353; Tukey 1958). It is used here as a look at how far one person
//!   decides the order, not as an estimate of a variance, for which it would be wrong with a median.
//! - Readings have a mean with the sample standard deviation, their lowest and their highest ([`measured`]), and make no order.
//!
//! It does not know who an evaluator is, or what a question asks.

mod measured;
mod order;
mod score;
mod spread;

pub use measured::{BetterIs, Measured, TrialMeasure, measured};
pub use order::{Judged, LEAST_FOR_ORDER, MOST_CANDIDATES, MOST_EVALUATORS, Order, Pair, Place, pairs, places};
pub use score::{HIGHEST, LOWEST, MOST_QUESTIONS, MOST_WEIGHT, Score, is_dissent, score};
pub use spread::{Spread, spread};
