//! Models: catalogue entries. What a tool is rated for is said once here, each rating with its standard and edition.
//!
//! Adding, editing and the import make a model in one way, `rules::model`: its couplings are names of the agency's list, a
//! figure that cannot be is refused, an unusual one is warned of. What a piece costs to buy stands beside them; nothing is judged by it.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Model, ModelId, ModelPrice, ModelWarning};
pub use rules::{Draft, model, sourced, warnings};
