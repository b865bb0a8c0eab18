//! Who acts: roles, access tokens, sign-in, sessions. It knows members only as an id, a name, a role and a reach.

mod keys;
mod password;
mod role;
mod session;

pub use keys::{ACCESS_SECONDS, Claims, Keys};
pub use password::{hash, verify};
pub use role::{Actor, Role};
pub use session::{SessionTokens, Sessions, end_all, put_credential};
