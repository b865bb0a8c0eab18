//! A command and a lapse that meet, and a record that cannot be settled.

use std::sync::Arc;

use chrono::{DateTime, TimeDelta, Utc};
use fullset::platform::{
    auth::{Actor, Role},
    clock::Clock,
    db::Location,
    door::{Answer, Command, Door, Expects, own_body},
    ids::{AgencyId, MemberId},
};
use serde_json::{Value, json};
use uuid::Uuid;

use super::{level, line, midnight};
use crate::world::{Ground, World, begins, ground, on_both, soon, sql};

/// A writer without a clock beside it: what is settled, the commands have settled.
struct Writer {
    location: Location,
    clock: Clock,
    door: Door,
    actor: Arc<Actor>,
}

impl Writer {
    fn open(world: &World) -> Self {
        let (location, clock) = (Ground::copy(world.engine), Clock::manual(begins()));
        let door = fullset::app::door(&location, clock.clone()).expect("the door opens");
        let crew = &world.agency().people["crew"];
        let actor = Actor {
            member: Some(MemberId(crew.id)),
            role: Role::Crew,
            ..Actor::service(AgencyId(world.agency().id), &crew.name)
        };
        Self {
            location,
            clock,
            door,
            actor: Arc::new(actor),
        }
    }

    async fn take_out(&self, piece: Uuid) -> Answer {
        let command = Command {
            id: Uuid::now_v7(),
            kind: "piece.take_out".into(),
            at: None,
            expects: None,
            after: None,
            by: None,
            body: own_body(&json!({ "id": piece, "reason": "bent" })).expect("plain data"),
        };
        let mut batch = self.door.send(Arc::clone(&self.actor), None, vec![command]).await.expect("the door answers");
        let answer = batch.answers.pop().expect("an answer");
        assert!(answer.took_effect(), "{answer:?}");
        answer
    }

    /// What the journal holds of the clock and the crew, in order.
    fn journal(&self, world: &World) -> Vec<String> {
        let own = format!("agency = {} AND kind IN ('clock.settle', 'piece.take_out')", world.id(world.agency().id));
        sql::texts(&self.location, &format!("SELECT kind AS t FROM journal WHERE {own} ORDER BY rev"))
    }

    fn levels(&self, world: &World, rig: Uuid) -> Vec<String> {
        let own = format!("agency = {} AND rig = {}", world.id(world.agency().id), world.id(rig));
        let words = format!("substr({}, 1, 16) || ' ' || level", sql::instant_text(&self.location, "from_at"));
        sql::texts(
            &self.location,
            &format!("SELECT {words} AS t FROM standing WHERE {own} ORDER BY from_rev DESC LIMIT 2"),
        )
    }

    fn end(self) {
        drop(self.door);
        ground::forget(&self.location);
    }
}

on_both!(a_command_just_before_at_and_just_after_the_instant, async |world: &World| {
    let county = world.county();
    let tick = TimeDelta::microseconds(1);
    for (at, settles) in [(midnight(12, 1) - tick, false), (midnight(12, 1), true), (midnight(12, 1) + tick, true)] {
        let writer = Writer::open(world);
        // Another command before, so that the writer knows when something is next due and need not look.
        writer.take_out(county.spare_cutter).await;
        writer.clock.set(at);
        writer.take_out(county.set_2.hose).await;
        let expected: &[&str] = if settles {
            &["piece.take_out", "clock.settle", "piece.take_out"]
        } else {
            &["piece.take_out", "piece.take_out"]
        };
        assert_eq!(writer.journal(world), expected, "{at}");
        // Both hoses are gone then. Before the instant, one of them still counts.
        let latest = writer.levels(world, county.engine_2);
        let stood = if settles { "2026-12-01T07:00 none" } else { "2026-12-01T06:59 limited" };
        assert_eq!(latest[0], stood, "{at}");
        if settles {
            assert_eq!(latest[1], "2026-12-01T07:00 limited", "{at}");
        }
        writer.end();
    }
});

