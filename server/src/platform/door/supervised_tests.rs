//! The writer outlives what fails in it: a command that panics, a rig whose judging panics, a trial that panics. No line of trials keeps
//! a command from it.

use std::{
    path::Path,
    sync::{Arc, mpsc},
    time::Duration,
};

use serde::{Deserialize, Serialize};
use serde_json::json;
use utoipa::ToSchema;
use uuid::Uuid;

use super::{Act, Answer, Command, Door, GroupLimits, Outcome, Permission, Reach, Registry, Touched, Write, authority::TRUSTING, found, own_body};
use crate::platform::{
    auth::{Actor, Role},
    clock::Clock,
    db::{Access, Db, Location},
    error::Fault,
    ids::{AgencyId, MemberId},
    record::{Index, Record, Scope},
};

#[derive(Debug, Clone, Serialize, Deserialize, ToSchema)]
struct Note {
    id: Uuid,
    rev: i64,
}

impl Record for Note {
    const KIND: &'static str = "note";

    fn id(&self) -> Uuid {
        self.id
    }

    fn stamp(&mut self, rev: i64) {
        self.rev = rev;
    }

    fn index(&self) -> Index {
        Index::default()
    }
}

/// Writes a note, then does as it is told.
#[derive(Debug, Clone, Deserialize, ToSchema)]
struct Jot {
    id: Uuid,
    then: Then,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize, ToSchema)]
#[serde(rename_all = "snake_case")]
enum Then {
    Nothing,
    Panic,
    UnreadableRecord,
    RigThatPanics,
}

impl Act for Jot {
    const KIND: &'static str = "note.jot";
    const SUMMARY: &'static str = "Writes a note";
    const DONE: &'static str = "Note written";
    const NEEDS: &'static [Permission] = &[Permission::Report];
    const REACH: Reach = Reach::Anywhere("a test");

    fn apply(self, write: &mut Write<'_>) -> Result<(), Fault> {
        write.save(Note { id: self.id, rev: 0 }, Scope::default())?;
        match self.then {
            Then::Nothing => Ok(()),
            Then::Panic => panic!("on purpose"),
            Then::UnreadableRecord => Ok(serde_json::from_str::<Note>("{}").map(|_| ())?),
            Then::RigThatPanics => {
                write.reconsider(Uuid::nil());
                Ok(())
            }
        }
    }
}

fn follow(_: &mut Write<'_>, touched: &Touched) -> Result<(), Fault> {
    panic!("a rig that cannot be judged: {touched:?}")
}

fn actor(agency: AgencyId) -> Arc<Actor> {
    Arc::new(Actor {
        agency,
        member: Some(MemberId(Uuid::nil())),
        name: "Test".into(),
        role: Role::Crew,
        district: None,
        station: None,
        sign_in: None,
        device: None,
        key: None,
    })
}

fn jot(then: &str) -> Command {
    Command {
        id: Uuid::now_v7(),
        kind: Jot::KIND.into(),
        at: None,
        expects: None,
        after: None,
        by: None,
        body: own_body(&json!({ "id": Uuid::now_v7(), "then": then })).unwrap(),
    }
}

fn outcomes(answers: &[Answer]) -> Vec<(Outcome, Option<&str>)> {
    answers
        .iter()
        .map(|answer| (answer.outcome, answer.problem.as_ref().map(|problem| problem.code.word())))
        .collect()
}

/// A door to an agency that has nothing yet.
fn door_in(folder: &Path) -> (Door, AgencyId) {
    let location = Location::Sqlite(folder.join("door.sqlite"));
    let (agency, clock) = (AgencyId(Uuid::now_v7()), Clock::system());
    Db::make(&location).unwrap();
    let mut db = Db::open(&location, Access::Write).unwrap();
    db.migrate().unwrap();
    found(&mut db, agency, clock.now()).unwrap();
    let mut registry = Registry::new(follow, TRUSTING);
    registry.add::<Jot>();
    (Door::open(&location, Arc::new(registry), clock, GroupLimits::default()).unwrap(), agency)
}

#[tokio::test]
async fn a_command_gets_in_between_two_trials() {
    let folder = tempfile::tempdir().unwrap();
    let (door, agency) = door_in(folder.path());
    let (go, held) = mpsc::channel::<()>();
    let (begins, begun) = tokio::sync::oneshot::channel();
    let mut begins = Some(begins);
    let holds = Box::new(move |_: &mut Db| {
        if let Some(begins) = begins.take() {
            begins.send(()).unwrap();
            held.recv().unwrap();
        }
        Ok::<(), Fault>(())
    });
    let (one, two, three) = (door.clone(), door.clone(), door);
    let first = tokio::spawn(async move { one.try_out(actor(agency), vec![jot("nothing")], holds).await });
    begun.await.unwrap();
    let second = tokio::spawn(async move { two.try_out(actor(agency), vec![jot("nothing")], Box::new(|_: &mut Db| Ok(()))).await });
    let command = tokio::spawn(async move { three.send(actor(agency), None, vec![jot("nothing")]).await });
    // Both are handed in while the first trial holds the writer.
    tokio::time::sleep(Duration::from_millis(100)).await;
    go.send(()).unwrap();
    assert_eq!(first.await.unwrap().unwrap().revision, 1, "it saw what it would have made");
    assert_eq!(command.await.unwrap().unwrap().revision, 1);
    assert_eq!(second.await.unwrap().unwrap().revision, 2, "the command came first");
}

#[tokio::test]
async fn a_command_that_fails_is_refused_alone_and_the_writer_goes_on() {
    let folder = tempfile::tempdir().unwrap();
    let (door, agency) = door_in(folder.path());

    let batch = ["nothing", "panic", "nothing", "unreadable_record", "rig_that_panics", "nothing"].map(jot);
    let kept: Vec<Uuid> = batch.iter().map(|command| command.id).collect();
    let told = door.send(actor(agency), None, batch.to_vec()).await.unwrap();
    let (done, failed) = ((Outcome::Applied, None), (Outcome::Refused, Some("internal")));
    assert_eq!(outcomes(&told.answers), [done, failed, done, failed, done, done]);
    assert_eq!(told.answers.iter().map(|answer| answer.id).collect::<Vec<_>>(), kept);
    assert_eq!(told.revision, 4, "what was refused left no revision");

    // A trial that panics is told of to its caller alone.
    let look = Box::new(|_: &mut Db| panic!("on purpose"));
    assert!(door.try_out(actor(agency), vec![jot("nothing")], look).await.unwrap_err().is_ours());

    // Others that wait beside a bad command, and come after it, are served.
    let (one, other) = tokio::join!(
        door.send(actor(agency), None, vec![jot("panic")]),
        door.send(actor(agency), None, vec![jot("nothing")])
    );
    assert_eq!(outcomes(&one.unwrap().answers), [failed]);
    assert_eq!(outcomes(&other.unwrap().answers), [done]);
    let pulse = door.pulse();
    assert!(pulse.alive && pulse.failed == 4, "{pulse:?}");
}
