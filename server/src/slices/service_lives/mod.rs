//! What runs out and when: the lives of pieces and of their parts, ahead by month. It owns nothing; the lives are those by which pieces
//! are judged (`pieces::lives`), so that nothing is planned by another date than the one on which a piece drops out. What is not on record
//! stands apart, and in no month; so does what wears with age and has no life set.

mod api;
mod rules;
mod unset;
mod view;

pub use api::routes;
pub use rules::Lacking;
pub use unset::{NoLife, NoLifeCount};
pub use view::{UnknownCount, count_unknown};
