//! One table of error codes. A code never changes its meaning; the spec, the documents and the dashboard read this table.

use serde::{Deserialize, Serialize};
use utoipa::ToSchema;

macro_rules! codes {
    ($($name:ident $variant:ident = $code:literal, $status:literal, $title:literal;)*) => {
        /// The stable word for what went wrong. A later server may answer words that are not in this list: a client treats one that
        /// it does not know by the problem's `status`.
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, Serialize, Deserialize, ToSchema)]
        #[serde(rename_all = "kebab-case")]
        pub enum ProblemCode {
            $(#[doc = $title] $variant,)*
        }

        impl ProblemCode {
            /// Every code, in the order of the table.
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            /// The word that programs match on.
            pub const fn word(self) -> &'static str {
                match self { $(Self::$variant => $code,)* }
            }

            /// The HTTP status it is answered with.
            pub const fn status(self) -> u16 {
                match self { $(Self::$variant => $status,)* }
            }

            /// What it means, in one line.
            pub const fn title(self) -> &'static str {
                match self { $(Self::$variant => $title,)* }
            }
        }

        $(#[doc = $title] pub const $name: ProblemCode = ProblemCode::$variant;)*
    };
}

codes! {
    BODY_UNREADABLE BodyUnreadable = "body-unreadable", 400, "The body is not the JSON that this endpoint takes";
    FIELD_INVALID FieldInvalid = "field-invalid", 422, "A field holds a value that cannot be used";
    QUERY_INVALID QueryInvalid = "query-invalid", 400, "A query parameter holds a value that cannot be used";
    PATH_INVALID PathInvalid = "path-invalid", 400, "A part of the address holds a value that cannot be used";
    ID_MISMATCH IdMismatch = "id-mismatch", 400, "The id in the path and the id in the body differ";
    COMMAND_UNKNOWN CommandUnknown = "command-unknown", 422, "No command of this kind exists; the client may be newer than the server";
    ID_REUSED IdReused = "id-reused", 409, "This command id was used before with another body";
    AFTER_REFUSED AfterRefused = "after-refused", 409, "The command that this one follows was not applied";
    BATCH_TOO_LARGE BatchTooLarge = "batch-too-large", 413, "A batch holds 500 commands at most";
    BODY_SLOW BodySlow = "body-slow", 408, "The body came too slowly to be waited for";
    BODY_ENCODED BodyEncoded = "body-encoded", 415, "A body is sent as it is, without Content-Encoding";
    BODY_TOO_LARGE BodyTooLarge = "body-too-large", 413, "The body is larger than this endpoint takes";
    SIGN_IN_NEEDED SignInNeeded = "sign-in-needed", 401, "Sign in first; the access token is missing, spent or unknown";
    SIGN_IN_FAILED SignInFailed = "sign-in-failed", 401, "Email and password do not match";
    SESSION_ENDED SessionEnded = "session-ended", 401, "This sign-in was ended; sign in again";
    DEVICE_REVOKED DeviceRevoked = "device-revoked", 401, "This device was revoked; it forgets everything that it keeps";
    SLOW_DOWN SlowDown = "slow-down", 429, "Too many tries; wait before the next one";
    ORIGIN_REFUSED OriginRefused = "origin-refused", 403, "A browser session may write only from the service's own pages";
    NOT_ALLOWED NotAllowed = "not-allowed", 403, "This member's role may not do this";
    OUT_OF_REACH OutOfReach = "out-of-reach", 403, "This member's role may do this, but not at this station or district";
    CODE_UNKNOWN CodeUnknown = "code-unknown", 403, "This code opens nothing: it is wrong, used or too old";
    LINK_SPENT LinkSpent = "link-spent", 403, "This link sets no password: it was used, has run out or was replaced";
    PASSWORD_WRONG PasswordWrong = "password-wrong", 403, "The present password is another";
    PROOF_NEEDED ProofNeeded = "proof-needed", 403, "The password is asked for again: it was not given within the last ten minutes";
    SECOND_FACTOR_WRONG SecondFactorWrong = "second-factor-wrong", 403, "The code of the second factor is wrong or was used already";
    PASSKEY_WRONG PasskeyWrong = "passkey-wrong", 403, "The passkey does not open this: it is another, was not asked for, or did not look who it is";
    SIGNATURE_NEEDED SignatureNeeded = "signature-needed", 403, "A shared tablet sends only what a member has signed with the PIN";
    PIN_WRONG PinWrong = "pin-wrong", 403, "The signature was not made with this member's PIN";
    PIN_LOCKED PinLocked = "pin-locked", 403, "Too many wrong signatures in a row; an officer unlocks the PIN, or the member sets a new one";
    NOT_FOUND NotFound = "not-found", 404, "No such record in this agency";
    PATH_UNKNOWN PathUnknown = "path-unknown", 404, "Nothing answers at this address";
    METHOD_UNKNOWN MethodUnknown = "method-unknown", 405, "This address does not take that method";
    STALE Stale = "stale", 409, "The record has changed since the revision that this was decided on";
    REVISION_NEEDED RevisionNeeded = "revision-needed", 428, "Name the revision that this was decided on, in `expects` or If-Match";
    ALREADY_THERE AlreadyThere = "already-there", 409, "A record with this name, tag or id is there already";
    RULE_BROKEN RuleBroken = "rule-broken", 409, "The record is not in a state that allows this";
    REASON_NEEDED ReasonNeeded = "reason-needed", 422, "This lets more count than before, or asks for less; say why in `reason`";
    EVIDENCE_MISSING EvidenceMissing = "evidence-missing", 409, "What this release rests on is not complete; `missing` names each thing";
    RESYNC_REQUIRED ResyncRequired = "resync-required", 410, "The token cannot be followed; take a new snapshot";
    SCOPE_GONE ScopeGone = "scope-gone", 410, "A place that the feed names is not there; leave it out and start without a token";
    CLIENT_TOO_OLD ClientTooOld = "client-too-old", 426, "This client speaks a protocol that is no longer served; update it";
    FILE_UNREADABLE FileUnreadable = "file-unreadable", 422, "The file cannot be read as a register";
    ZONES_UNREADABLE ZonesUnreadable = "zones-unreadable", 422, "The file cannot be read as demand zones or travel times";
    PHOTO_AWAITED PhotoAwaited = "photo-awaited", 404, "The photo is not here yet, or was never sent";
    UPLOAD_OFFSET UploadOffset = "upload-offset", 409, "The part does not begin where the upload stands; go on from Upload-Offset";
    PHOTO_MISMATCH PhotoMismatch = "photo-mismatch", 422, "The bytes do not have the SHA-256 that the address names";
    PHOTO_UNREADABLE PhotoUnreadable = "photo-unreadable", 422, "The bytes are no JPEG, PNG or WebP picture that can be read";
    PHOTO_TOO_LARGE PhotoTooLarge = "photo-too-large", 413, "A photo has 12 MB and 50 megapixels at most";
    PHOTO_QUOTA PhotoQuota = "photo-quota", 507, "The agency's room for photos is used up";
    MAP_SERVER_FAILED MapServerFailed = "map-server-failed", 502, "The server that the agency takes map pictures from sent none";
    BUSY Busy = "busy", 503, "The service cannot take this now; try again in a moment";
    INTERNAL Internal = "internal", 500, "The service failed; the failure was logged under the request id";
}

