//! The feed's token: where a client is, for which agency and scope. Opaque to clients, and sealed.
//!
//! The seal is keyed by the journal's hash at the revision that the page was read at. The hash never leaves the service, so a
//! token that was made up does not fit, nor one of another agency or scope, nor one that was issued by another life of the
//! database: a copy that was restored and has gone on differently has another hash there.

use aws_lc_rs::hmac;
use base64::{Engine as _, engine::general_purpose::URL_SAFE_NO_PAD as BASE64};
use serde::{Deserialize, Serialize};
use uuid::Uuid;

use crate::platform::{
    error::{self, Fault},
    ids::AgencyId,
};

/// Where a client is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Token {
    /// The agency's revision when the page was read.
    pub at: i64,
    /// Everything up to this revision has been seen...
    pub rev: i64,
    /// ...and of the next revision everything up to this record.
    pub after: Option<(String, Uuid)>,
    /// While set, the client is reading its first snapshot, begun at this revision: what was gone by then need not be told.
    pub snapshot: Option<i64>,
}

/// A token as it came, its seal not yet looked at.
#[derive(Debug, Clone)]
pub struct Sealed {
    /// What it says.
    pub token: Token,
    text: String,
    seal: Vec<u8>,
}

/// The HMAC of a token's agency, scope and text, each preceded by its length.
fn signed(agency: AgencyId, scope: &str, text: &str) -> Vec<u8> {
    let mut bytes = Vec::with_capacity(128 + text.len());
    for part in [agency.to_string().as_bytes(), scope.as_bytes(), text.as_bytes()] {
        bytes.extend(u64::try_from(part.len()).unwrap_or_default().to_be_bytes());
        bytes.extend(part);
    }
    bytes
}

fn foreign() -> Fault {
    Fault::new(
        error::RESYNC_REQUIRED,
        "This token is of another agency, scope or service; take a new snapshot by leaving `since` out",
    )
    .at("since")
}

impl Token {
    /// As the client keeps it. `key` is the journal's hash at `at`.
    pub fn write(&self, agency: AgencyId, scope: &str, key: &[u8]) -> String {
        let text = BASE64.encode(serde_json::to_string(self).unwrap_or_default());
        let seal = hmac::sign(&hmac::Key::new(hmac::HMAC_SHA256, key), &signed(agency, scope, &text));
        format!("{text}.{}", BASE64.encode(seal))
    }
}

impl Sealed {
    /// Reads what a client kept.
    pub fn read(kept: &str) -> Result<Self, Fault> {
        let (text, seal) = kept.split_once('.').ok_or_else(foreign)?;
        let bytes = BASE64.decode(text).map_err(|_| foreign())?;
        Ok(Self {
            token: serde_json::from_slice(&bytes).map_err(|_| foreign())?,
            text: text.to_owned(),
            seal: BASE64.decode(seal).map_err(|_| foreign())?,
        })
    }

    /// The token, when the seal is this service's. `key` is the journal's hash at the token's `at`, if there is such an entry.
    pub fn open(self, agency: AgencyId, scope: &str, key: Option<&[u8]>) -> Result<Token, Fault> {
        let sealed = |key| hmac::verify(&hmac::Key::new(hmac::HMAC_SHA256, key), &signed(agency, scope, &self.text), &self.seal).is_ok();
        if key.is_some_and(sealed) { Ok(self.token) } else { Err(foreign()) }
    }
}
