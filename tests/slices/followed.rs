//! What a process keeps between requests answers as one that reads everything anew.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{
    Client, Engine, Server, World,
    acts::{id_of, rev_of, tested},
    command,
    county::piece,
    on_both, on_rig, on_shelf, sql,
};

const ASKED: [&str; 9] = [
    "/v1/reliability?by=kind",
    "/v1/reliability?by=model",
    "/v1/reliability?by=part",
    "/v1/reliability?by=age",
    "/v1/reliability/stops",
    "/v1/reliability/stops?by=part&key=seal%20kit",
    "/v1/reserves",
    "/v1/reserves?until=2026-11-25",
    "/v1/board",
];

async fn told(client: &Client) -> Vec<Value> {
    let mut all = Vec::new();
    for path in ASKED {
        all.push(client.find(path).await);
    }
    all
}

/// Asks the service that has kept what it read, and one that has read nothing; both must answer the same.
async fn same(world: &World, officer: &Client, when: &str) -> Vec<Value> {
    let kept = told(officer).await;
    let fresh = Server::start(&world.location, &world.clock).await;
    let anew = told(&world.member_at(&fresh, world.agency(), "officer")).await;
    for ((path, kept), anew) in ASKED.iter().zip(&kept).zip(&anew) {
        assert_eq!(kept, anew, "{path} {when}");
    }
    fresh.stop().await;
    kept
}

on_both!(what_is_kept_answers_as_what_is_read_anew_after_every_sort_of_change, async |world: &World| {
    let (county, shop, coordinator, crew) = (world.county(), world.shop(), world.coordinator(), world.crew());
    let officer = world.officer();
    let mut last = same(world, &officer, "at first").await;
    let mut differs = |now: Vec<Value>, when: &str, at: &[usize]| {
        for n in at {
            assert_ne!(now[*n], last[*n], "{} says nothing of it {when}", ASKED[*n]);
        }
        last = now;
    };
    world.pass(TimeDelta::days(8));
    // Two changes of one piece between two readings, and a planned service.
    crew.take_out(county.set_2.cutter, "stiff").await.ok();
    let rev = rev_of(&crew.piece(county.set_2.cutter).await);
    coordinator.put_back(county.set_2.cutter, rev, "greased").await.ok();
    let service = json!({ "reason": "annual service", "planned": true });
    crew.post(&format!("/v1/pieces/{}/take-out", county.set_2.ram), service).await.ok();
    world.pass(TimeDelta::hours(1));
    differs(same(world, &officer, "after stops").await, "after stops", &[0, 1, 4, 8]);

    let cutter = county.set_1.cutter;
    crew.take_out(cutter, "leaks").await.ok();
    let ticket = id_of(&crew.open_ticket(cutter, county.shop, "leaks", &[]).await.record());
    shop.step(ticket, "accept", json!({})).await.ok();
    let line = json!({ "line": { "kind": "part", "what": "Seal  Kit", "quantity": 1 } });
    shop.step(ticket, "line", line).await.ok();
    world.pass(TimeDelta::days(2));
    let passed = json!({ "passed": true, "readings": tested()["readings"], "manual": "service manual, 7.2", "note": "resealed" });
    shop.step(ticket, "test", passed).await.ok();
    shop.step(ticket, "return", json!({ "to": on_rig(county.engine_1), "arrived": true }))
        .await
        .ok();
    differs(same(world, &officer, "after a repair").await, "after a repair", &[2, 5, 6]);

    let (model, id) = (Uuid::now_v7(), Uuid::now_v7());
    let body =
        json!({ "id": model, "name": "Dorvan C90", "kind": "cutter", "hookup": { "coupling": "flat-face single", "fluid": "mineral oil" }, "ratings": {} });
    coordinator
        .apply(vec![command("model.add", body), piece(id, "X-CUT", model, on_shelf(county.station_1))])
        .await;
    world.pass(TimeDelta::days(1));
    differs(same(world, &officer, "after a new model").await, "after a new model", &[1, 6]);
    coordinator.edit(&format!("/v1/models/{model}"), json!({ "name": "Dorvan C95" })).await.ok();
    coordinator.edit(&format!("/v1/pieces/{id}"), json!({ "made_on": "2020-01-01" })).await.ok();
    coordinator.retire(county.spare_cutter, "worn").await.ok();
    differs(same(world, &officer, "after edits").await, "after edits", &[1, 3, 6]);

    // What came with a file, was read, and went again with it.
    let file = "asset tag,kind,model,station\nI-1,cutter,Dorvan C99,Station 1\n";
    let import = id_of(&coordinator.import("", file.into(), &[]).await.ok());
    world.pass(TimeDelta::days(1));
    differs(same(world, &officer, "after an import").await, "after an import", &[1, 6]);
    coordinator.post(&format!("/v1/imports/{import}/undo"), json!({})).await.ok();
    let gone = same(world, &officer, "after it was undone").await;
    assert!(!gone[1].to_string().contains("C99"), "{}", gone[1]);
});

on_both!(a_database_that_took_another_course_is_read_anew, async |world: &World| {
    let (officer, crew) = (world.officer(), world.crew());
    let tags = async || officer.find("/v1/reserves").await["families"].to_string();
    assert!(tags().await.contains("R-CUT"));
    let revision = officer.revision().await;
    let text = match world.engine {
        Engine::Sqlite => "replace(body, 'R-CUT', 'R-OLD')",
        Engine::Postgres => "replace(body::text, 'R-CUT', 'R-OLD')::json",
    };
    let zeros = match world.engine {
        Engine::Sqlite => "zeroblob(32)",
        Engine::Postgres => "decode(repeat('00', 32), 'hex')",
    };
    sql::run(&world.location, &format!("UPDATE record SET body = {text} WHERE kind = 'piece'"));
    crew.take_out(world.county().set_1.ram, "bent").await.ok();
    assert!(tags().await.contains("R-CUT"), "what has no revision of its own is not looked for");
    sql::run(&world.location, &format!("UPDATE journal SET hash = {zeros} WHERE rev >= {revision}"));
    crew.take_out(world.county().set_2.ram, "bent").await.ok();
    assert!(tags().await.contains("R-OLD"));
});
