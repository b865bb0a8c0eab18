//! Who acts: roles, access tokens, sign-in, sessions. It knows members only as an id, a name, a role and a reach.

mod credential;
mod email;
mod ended;
mod enrolment;
mod hashing;
mod kept_keys;
mod keys;
mod password;
mod pin;
mod role;
mod sealing;
mod session;

pub use credential::{Credential, any_credential, credential_of, put_credential};
pub use email::{Email, EmailFault, MOST_EMAIL_BYTES};
pub use ended::{Ended, end_of, refusal};
pub use enrolment::{Enrolment, OneTimeCode, use_enrolment};
pub use hashing::{Hashing, HashingPlace};
pub use kept_keys::{KeptKey, kept_keys, revoke_keys, rotate_keys};
pub use keys::{ACCESS_SECONDS, Claims, Keys};
pub use password::{MOST_PASSWORD, NewPassword, check_own_words, check_password};
use password::{hash, verify};
pub use pin::{Pin, Signature, Signer, check_signature, has_pin, put_pin, signers, unlock_pin};
pub use role::{Actor, Permission, Role};
pub use sealing::SealingKey;
pub use session::{SessionTokens, Sessions, end_all, end_device, end_every, revoke};
