//! The feed's token: where a client is, for which agency and scope. Opaque to clients, and sealed: a token that was made up,
//! or that belongs to another agency, is told apart from one that can be followed.

use base64::Engine as _;
use serde::{Deserialize, Serialize};
use sha2::{Digest as _, Sha256};
use uuid::Uuid;

use crate::platform::{
    error::{self, Fault},
    ids::AgencyId,
};

/// Where a client is.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Token {
    /// Everything up to this revision has been seen...
    pub rev: i64,
    /// ...and of the next revision everything up to this record.
    pub after: Option<(String, Uuid)>,
    /// While set, the client is reading its first snapshot, begun at this revision: what was gone by then need not be told.
    pub snapshot: Option<i64>,
}

fn seal(agency: AgencyId, scope: &str, text: &str) -> String {
    let mut hasher = Sha256::new();
    for part in [agency.to_string().as_str(), scope, text] {
        hasher.update(u64::try_from(part.len()).unwrap_or_default().to_be_bytes());
        hasher.update(part);
    }
    let digest = hasher.finalize();
    base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(digest.get(..12).unwrap_or_default())
}

impl Token {
    /// As the client keeps it.
    pub fn write(&self, agency: AgencyId, scope: &str) -> String {
        let text = base64::engine::general_purpose::URL_SAFE_NO_PAD.encode(serde_json::to_string(self).unwrap_or_default());
        format!("{text}.{}", seal(agency, scope, &text))
    }

    /// Reads what a client kept.
    pub fn read(kept: &str, agency: AgencyId, scope: &str) -> Result<Self, Fault> {
        let foreign = || {
            Fault::new(
                error::RESYNC_REQUIRED,
                "This token is of another agency, scope or service; take a new snapshot by leaving `since` out",
            )
            .at("since")
        };
        let (text, sealed) = kept.split_once('.').ok_or_else(foreign)?;
        if seal(agency, scope, text) != sealed {
            return Err(foreign());
        }
        let bytes = base64::engine::general_purpose::URL_SAFE_NO_PAD.decode(text).map_err(|_| foreign())?;
        serde_json::from_slice(&bytes).map_err(|_| foreign())
    }
}
