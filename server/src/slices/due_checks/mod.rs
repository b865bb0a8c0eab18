//! Which checks are due, overdue and missed, piece by piece. It owns nothing: when a check is due stands in the piece's standing, and what
//! was missed is worked out from the checks that were passed. A check that was missed stays missed; the next one keeps its day.

mod api;
mod rows;
mod rules;
mod view;

pub use api::routes;
