//! The client against the cases in `openapi/hard-cases`: a service that says what the file says, in order.

#![allow(clippy::unwrap_used, clippy::expect_used, clippy::indexing_slicing, reason = "a test fails where it is wrong")]

mod scripted;

use std::{path::PathBuf, time::Duration};

use chrono::{TimeDelta, Utc};
use fullset_client::{Client, Command, Error, Outbox, Patience, Replica, Session, Signer};
use scripted::{Exchange, Scripted, fits};
use serde_json::{Value, json};

/// The client as a case's caller keeps it.
struct Caller {
    client: Client,
    patience: Patience,
    outbox: Outbox,
    replica: Replica,
    signers: Vec<Signer>,
}

/// How an act ended that did not come to its end.
enum Ended {
    Failed(Error),
    MistypedPin,
}

impl From<Error> for Ended {
    fn from(error: Error) -> Self {
        Self::Failed(error)
    }
}

impl Caller {
    async fn new(base: &str, given: &Value) -> Self {
        let client = Client::new(base).expect("an address");
        let session = Session {
            access_token: "a1".into(),
            refresh_token: "r1".into(),
            expires_at: Utc::now() + TimeDelta::minutes(14),
            who: Value::Null,
        };
        client.resume(Some(session)).await;
        Self {
            client,
            patience: Patience {
                tries: given["tries"].as_u64().map_or(8, |tries| u32::try_from(tries).expect("a few")),
                first: Duration::from_millis(1),
                longest: Duration::from_millis(4),
            },
            outbox: Outbox::default(),
            replica: Replica::of(given["scope"].as_str().unwrap_or("agency")),
            signers: Vec::new(),
        }
    }

    async fn act(&mut self, act: &Value) -> Result<(), Ended> {
        let id = |value: &Value| value.as_str().and_then(|id| id.parse().ok()).expect("an id");
        let commands = || act["commands"].as_array().expect("commands").iter().map(command);
        match act["act"].as_str().expect("an act") {
            "push" => {
                commands().for_each(|command| self.outbox.add(command));
                self.client.drain(&mut self.outbox, self.patience).await?;
            }
            "sign" => {
                if let Ok(signers) = self.client.signers().await {
                    self.signers = signers;
                }
                let signer = self
                    .signers
                    .iter()
                    .find(|signer| signer.member == id(&act["member"]))
                    .expect("the member may sign");
                let key = signer.key(act["pin"].as_str().expect("a PIN")).ok_or(Ended::MistypedPin)?;
                commands().for_each(|command| self.outbox.add(command.signed(id(&act["device"]), &key)));
                self.client.drain(&mut self.outbox, self.patience).await?;
            }
            "enrol" => {
                let (code, device) = (act["code"].as_str().expect("a code"), &act["device"]);
                self.client.enrol(code, id(&device["id"]), device["name"].as_str().expect("a name")).await?;
            }
            "pull" => self.client.pull(&mut self.replica, self.patience).await?,
            "sign_in" => {
                let text = |field: &str| act[field].as_str().expect("text");
                self.client.sign_in(text("email"), text("password")).await?;
            }
            "photo" => {
                let bytes = act["text"].as_str().expect("text").as_bytes();
                self.client.put_photo(bytes, "image/jpeg", self.patience).await?;
            }
            other => panic!("no runner for '{other}'"),
        }
        Ok(())
    }

    /// Everything that is kept goes to disk and comes back, as it would in a program that is closed.
    fn closed_and_opened(&mut self) {
        self.outbox = serde_json::from_str(&serde_json::to_string(&self.outbox).expect("plain data")).expect("plain data");
        self.replica = serde_json::from_str(&serde_json::to_string(&self.replica).expect("plain data")).expect("plain data");
    }

