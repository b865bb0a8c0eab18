//! What can go wrong, sorted by what the caller can do about it.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Why something was not done.
#[derive(Debug, thiserror::Error)]
pub enum Error {
    /// No answer came: no signal, a lost reply, a broken connection. What was sent may have been done; send it again under
    /// the same ids.
    #[error("the service gave no answer: {0}")]
    NoAnswer(#[source] reqwest::Error),
    /// The service cannot take it now (503, 429, 408, or a proxy in between). Try again later.
    #[error("the service cannot take this now (status {status})")]
    Busy {
        /// The HTTP status.
        status: u16,
        /// How long the service asks to wait, in seconds.
        retry_after: Option<u64>,
    },
    /// The service refused the request as a whole.
    #[error("{0}")]
    Refused(Box<Problem>),
    /// The sign-in has ended, or there was none: a person signs in again. What waits in the outbox stays.
    #[error("sign in again: {0}")]
    SignInNeeded(Box<Problem>),
    /// The device was taken out of use: forget everything that is kept on it.
    #[error("this device was taken out of use: {0}")]
    DeviceRevoked(Box<Problem>),
    /// A place that the copy's scope names is not there: leave it out ([`crate::Replica::leave_out`]), or let a person choose another.
    #[error("a place is not there: {0}")]
    ScopeGone(Box<Problem>),
    /// The service speaks a newer protocol: this program has to be brought up to date. What waits in the outbox stays.
    #[error("this program is too old for the service: {0}")]
    TooOld(Box<Problem>),
    /// The answer is not of this protocol: another service, or a proxy's own page.
    #[error("the answer with status {status} is not of this protocol: {said}")]
    NotUnderstood {
        /// The HTTP status.
        status: u16,
        /// The beginning of what was said, or why it could not be read.
        said: String,
    },
    /// The address of the service, or what was to be sent, cannot be used.
    #[error("this cannot be sent: {0}")]
    Unsendable(String),
}

impl Error {
    /// Whether trying again later may help, with nothing changed.
    pub fn passes(&self) -> bool {
        matches!(self, Self::NoAnswer(_) | Self::Busy { .. })
    }

    /// The stable code of the service's problem, where there is one.
    pub fn code(&self) -> Option<&str> {
        match self {
            Self::Refused(problem) | Self::SignInNeeded(problem) | Self::DeviceRevoked(problem) | Self::ScopeGone(problem) | Self::TooOld(problem) => {
                Some(&problem.code)
            }
            _ => None,
        }
    }
}

/// A problem as the service tells it (RFC 9457).
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Problem {
    /// The HTTP status.
    pub status: u16,
    /// The stable word that programs match on. New ones may come; treat an unknown one by its status.
    pub code: String,
    /// What the code means, in one line.
    #[serde(default)]
    pub title: String,
    /// What happened and what to do, for a person.
    #[serde(default)]
    pub detail: String,
    /// Path of the field at fault.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub field: Option<String>,
    /// What to try instead.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
    /// All faults, when there are several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<FieldFault>,
    /// Everything else that the service said.
    #[serde(flatten)]
    pub more: Map<String, Value>,
}

/// One field's fault among several.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct FieldFault {
    /// Path of the field.
    pub field: String,
    /// What is wrong with it and what to do.
    pub detail: String,
}

impl std::fmt::Display for Problem {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{} ({}", self.detail, self.code)?;
        if let Some(field) = &self.field {
            write!(f, " at {field}")?;
        }
        f.write_str(")")
    }
}
