//! What a command is, which kinds exist, and what is answered.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize, de::DeserializeOwned};
use serde_json::value::RawValue;
use utoipa::{
    PartialSchema, ToSchema,
    openapi::{Object, RefOr, Schema},
};
use uuid::{Uuid, Version};

use super::{
    Ahead, Permission, Reach, Signature, Write,
    expects::{Expects, LeftBy, RevisionNeed},
};
use crate::platform::{
    error::{self, Fault, Problem},
    ids::MemberId,
    record::RecordKind,
};

/// A command kind: its body, who may send it and what it does. The only place where its rule lives.
pub trait Act: DeserializeOwned + ToSchema + Clone + Send + Sync + 'static {
    /// Its word, for example `defect.report`.
    const KIND: &'static str;
    /// What it does, in one line, for the documents.
    const SUMMARY: &'static str;
    /// What was done, as history tells it, before the member's own words.
    const DONE: &'static str;
    /// What the actor needs.
    const NEEDS: &'static [Permission];
    /// How far the actor must reach.
    const REACH: Reach;
    /// Whether the revision of a record that it was decided on must be named.
    const EXPECTS: RevisionNeed = RevisionNeed::None;
    /// Whether it makes one record: answered with 201 over REST, with its address in `Location`.
    const CREATES: bool = false;
    /// Whether `prepare` works so long that it needs a thread of its own.
    const SLOW: bool = false;
    /// Whether it takes a person: a program's key never sends it, whatever its role.
    const PERSONAL: bool = false;
    /// Fields that the journal must never hold.
    const SECRET: &'static [&'static str] = &[];
    /// Fields that the journal keeps and no history tells: what came along in bulk, and may hold more than anybody was to read.
    const UNTOLD: &'static [&'static str] = &[];
    /// Whether it must say why where it lets something count that did not: refused then without a [reason](Act::reason).
    const RAISE_NEEDS_REASON: bool = false;

    /// Why, in the member's own words; the journal keeps it with the body.
    fn reason(&self) -> Option<&str> {
        None
    }

    /// Checks what can be checked without the database, and does slow work before the writer is held.
    fn prepare(&mut self) -> Result<(), Fault> {
        Ok(())
    }

    /// Names what it will ask for, so that the commands of a group are read for together.
    fn ahead(&self, _: &mut Ahead) {}

    /// Loads, decides, saves.
    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault>;
}

/// An [`Act`] whose type is forgotten.
pub(super) trait AnyAct: Send + Sync {
    fn ahead(&self, ahead: &mut Ahead);
    fn run(&self, write: &mut Write<'_>) -> Result<(), Fault>;

    fn reach(&self) -> Reach;

    /// Whether it gives a reason.
    fn says_why(&self) -> bool;

    /// Whether it must give one where it raises something.
    fn raise_needs_reason(&self) -> bool;
}

pub(super) struct Parsed<A: Act>(pub(super) A);

impl<A: Act> AnyAct for Parsed<A> {
    fn ahead(&self, ahead: &mut Ahead) {
        self.0.ahead(ahead);
    }

    fn run(&self, write: &mut Write<'_>) -> Result<(), Fault> {
        self.0.clone().apply(write)
    }

    fn reach(&self) -> Reach {
        A::REACH
    }

    fn says_why(&self) -> bool {
        self.0.reason().is_some()
    }

    fn raise_needs_reason(&self) -> bool {
        A::RAISE_NEEDS_REASON
    }
}

/// One command as a client sends it. In the document it is one of the kinds, each with its body: see [`Registry`](super::Registry).
#[derive(Debug, Clone, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Command {
    /// UUIDv7 made by the client. Sent again, it acts once.
    pub id: Uuid,
    /// One of the command kinds, for example `defect.report`.
    pub kind: String,
    /// When it was done, by the sender's clock.
    #[serde(default)]
    pub at: Option<DateTime<Utc>>,
    /// The revision of the record that it was decided on, or the command that left it so.
    #[serde(default)]
    pub expects: Option<Expects>,
    /// A command that must have been applied first.
    #[serde(default)]
    pub after: Option<Uuid>,
    /// On a shared tablet: the member who does it, by PIN.
    #[serde(default)]
    pub by: Option<Signed>,
    /// What the kind takes.
    pub body: Box<RawValue>,
}

impl PartialSchema for Command {
    fn schema() -> RefOr<Schema> {
        Object::default().into()
    }
}

impl ToSchema for Command {
    fn schemas(schemas: &mut Vec<(String, RefOr<Schema>)>) {
        schemas.push((Signed::name().into_owned(), Signed::schema()));
        Signed::schemas(schemas);
        schemas.push((LeftBy::name().into_owned(), LeftBy::schema()));
    }
}

/// The word of a command kind, for the document: there it is one of all the kinds that exist.
#[derive(Debug)]
pub struct CommandKind;

impl PartialSchema for CommandKind {
    fn schema() -> RefOr<Schema> {
        Object::default().into()
    }
}

impl ToSchema for CommandKind {}

