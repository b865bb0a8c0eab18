//! Commands, their answers, and the outbox in which they wait.

use chrono::{DateTime, Utc};
use serde::{Deserialize, Serialize};
use serde_json::{Value, value::RawValue};
use uuid::Uuid;

use crate::{Error, Problem};

/// The most commands in a batch.
pub const MOST: usize = 500;
/// The most bytes of commands in a batch, well below what the service takes.
const MOST_BYTES: usize = 1_500_000;

/// One command. Its id and its bytes stay what they are until it is answered.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Command {
    /// UUIDv7, made once.
    pub id: Uuid,
    /// For example `defect.report`.
    pub kind: String,
    /// When it was done, by the sender's clock; none for "when it is sent".
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub at: Option<DateTime<Utc>>,
    /// What the member had seen of the record.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub expects: Option<Expects>,
    /// Another command that must have been applied first.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub after: Option<Uuid>,
    /// Who signs it, on a device that several members share.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub by: Option<By>,
    /// What the kind takes, in the bytes that are sent.
    pub body: Box<RawValue>,
}

/// What a command was decided on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(untagged)]
pub enum Expects {
    /// The record's revision.
    Revision(i64),
    /// The record as an earlier command left it, which may still wait in the outbox.
    Left {
        /// That command's id.
        after: Uuid,
    },
}

/// A member's signature under a command.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct By {
    /// The member.
    pub member: Uuid,
    /// The check of the key that it was signed with, 16 hexadecimal digits.
    pub check: String,
    /// The signature, as base64url.
    pub signature: String,
}

impl Command {
    /// A command with a new id, done now.
    pub fn new(kind: &str, body: &impl Serialize) -> Result<Self, Error> {
        let body = serde_json::value::to_raw_value(body).map_err(|error| Error::Unsendable(format!("the body of {kind}: {error}")))?;
        Ok(Self {
            id: Uuid::now_v7(),
            kind: kind.to_owned(),
            at: Some(Utc::now()),
            expects: None,
            after: None,
            by: None,
            body,
        })
    }

    /// Decided on this revision of the record.
    #[must_use]
    pub fn expecting(mut self, revision: i64) -> Self {
        self.expects = Some(Expects::Revision(revision));
        self
    }

    /// Decided on the record as that command leaves it: for what is done to it again before the service has answered.
    #[must_use]
    pub fn expecting_after(mut self, other: &Self) -> Self {
        self.expects = Some(Expects::Left { after: other.id });
        self
    }

    /// Only when that command was applied.
    #[must_use]
    pub fn after(mut self, other: &Self) -> Self {
        self.after = Some(other.id);
        self
    }

    fn weight(&self) -> usize {
        // What stands around the body weighs less than this.
        self.body.get().len() + self.kind.len() + 512
    }
}

/// How a command ended.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Outcome {
    /// Done and durable.
    Applied,
    /// Done before under this id; the first answer again.
    Repeated,
    /// The record had changed; a person decides.
    Conflict,
    /// Not done; the problem says why.
    Refused,
    /// A word that this program does not know: shown to a person.
    #[serde(other)]
    Unknown,
}

/// A record that a command touched.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct RecordRef {
    /// Its kind.
    pub kind: String,
    /// Its id.
    pub id: Uuid,
    /// Its revision now.
    pub rev: i64,
}

/// The answer to one command.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Answer {
    /// The command's id.
    pub id: Uuid,
    /// How it ended.
    pub outcome: Outcome,
    /// The agency's revision that the command made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub revision: Option<i64>,
    /// What it touched, the main record first.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub records: Vec<RecordRef>,
    /// The main record as the command left it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub record: Option<Value>,
    /// For a conflict: the record as it stands.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub current: Option<Value>,
    /// For a conflict or a refusal: why, and what to do.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub problem: Option<Problem>,
}

