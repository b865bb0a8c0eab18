//! A sign-in of which the first half is done: the password was right, and a code is missing, or a second factor that the agency asks for.
//! What stands for it is signed like an access token and is none: it is for another audience.

use chrono::TimeDelta;
use serde::{Deserialize, Serialize};

use super::{Credential, Keys, PasswordStamp, keys::ISSUER};
use crate::platform::{
    error::{self, Fault},
    ids::{AgencyId, MemberId},
};

/// What it is for: nothing else takes it.
const AUDIENCE: &str = "urn:fullset:sign-in";

/// How long there is for the second half, in seconds: time to install an authenticator.
pub const HALF_SECONDS: i64 = 10 * 60;

/// What is missing.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, utoipa::ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum SecondHalf {
    /// A code of the member's second factor.
    Code,
    /// A passkey: the member has no other second factor.
    Passkey,
    /// A second factor, which the agency asks for in the member's role.
    SetUp,
}

/// Whose first half it is.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct HalfSignIn {
    /// The agency that the member belongs to.
    pub agency: AgencyId,
    /// The member whose password was right.
    pub member: MemberId,
    /// What the sign-in still lacks: a code, a passkey, or a factor to set up.
    pub missing: SecondHalf,
    /// Of the password that was right: another one since makes it void.
    password: PasswordStamp,
    iss: String,
    aud: String,
    exp: i64,
}

pub(super) fn over() -> Fault {
    Fault::new(error::SESSION_ENDED, "This took too long, or the password was changed meanwhile; sign in again")
}

impl Keys {
    /// Signs the first half of a sign-in.
    pub fn sign_half(&self, known: &Credential, missing: SecondHalf) -> Result<String, Fault> {
        self.seal(&HalfSignIn {
            agency: known.agency,
            member: known.member,
            missing,
            password: known.stamp(),
            iss: ISSUER.to_owned(),
            aud: AUDIENCE.to_owned(),
            exp: (self.now() + TimeDelta::seconds(HALF_SECONDS)).timestamp(),
        })
    }

    /// Whose first half a token is of; the password is held to it by [`HalfSignIn::holds`].
    pub fn half(&self, token: &str) -> Result<HalfSignIn, Fault> {
        let half: HalfSignIn = self.unseal(token, AUDIENCE).map_err(|fault| if fault.is_ours() { fault } else { over() })?;
        if half.exp <= self.now().timestamp() {
            return Err(over());
        }
        Ok(half)
    }
}

impl HalfSignIn {
    /// Of the password that was right.
    pub fn password(&self) -> &PasswordStamp {
        &self.password
    }

    /// Refuses it where the member's password is another by now.
    pub fn holds(&self, present: Option<&Credential>) -> Result<(), Fault> {
        match present {
            Some(present) if present.stamp() == self.password => Ok(()),
            _ => Err(over()),
        }
    }
}