/// A member's signature on a command that a shared tablet sends.
#[derive(Debug, Clone, Deserialize, ToSchema)]
#[serde(deny_unknown_fields)]
pub struct Signed {
    /// The member whose PIN signed the command.
    pub member: MemberId,
    /// The check of the key that it was signed with: the first 8 bytes of HMAC-SHA256 with that key over the word `check`, as 16
    /// hexadecimal digits. By it many commands signed with one wrong PIN count as one guess.
    #[schema(pattern = "^[0-9a-f]{16}$")]
    pub check: String,
    /// HMAC-SHA256 with the key of the member's PIN over command id, kind, device and body; base64url without padding.
    pub signature: String,
}

/// What stands at the head of a command while it is applied.
#[derive(Debug, Clone)]
pub struct Head {
    /// The command's id, by which it acts once.
    pub id: Uuid,
    /// When it was done by the sender's clock, untouched.
    pub at_raw: DateTime<Utc>,
    /// When it was done by the server's reckoning: raw time plus measured skew, never in the server's future.
    pub at: DateTime<Utc>,
    /// When the server had it.
    pub received_at: DateTime<Utc>,
    /// Server's clock minus sender's clock at sending, in microseconds.
    pub skew_us: i64,
    /// The revision that it was decided on.
    pub expects: Option<i64>,
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Done, durable.
    Applied,
    /// Done before under this id; the first answer again.
    Repeated,
    /// The record had changed; `current` shows it, a person decides.
    Conflict,
    /// Not done; `problem` says why.
    Refused,
}

/// A record that a command touched.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize, ToSchema)]
pub struct RecordRef {
    /// What the record is.
    #[schema(value_type = RecordKind)]
    pub kind: String,
    /// The record that was touched.
    pub id: Uuid,
    /// The record's revision after the command; the next change may expect it.
    pub rev: i64,
}

/// The answer to one command.
#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
pub struct Answer {
    /// The command that this answers, by the id that it was sent with.
    pub id: Uuid,
    /// Whether the command was applied, now or before, or why it was not.
    pub outcome: Outcome,
    /// The agency's revision that the command made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub revision: Option<i64>,
    /// The enrolled device that it came through.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub device: Option<Uuid>,
    /// What it touched, the main record first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub records: Vec<RecordRef>,
    /// The main record as the command left it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Object>)]
    pub record: Option<Box<RawValue>>,
    /// For a conflict: the record as it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[schema(value_type = Option<Object>)]
    pub current: Option<serde_json::Value>,
    /// For a conflict or a refusal: why, and what to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub problem: Option<Problem>,
}

impl Answer {
    /// The answer to a command that was not applied.
    pub fn from_fault(id: Uuid, fault: &Fault) -> Self {
        let outcome = if fault.code == error::STALE { Outcome::Conflict } else { Outcome::Refused };
        Self {
            id,
            outcome,
            revision: None,
            device: None,
            records: Vec::new(),
            record: None,
            current: fault.current.clone(),
            problem: Some(fault.problem()),
        }
    }

    /// The same without the record that it left: who asked for little has it from the feed. What a conflict shows stays.
    #[must_use]
    pub fn minimal(self) -> Self {
        Self { record: None, ..self }
    }

    /// Whether the command has taken effect, now or before.
    pub fn took_effect(&self) -> bool {
        matches!(self.outcome, Outcome::Applied | Outcome::Repeated)
    }
}

/// The answers to a batch.
#[derive(Debug, Clone, Serialize, ToSchema)]
pub struct Batch {
    /// The agency's revision after the batch.
    pub revision: i64,
    /// One answer for each command, in order.
    pub answers: Vec<Answer>,
}

impl Batch {
    /// The same, each answer without the record that its command left.
    #[must_use]
    pub fn minimal(self) -> Self {
        Self {
            answers: self.answers.into_iter().map(Answer::minimal).collect(),
            ..self
        }
    }
}

/// A command that has been read: ready for the writer.
pub(super) struct Ready {
    pub head: Head,
    pub kind: String,
    pub after: Option<Uuid>,
    /// The command that left the record as this one expects it; stands in the place of `head.expects`.
    pub expects_after: Option<Uuid>,
    pub signature: Option<Signature>,
    /// The body as the journal keeps it: of a secret it has no trace, not even a hash to guess at.
    pub journaled: String,
    pub act: Result<Box<dyn AnyAct>, Fault>,
}

/// Whether a client may use an id for a command: version 7 is the clients', every other version the service's own, so that
/// nobody can take the id of a command that the service will make.
pub fn is_client_id(id: Uuid) -> bool {
    id.get_version() == Some(Version::SortRand)
}

/// The id of a command that the service sends to itself, of a version that no client can use: the same cause makes the same id, on every process.
pub fn own_id(cause: &str) -> Uuid {
    Uuid::new_v5(&Uuid::NAMESPACE_URL, cause.as_bytes())
}

/// A body from a value that is known to serialise.
pub fn own_body(value: &serde_json::Value) -> Result<Box<RawValue>, Fault> {
    Ok(RawValue::from_string(value.to_string())?)
}
