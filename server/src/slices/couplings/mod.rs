//! Couplings: the agency's list of coupling families. A model names one of them, never free text.
//!
//! - Two names of the list differ in more than case, blanks and hyphens, and so do their spellings.
//! - *Mates with*, said on one side, holds on both.
//! - Models carry the name of the list. Another word for a family becomes a spelling of it.

mod api;
mod feed;
mod ops;
mod rules;

pub use api::routes;
pub use feed::{Coupling, CouplingId};
pub use ops::couplings;
pub use rules::{coupling, family, list};