impl std::fmt::Display for ProblemCode {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.pad(self.word())
    }
}

/// One field's fault among several.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct FieldFault {
    /// Path of the field, for example `slots[2].kinds`.
    pub field: String,
    /// What is wrong with it and what to do.
    pub detail: String,
}

/// An RFC 9457 problem, as it goes over the wire (`application/problem+json`).
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
#[schema(examples(json!({
    "type": "urn:fullset:rule-broken",
    "title": "The record is not in a state that allows this",
    "status": 409,
    "code": "rule-broken",
    "detail": "CU-104 is on a ticket already",
    "field": "body.piece",
    "request_id": "0193632a-5c80-7000-8000-5eaf00d5c0de"
})))]
pub struct Problem {
    /// `urn:fullset:` and the code.
    #[serde(rename = "type")]
    pub kind: String,
    /// The meaning of the code.
    pub title: String,
    /// The HTTP status that goes with the code, also where one command of several is refused.
    pub status: u16,
    /// The stable word for what went wrong.
    pub code: ProblemCode,
    /// What happened and what to do.
    pub detail: String,
    /// Path of the field at fault.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub field: Option<String>,
    /// What to try instead.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hint: Option<String>,
    /// All faults, when there are several.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub errors: Vec<FieldFault>,
    /// The record as it stands now, when the command was decided on an older one.
    #[serde(skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Object>)]
    pub current: Option<serde_json::Value>,
    /// What a release lacks: each with `what`, where it applies `measure`, `low`, `high` and `signs`, and `words`.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[schema(value_type = Vec<fullset_calc::release::Missing>)]
    pub missing: Vec<serde_json::Value>,
    /// The id of the request, as in the header X-Request-Id; not in the answer to one command of a batch.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub request_id: Option<String>,
}

/// A failure: what the caller may read, and apart from it what only the log keeps.
#[derive(Debug)]
pub struct Fault {
    /// Row of the table.
    pub code: ProblemCode,
    /// What happened and what to do, for the caller.
    pub detail: String,
    /// Path of the field at fault.
    pub field: Option<String>,
    /// What to try instead.
    pub hint: Option<String>,
    /// All faults, when there are several.
    pub errors: Vec<FieldFault>,
    /// The record as it stands, for conflicts.
    pub current: Option<serde_json::Value>,
    /// What a release lacks.
    pub missing: Vec<serde_json::Value>,
    /// For the log alone.
    pub cause: Option<anyhow::Error>,
    /// After how many seconds another try makes sense, where that is known.
    pub retry_after: Option<u64>,
    /// Whether rows had been written before the refusal, so that the transaction must be undone.
    pub spoils: bool,
}

