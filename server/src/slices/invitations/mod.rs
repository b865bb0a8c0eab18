//! Links by which somebody who has no password sets one: who was invited, or has forgotten it.
//!
//! - The secret of a link is the client's to make, and stands behind the `#` of the address, which no server sees. The service is told its
//!   SHA-256 alone.
//! - A link serves once and until its day; a newer one, a password that was set otherwise, and letting the member go make it void. So
//!   does whatever takes from its maker what making it took: the role, the reach, the place in the agency.
//! - It sets a password and nothing else: whoever has a second factor still needs a code.

mod api;
mod ops;

pub use api::routes;