on_both!(a_writer_hears_of_a_lapse_that_another_process_has_made, async |world: &World| {
    let county = world.county();
    let (one, moved) = (Writer::open(world), midnight(11, 28));
    one.take_out(county.spare_cutter).await;
    // Another writer on the same database brings the end of the hose forward.
    let other = fullset::app::door(&one.location, one.clock.clone()).expect("a second door opens");
    let coordinator = Actor {
        role: Role::Coordinator,
        ..(*one.actor).clone()
    };
    let piece = format!(
        "SELECT rev AS n FROM record WHERE kind = 'piece' AND id = {}",
        world.id(county.set_2.second_hose)
    );
    let edit = Command {
        id: Uuid::now_v7(),
        kind: "piece.edit".into(),
        at: None,
        expects: Some(Expects::Revision(sql::number(&one.location, &piece))),
        after: None,
        by: None,
        body: own_body(&json!({ "id": county.set_2.second_hose, "made_on": "2016-11-28" })).expect("plain data"),
    };
    let batch = other.send(Arc::new(coordinator), None, vec![edit]).await.expect("the door answers");
    assert!(batch.answers.iter().all(Answer::took_effect), "{batch:?}");
    drop(other);
    one.clock.set(moved + TimeDelta::hours(1));
    one.take_out(county.twin_cutter).await;
    assert_eq!(one.journal(world), ["piece.take_out", "clock.settle", "piece.take_out"]);
    assert_eq!(one.levels(world, county.engine_2)[0], "2026-11-28T07:00 limited");
    one.end();
});

async fn overdue(world: &World) -> i64 {
    world.nobody("GET", "/readyz").await.ok()["lapses_overdue"].as_i64().expect("a number")
}

on_both!(a_rig_that_cannot_be_settled_stalls_nobody_and_is_settled_when_it_can, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    // Both engines lose their second hose at the same instant; what is kept of the second one's hose cannot be read.
    coordinator
        .edit(&format!("/v1/pieces/{}", county.set_1.second_hose), json!({ "made_on": "2016-12-01" }))
        .await
        .ok();
    let row = format!("kind = 'piece' AND id = {}", world.id(county.set_2.second_hose));
    let body = sql::texts(&world.location, &format!("SELECT CAST(body AS text) AS t FROM record WHERE {row}"));
    sql::run(&world.location, &format!("UPDATE record SET body = '{{\"broken\":true}}' WHERE {row}"));
    world.clock.set(midnight(12, 1));
    let board = crew.find("/v1/board").await;
    assert_eq!(level(&board, county.engine_1), "limited");
    let shown = line(&board, county.engine_2);
    assert_eq!(
        (&shown["known"], &shown["pending"]),
        (&json!(false), &json!(false)),
        "not full, whatever was known last"
    );
    assert_eq!(board["totals"]["not_known"], json!(1));
    let theirs = world.member_of(&world.ground.vale, "crew");
    assert_eq!(level(&theirs.find("/v1/board").await, world.ground.vale.county.engine_2), "limited");
    // Commands of the agency go on.
    crew.take_out(county.spare_cutter, "bent").await.ok();
    // It is tried again, each time after a longer wait, and said to be behind.
    assert_eq!(overdue(world).await, 0);
    world.pass(TimeDelta::minutes(2));
    let tries = || {
        sql::number(
            &world.location,
            &format!("SELECT tries AS n FROM lapse WHERE id = {}", world.id(county.engine_2)),
        )
    };
    soon("it is tried again", async || (tries() >= 2).then_some(())).await;
    let left = sql::texts(
        &world.location,
        &format!(
            "SELECT kind || ' ' || CAST(at AS text) || ' ' || CAST(tries AS text) AS t FROM lapse WHERE at < {}",
            sql::instant(&world.location, "2026-12-01T08:00:00Z")
        ),
    );
    // The rig and the hose; the other pieces run without it.
    assert_eq!((overdue(world).await, left.len()), (2, 2), "{left:?}");
    assert_eq!(tries(), 2, "and not in each second");
    sql::run(
        &world.location,
        &format!("UPDATE record SET body = '{}' WHERE {row}", body[0].replace('\'', "''")),
    );
    world.pass(TimeDelta::minutes(2));
    let shown = soon("it is settled", async || {
        let shown: Value = line(&world.crew().find("/v1/board").await, county.engine_2);
        (shown["known"] == json!(true)).then_some(shown)
    })
    .await;
    assert_eq!(shown["level"], "limited");
    assert_eq!(shown["since"].as_str().unwrap().parse::<DateTime<Utc>>().unwrap(), midnight(12, 1));
    assert_eq!(overdue(world).await, 0);
});