impl Fault {
    /// A failure with its reason in words.
    pub fn new(code: ProblemCode, detail: impl Into<String>) -> Self {
        Self {
            code,
            detail: detail.into(),
            field: None,
            hint: None,
            errors: Vec::new(),
            current: None,
            missing: Vec::new(),
            cause: None,
            retry_after: None,
            spoils: false,
        }
    }

    /// A field that cannot be used.
    pub fn field(field: impl Into<String>, detail: impl Into<String>) -> Self {
        Self::new(FIELD_INVALID, detail).at(field)
    }

    /// A rule that forbids this now.
    pub fn rule(detail: impl Into<String>) -> Self {
        Self::new(RULE_BROKEN, detail)
    }

    /// Names the field at fault.
    #[must_use]
    pub fn at(mut self, field: impl Into<String>) -> Self {
        self.field = Some(field.into());
        self
    }

    /// Says what to try instead.
    #[must_use]
    pub fn hint(mut self, hint: impl Into<String>) -> Self {
        self.hint = Some(hint.into());
        self
    }

    /// Says after how many seconds another try makes sense.
    #[must_use]
    pub fn again_in(mut self, seconds: u64) -> Self {
        self.retry_after = Some(seconds.max(1));
        self
    }

    /// The problem that the caller reads.
    pub fn problem(&self) -> Problem {
        Problem {
            kind: format!("urn:fullset:{}", self.code),
            title: self.code.title().to_owned(),
            status: self.code.status(),
            code: self.code,
            detail: self.detail.clone(),
            field: self.field.clone(),
            hint: self.hint.clone(),
            errors: self.errors.clone(),
            current: self.current.clone(),
            missing: self.missing.clone(),
            request_id: None,
        }
    }

    /// The same failure again, without what only the log keeps.
    #[must_use]
    pub fn again(&self) -> Self {
        Self {
            code: self.code,
            detail: self.detail.clone(),
            field: self.field.clone(),
            hint: self.hint.clone(),
            errors: self.errors.clone(),
            current: self.current.clone(),
            missing: self.missing.clone(),
            cause: None,
            retry_after: self.retry_after,
            spoils: false,
        }
    }

    /// Whether the failure is the service's, not the caller's. Room that the agency has used up is neither's, nor is another server's
    /// failure.
    pub fn is_ours(&self) -> bool {
        self.code.status() >= 500 && ![PHOTO_QUOTA, MAP_SERVER_FAILED].contains(&self.code)
    }
}

impl std::fmt::Display for Fault {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        write!(f, "{}: {}", self.code, self.detail)
    }
}

impl std::error::Error for Fault {}

/// Whether a query failed because the database is not there, or did not answer in time: the same may succeed in a moment.
fn is_lost(error: &diesel::result::Error) -> bool {
    use diesel::result::{DatabaseErrorKind, Error};
    const WORDS: [&str; 8] = [
        "terminating connection",
        "server closed the connection",
        "no connection to the server",
        "the database system is",
        "statement timeout",
        "lock timeout",
        "idle-in-transaction timeout",
        "database is locked",
    ];
    match error {
        Error::BrokenTransactionManager | Error::DatabaseError(DatabaseErrorKind::ClosedConnection, _) => true,
        Error::DatabaseError(_, told) => WORDS.iter().any(|words| told.message().contains(words)),
        _ => false,
    }
}

/// Whether a failure is of the connection to the database, not of what was asked.
fn is_of_connection(cause: &anyhow::Error) -> bool {
    cause.is::<diesel::r2d2::PoolError>() || cause.is::<diesel::ConnectionError>() || cause.downcast_ref().is_some_and(is_lost)
}

impl From<anyhow::Error> for Fault {
    fn from(cause: anyhow::Error) -> Self {
        if is_of_connection(&cause) {
            return Self {
                cause: Some(cause),
                ..Self::new(BUSY, "The database does not answer just now; try again in a moment, under the same ids")
            };
        }
        Self {
            cause: Some(cause),
            ..Self::new(
                INTERNAL,
                "The service failed to answer. Try again; if it happens again, give the request id to whoever runs the service.",
            )
        }
    }
}

impl From<diesel::result::Error> for Fault {
    fn from(cause: diesel::result::Error) -> Self {
        anyhow::Error::from(cause).into()
    }
}

impl From<serde_json::Error> for Fault {
    fn from(cause: serde_json::Error) -> Self {
        anyhow::Error::from(cause).into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_code_goes_over_the_wire_as_its_word() {
        for code in ProblemCode::ALL {
            assert_eq!(serde_json::to_string(code).unwrap(), format!("\"{}\"", code.word()));
        }
    }
}
