//! Devices: enrolling one, and what members sign on one that they share.

use std::{fmt::Write as _, num::NonZeroU32};

use aws_lc_rs::{hmac, pbkdf2};
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD as BASE64};
use serde::{Deserialize, Serialize};
use serde_json::json;
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::{By, Client, Command, Error, Session};

/// What a tablet keeps of a member who may sign on it.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Signer {
    /// The member.
    pub member: Uuid,
    /// Its name.
    pub name: String,
    /// What the PIN is hashed with, as base64url.
    pub salt: String,
    /// How often.
    pub iterations: NonZeroU32,
    /// The first byte of the key's check, two hexadecimal digits.
    pub check: String,
}

/// The key that a member's PIN makes. Keep it no longer than the member stands there.
#[derive(Debug)]
pub struct PinKey {
    member: Uuid,
    key: hmac::Key,
    check: String,
}

impl Signer {
    /// The key of a PIN; none where the PIN was mistyped (one slip in 256 is not seen here). Takes some tenths of a second.
    pub fn key(&self, pin: &str) -> Option<PinKey> {
        let salt = BASE64.decode(&self.salt).ok()?;
        let mut bytes = [0; 32];
        pbkdf2::derive(pbkdf2::PBKDF2_HMAC_SHA256, self.iterations, &salt, pin.as_bytes(), &mut bytes);
        let key = hmac::Key::new(hmac::HMAC_SHA256, &bytes);
        let check = hex(hmac::sign(&key, b"check").as_ref().iter().take(8));
        check.starts_with(&self.check).then_some(PinKey {
            member: self.member,
            key,
            check,
        })
    }
}

impl Command {
    /// Signed by a member, on this device. The body is never written anew after it.
    #[must_use]
    pub fn signed(mut self, device: Uuid, key: &PinKey) -> Self {
        let body = hex(Sha256::digest(self.body.get()).iter());
        let text = format!("{}\n{}\n{device}\n{body}", self.id, self.kind);
        self.by = Some(By {
            member: key.member,
            check: key.check.clone(),
            signature: BASE64.encode(hmac::sign(&key.key, text.as_bytes())),
        });
        self
    }
}

impl Client {
    /// Enrols this device with a code that somebody shows, under the id that the device made for itself once. One try: where the answer
    /// is lost, with a new code and the same id.
    pub async fn enrol(&self, code: &str, device: Uuid, name: &str) -> Result<Session, Error> {
        let body = json!({ "code": code, "device": { "id": device, "name": name } });
        self.open("/v1/enrolments/redeem", &body).await
    }

    /// Who may sign on this device; to be kept, for when there is no signal. One try.
    pub async fn signers(&self) -> Result<Vec<Signer>, Error> {
        #[derive(Deserialize)]
        struct Signers {
            items: Vec<Signer>,
        }
        Ok(self.get::<Signers>("/v1/signers").await?.items)
    }
}

fn hex<'a>(bytes: impl Iterator<Item = &'a u8>) -> String {
    bytes.fold(String::new(), |mut text, byte| {
        write!(text, "{byte:02x}").ok();
        text
    })
}
