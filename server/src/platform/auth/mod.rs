//! Who acts: roles, access tokens, sign-in, sessions. It knows members only as an id, a name, a role and a reach.

mod ended;
mod enrolment;
mod keys;
mod password;
mod pin;
mod role;
mod session;

pub use ended::{Ended, end_of, refusal};
pub use enrolment::{Enrolment, use_enrolment};
pub use keys::{ACCESS_SECONDS, Claims, Keys};
pub use password::{hash, verify};
pub use pin::{Pin, Signature, Signer, check_signature, put_pin, signers, unlock_pin};
pub use role::{Actor, Permission, Role};
pub use session::{SessionTokens, Sessions, end_all, end_device, put_credential, revoke};