    fn must_hold(&self, holds: &Value, ended: &Result<(), Ended>, at: &str) {
        let how = match ended {
            Ok(()) => "done",
            Err(Ended::MistypedPin) => "pin",
            Err(Ended::Failed(Error::NoAnswer(_) | Error::Busy { .. })) => "later",
            Err(Ended::Failed(Error::SignInNeeded(_))) => "sign-in",
            Err(Ended::Failed(Error::TooOld(_))) => "too-old",
            Err(Ended::Failed(Error::DeviceRevoked(_))) => "wipe",
            Err(Ended::Failed(Error::ScopeGone(_))) => "scope",
            Err(Ended::Failed(Error::Refused(_))) => "refused",
            Err(Ended::Failed(error)) => panic!("{at}: {error:?}"),
        };
        assert_eq!(holds["ended"], how, "{at}");
        let undone: Vec<Value> = (self.outbox.undone.iter())
            .map(|undone| {
                let problem = undone.answer.problem.as_ref();
                json!({ "id": undone.command.id, "outcome": outcome_in(holds, undone), "code": problem.map(|problem| &problem.code), "current": undone.answer.current })
            })
            .collect();
        let waiting: Vec<_> = self.outbox.waiting.iter().map(|command| command.id).collect();
        let mut records = json!(self.replica.records);
        records.as_object_mut().expect("kinds").retain(|_, records| records != &json!({}));
        for (field, held) in [
            ("undone", json!(undone)),
            ("waiting", json!(waiting)),
            ("records", records.clone()),
            ("stubs", json!(self.replica.stubs)),
        ] {
            if !holds[field].is_null() {
                assert!(fits(&holds[field], &held), "{at}: {field} should be {} and is {held}", holds[field]);
            }
        }
        if let Some(kinds) = holds["records"].as_object() {
            let count = |kinds: &Value| {
                kinds
                    .as_object()
                    .expect("kinds")
                    .values()
                    .map(|of| of.as_object().expect("records").len())
                    .sum::<usize>()
            };
            assert_eq!(count(&json!(kinds)), count(&records), "{at}: more is kept than should be: {records}");
        }
    }
}

/// A command of a case, in the bytes of its own body.
fn command(given: &Value) -> Command {
    serde_json::from_str(&given.to_string()).expect("a command")
}

/// The outcome's word; for one that this client has no name for, the word is the case's.
fn outcome_in(holds: &Value, undone: &fullset_client::Undone) -> Value {
    match undone.answer.outcome {
        fullset_client::Outcome::Unknown => holds["undone"]
            .as_array()
            .into_iter()
            .flatten()
            .find(|held| held["id"] == json!(undone.command.id))
            .map_or(Value::Null, |held| held["outcome"].clone()),
        known => json!(known),
    }
}

async fn play(path: PathBuf) {
    let text = std::fs::read_to_string(&path).expect("the case can be read");
    let mut lines = text.lines().map(|line| serde_json::from_str::<Value>(line).expect("JSON lines")).peekable();
    let name = lines.next().expect("a first line")["case"].as_str().expect("its name").to_owned();
    assert_eq!(path.file_stem().and_then(|stem| stem.to_str()), Some(name.as_str()));
    let given = lines
        .next_if(|line| line.get("given").is_some())
        .map_or(Value::Null, |line| line["given"].clone());
    let service = Scripted::start().await;
    let mut caller = Caller::new(&service.base, &given).await;
    let mut step = 0;
    while let Some(act) = lines.next() {
        step += 1;
        let at = format!("{name}, act {step} ({})", act["act"]);
        while let Some(line) = lines.next_if(|line| line.get("asked").is_some()) {
            service.expects(Exchange {
                asked: line["asked"].clone(),
                answer: line["answer"].clone(),
            });
        }
        let ended = tokio::time::timeout(Duration::from_secs(20), caller.act(&act))
            .await
            .unwrap_or_else(|_| panic!("{at}: it did not end"));
        service.was_asked_all(&at);
        let holds = lines.next().unwrap_or_else(|| panic!("{at}: nothing says what is held"));
        caller.must_hold(&holds["holds"], &ended, &at);
        caller.closed_and_opened();
    }
}

#[tokio::test(flavor = "multi_thread", worker_threads = 2)]
async fn every_hard_case_is_met() {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../hard-cases");
    let mut cases: Vec<PathBuf> = std::fs::read_dir(folder)
        .expect("the cases")
        .map(|entry| entry.expect("a file").path())
        .filter(|path| path.extension().is_some_and(|extension| extension == "jsonl"))
        .collect();
    cases.sort();
    assert!(cases.len() >= 15, "{cases:?}");
    for case in cases {
        play(case).await;
    }
}