impl Answer {
    /// Whether the command has taken effect, now or before.
    pub fn took_effect(&self) -> bool {
        matches!(self.outcome, Outcome::Applied | Outcome::Repeated)
    }

    pub(crate) fn refused(id: Uuid, problem: Problem) -> Self {
        Self {
            id,
            outcome: Outcome::Refused,
            revision: None,
            records: Vec::new(),
            record: None,
            current: None,
            problem: Some(problem),
        }
    }
}

/// A command that was not done, and why: for a person to look at.
#[derive(Debug, Clone, Serialize, Deserialize)]
pub struct Undone {
    /// The command as it was sent.
    pub command: Command,
    /// How it was answered; a conflict shows the record as it stands.
    pub answer: Answer,
}

/// Commands that wait to be answered, in the order in which they were done. Plain data: the caller stores it before it
/// tells a person that something is noted, and after each [`Client::drain`](crate::Client::drain), however that ended.
#[derive(Debug, Clone, Default, Serialize, Deserialize)]
pub struct Outbox {
    /// Not answered yet; some of them may have been done.
    pub waiting: Vec<Command>,
    /// Answered with a conflict or a refusal. The caller takes out what a person has seen.
    pub undone: Vec<Undone>,
}

impl Outbox {
    /// Puts a command at the end.
    pub fn add(&mut self, command: Command) {
        self.waiting.push(command);
    }

    /// What goes into the next batch.
    pub(crate) fn next_batch(&self) -> &[Command] {
        next_batch(&self.waiting)
    }

    /// Takes the answers to commands that were waiting.
    pub fn settle(&mut self, answers: Vec<Answer>) {
        for answer in answers {
            let Some(place) = self.waiting.iter().position(|command| command.id == answer.id) else {
                continue;
            };
            let command = self.waiting.remove(place);
            if !answer.took_effect() {
                self.undone.push(Undone { command, answer });
            }
        }
    }
}

/// The first commands that fit in a batch: one at least.
pub(crate) fn next_batch(commands: &[Command]) -> &[Command] {
    let mut bytes = 0_usize;
    let fitting = commands.iter().take(MOST).take_while(|command| {
        bytes = bytes.saturating_add(command.weight());
        bytes <= MOST_BYTES
    });
    commands.get(..fitting.count().max(1)).unwrap_or(commands)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn note(text: &str) -> Command {
        Command::new("defect.note", &serde_json::json!({ "text": text })).unwrap()
    }

    #[test]
    fn a_batch_holds_five_hundred_commands_and_never_too_many_bytes() {
        let small = vec![note("seen again"); 1200];
        assert_eq!(next_batch(&small).len(), 500);
        let large = vec![note(&"x".repeat(400_000)); 10];
        assert_eq!(next_batch(&large).len(), 3);
        let huge = vec![note(&"x".repeat(4_000_000)); 2];
        assert_eq!(next_batch(&huge).len(), 1, "what fits in no batch is for the service to refuse");
        assert!(next_batch(&[]).is_empty());
    }

    #[test]
    fn an_outbox_is_plain_data_and_keeps_the_bytes_of_a_body() {
        let mut outbox = Outbox::default();
        let text = r#"{"id":"01936f2e-7b1c-7c11-8a55-2f7c1b0c9d10","kind":"x.y","body":{"b":1.50,  "a":"\u00e9"}}"#;
        outbox.add(serde_json::from_str(text).unwrap());
        let kept: Outbox = serde_json::from_str(&serde_json::to_string(&outbox).unwrap()).unwrap();
        assert_eq!(kept.waiting[0].body.get(), r#"{"b":1.50,  "a":"\u00e9"}"#);
    }

    #[test]
    fn an_outcome_of_tomorrow_can_be_read() {
        let answer: Answer = serde_json::from_str(r#"{"id":"01936f2e-7b1c-7c11-8a55-2f7c1b0c9d10","outcome":"postponed","until":3}"#).unwrap();
        assert_eq!((answer.outcome, answer.took_effect()), (Outcome::Unknown, false));
    }
}
