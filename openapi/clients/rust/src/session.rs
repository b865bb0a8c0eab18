//! A sign-in: plain data that the caller may store.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::Value;

/// A sign-in. Keep it where the device keeps its secrets.
#[derive(Clone, Serialize, Deserialize)]
pub struct Session {
    /// Sent with each request; serves a quarter of an hour.
    pub access_token: String,
    /// Spent once for the next pair.
    pub refresh_token: String,
    /// When the access token runs out, by the client's clock.
    pub expires_at: DateTime<Utc>,
    /// Who signed in, and what the service said besides: `member`, `agency`, `may`.
    #[serde(default)]
    pub who: Value,
}

impl std::fmt::Debug for Session {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Session").field("expires_at", &self.expires_at).finish_non_exhaustive()
    }
}
