//! Commands, as a member with every permission sends them: parsed, applied to a small agency, and undone.

use std::sync::{Arc, Mutex};

use chrono::{DateTime, TimeDelta, Utc};
use fullset::{
    app,
    platform::{
        auth::{Actor, Role},
        clock::Clock,
        db::{Access, Db, Location},
        door::{self, Command, Door, Outcome, own_body},
        error::INTERNAL,
        ids::{AgencyId, MemberId},
    },
    slices::members::AddMember,
};
use serde_json::{Value, value::RawValue};
use uuid::Uuid;

/// The agency's commands; those of the corpus name its records.
const STAGE: &str = include_str!("stage.json");
const MEMBER: MemberId = MemberId(Uuid::from_u128(0x018f_0000_0000_7000_8000_0000_0000_0001));
/// The most commands of one input.
const MOST: usize = 8;
/// How long the words of a refusal may be, in bytes.
const MOST_WORDS: usize = 4_000;

struct Stage {
    runtime: tokio::runtime::Runtime,
    door: Door,
    admin: Arc<Actor>,
    database: Db,
    _folder: tempfile::TempDir,
}

fn now() -> DateTime<Utc> {
    DateTime::from_timestamp(1_795_615_200, 0).expect("an instant")
}

fn id(number: u16) -> Uuid {
    let bytes = [number.to_be_bytes(); 5].concat();
    uuid::Builder::from_unix_timestamp_millis(now().timestamp_millis().unsigned_abs(), &bytes.try_into().expect("ten bytes")).into_uuid()
}

fn command(number: u16, kind: &str, expects: Value, body: Box<RawValue>) -> Command {
    Command {
        id: id(number),
        kind: kind.to_owned(),
        at: None,
        expects: serde_json::from_value(expects).unwrap_or_default(),
        after: None,
        by: None,
        body,
    }
}

impl Stage {
    fn set() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let location = Location::Sqlite(folder.path().join("agency.sqlite"));
        Db::make(&location).expect("a database");
        let clock = Clock::manual(now());
        let door = app::door(&location, clock.clone()).expect("a door");
        let mut database = Db::open(&location, Access::Write).expect("the database");
        let agency = AgencyId(Uuid::from_u128(1));
        door::found(&mut database, agency, clock.now()).expect("an agency");
        let runtime = tokio::runtime::Builder::new_current_thread().build().expect("a runtime");
        let service = Arc::new(Actor::service(agency, "setup"));
        let setup = Arc::new(Actor {
            role: Role::Admin,
            ..Actor::service(agency, "setup")
        });
        let admin = Arc::new(Actor {
            member: Some(MEMBER),
            ..(*setup).clone()
        });
        let found = serde_json::json!({ "name": "Harrow County Fire", "time_zone": "America/New_York", "units": "us" });
        let member = AddMember::value(MEMBER, "Sam Sample", "sam@harrow.example", Role::Admin, "three-more-words");
        let staged: Vec<Value> = serde_json::from_str(STAGE).expect("commands");
        let mut all = vec![(&service, "agency.found", found), (&setup, "member.add", member)];
        all.extend(staged.iter().map(|one| (&admin, one["kind"].as_str().expect("a kind"), one["body"].clone())));
        for (number, (actor, kind, body)) in (0..).zip(all) {
            let command = command(number, kind, Value::Null, own_body(&body).expect("a body"));
            let batch = runtime.block_on(door.send(Arc::clone(actor), None, vec![command])).expect("an answer");
            let answer = batch.answers.first().expect("one answer");
            assert_eq!(answer.outcome, Outcome::Applied, "{kind}: {:?}", answer.problem);
        }
        // What runs out in a second is no part of this.
        clock.set(now() + TimeDelta::seconds(1));
        Self {
            runtime,
            door,
            admin,
            database,
            _folder: folder,
        }
    }

    fn revision(&mut self) -> i64 {
        let heads = door::heads(&mut self.database).expect("the journal's end");
        heads.first().map(|(_, revision, _)| *revision).expect("an agency")
    }
}

/// The commands of an input: a line of JSON for each, with kind, body and what it expects.
fn commands(text: &str) -> Vec<Command> {
    #[derive(serde::Deserialize)]
    struct Line<'a> {
        kind: String,
        #[serde(default)]
        expects: Value,
        #[serde(borrow)]
        body: &'a RawValue,
    }
    let lines = text.lines().take(MOST).filter_map(|line| serde_json::from_str::<Line>(line).ok());
    (1000..)
        .zip(lines)
        .map(|(number, line)| command(number, &line.kind, line.expects, line.body.to_owned()))
        .collect()
}

/// Each command is answered; what is refused is the sender's fault and says why in few words; and of what was only tried nothing stays.
pub fn hold(bytes: &[u8]) {
    static STAGE: Mutex<Option<Stage>> = Mutex::new(None);
    let Some(text) = super::text(bytes) else { return };
    let commands = commands(text);
    if commands.is_empty() {
        return;
    }
    let ids: Vec<Uuid> = commands.iter().map(|command| command.id).collect();
    let mut held = STAGE.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let stage = held.get_or_insert_with(Stage::set);
    let before = stage.revision();
    let tried = stage.door.try_out(Arc::clone(&stage.admin), commands, Box::new(|_| Ok(())));
    // Who signs himself out is told so for the whole batch.
    if let Ok(batch) = stage.runtime.block_on(tried) {
        assert_eq!(batch.answers.iter().map(|answer| answer.id).collect::<Vec<_>>(), ids);
        for answer in &batch.answers {
            assert_eq!(answer.problem.is_none(), answer.outcome == Outcome::Applied, "{answer:?}");
            if let Some(problem) = &answer.problem {
                assert_ne!(problem.code, INTERNAL, "{problem:?}");
                assert!(
                    !problem.detail.is_empty() && problem.detail.len() <= MOST_WORDS,
                    "{} bytes of words",
                    problem.detail.len()
                );
            }
        }
    }
    assert_eq!(stage.revision(), before, "something stayed of what was tried");
}
