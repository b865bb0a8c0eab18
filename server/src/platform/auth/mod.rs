//! Who acts: roles, access tokens, sign-in, sessions. It knows members only as an id, a name, a role and a reach.

mod access_link;
mod api_key;
mod credential;
mod email;
mod ended;
mod ending;
mod enrolment;
mod event;
mod half;
mod hashing;
mod kept_keys;
mod keys;
mod passkey;
mod password;
mod pin;
mod push_key;
mod role;
mod sealing;
mod second_factor;
mod secret;
mod session;
mod sign_in;
mod spent_tokens;
mod totp;
mod wait;
mod webauthn;

pub use access_link::{AccessLink, INVITE_DAYS, RESET_HOURS, find_link, link_ends, link_of, link_spent, put_link, void_link, void_links};
pub use api_key::{ApiKey, ApiKeys, KEY_PREFIX, KeptApiKey, drop_key, drop_keys, drop_keys_of, kept_api_keys, key_stands, keys_of, put_key};
pub use credential::{Credential, PasswordStamp, any_credential, credential_for, credential_of, put_credential};
pub use email::{Email, EmailFault, MOST_EMAIL_BYTES};
pub use ended::{Ended, end_of, refusal};
pub use ending::{end_all, end_but, end_device, end_every, end_one, revoke};
pub use enrolment::{Enrolment, OneTimeCode, use_enrolment};
pub use event::{AccessEvent, AccessEventKind, AskedFrom, NewEvent, events, note};
pub use half::{HALF_SECONDS, HalfSignIn, SecondHalf};
pub use hashing::{Hashing, HashingPlace};
pub use kept_keys::{KeptKey, kept_keys, revoke_keys, rotate_keys};
pub use keys::{ACCESS_SECONDS, Claims, Keys};
pub use passkey::{
    MOST_PASSKEYS, PASSKEY_SECONDS, Passkey, PasskeySignature, PasskeyTicket, PasskeyUse, forget_passkeys, passkey_owner, passkey_wrong, passkeys_of,
};
pub use password::{MOST_PASSWORD, NewPassword, check_password};
use password::{hash, is_outdated, verify};
pub use pin::{Pin, Signature, Signer, check_signature, has_pin, put_pin, signers, unlock_pin};
pub use push_key::{PushKey, push_key, push_key_is_sealed};
pub use role::{Actor, Permission, Role};
pub use sealing::SealingKey;
pub use second_factor::{RECOVERY_CODES, RightCode, factor_of, forget_factor, recovery_codes_of};
pub use secret::SecretHash;
pub use session::{NewSignIn, SessionTokens, Sessions, Which};
pub use sign_in::{LONGEST, OpenSignIn, lately_proven, open_sign_ins, still_open};
pub use spent_tokens::forget_spent;
pub use totp::{address as authenticator_address, base32};
pub use wait::{ONE_ACCOUNT, Wait};
pub use webauthn::{ALGORITHMS, RelyingParty};
