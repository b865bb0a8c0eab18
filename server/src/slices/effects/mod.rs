//! Effects: what commands would do to the answers about rigs and pieces, worked out by doing them in a transaction that is undone.
//! Whatever raises an answer is a release: its effect is shown before it is done.

mod api;
mod view;

pub use api::{foresee, routes};
pub use view::Effects;
