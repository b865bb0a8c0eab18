//! How far an import is, as it is told while it lasts.

use std::{cell::Cell, time::Duration};

use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, acts::id_of, on_both, soon, sql};

const ROWS: u64 = 2000;
const STAGES: [&str; 5] = ["reading", "waiting", "matching", "writing", "judging"];

/// A file that the county takes whole.
fn file() -> Vec<u8> {
    let rows = (0..ROWS).map(|n| format!("T{n},hand pump,Dorvan HP,Station 1 reserve\n"));
    format!("Asset tag,Kind,Model,Assigned to\n{}", rows.collect::<String>()).into()
}

fn path(id: Uuid) -> String {
    format!("/v1/imports/{id}/progress")
}

/// Members who are signed in, as they cannot sign in once the database is held: the county's coordinator, and one of another agency.
async fn two(world: &World) -> [Client; 2] {
    let two = [world.coordinator(), world.member_of(&world.ground.vale, "coordinator")];
    for member in &two {
        member.get(&path(Uuid::now_v7())).await.refused(404, "not-found");
    }
    two
}

/// Sends the file under an id; answers what came of it, and what was told meanwhile from when it waits for the writer.
async fn watched(world: &World, query: &str, id: Uuid) -> (Reply, Vec<Value>) {
    let [coordinator, other] = two(world).await;
    let (done, path) = (Cell::new(false), path(id));
    // Whoever writes now waits, on PostgreSQL also who reads the agency's row.
    let held = sql::Held::of(&world.location, "agency");
    let sent = async {
        let reply = coordinator.import(query, file(), &[("Idempotency-Key", id.to_string())]).await;
        done.set(true);
        reply
    };
    let told = async {
        let waits = soon("the import waits for the writer", async || {
            let reply = coordinator.get(&path).await;
            (reply.json["stage"] == "waiting").then_some(reply.json)
        });
        let mut told = vec![waits.await];
        other.get(&path).await.refused(404, "not-found");
        coordinator.get(&self::path(Uuid::now_v7())).await.refused(404, "not-found");
        drop(held);
        while !done.get() {
            let reply = coordinator.get(&path).await;
            if reply.status == 200 {
                told.push(reply.ok());
            } else {
                reply.refused(404, "not-found");
            }
            tokio::time::sleep(Duration::from_millis(5)).await;
        }
        told
    };
    let (reply, told) = tokio::join!(sent, told);
    coordinator.get(&path).await.refused(404, "not-found");
    (reply, told)
}

/// What was told goes forward, within its bounds.
fn goes_forward(told: &[Value], id: Uuid, dry_run: bool) {
    let mut last = (0, 0);
    for at in told {
        assert_eq!((&at["id"], &at["dry_run"]), (&json!(id), &json!(dry_run)), "{at}");
        let stage = STAGES.iter().position(|stage| at["stage"] == *stage);
        let now = (stage.unwrap_or_else(|| panic!("{at}")), at["rows_done"].as_u64().expect("a count"));
        assert!(now >= last, "{last:?}, then {at}");
        let rows = if now.0 < 3 { json!(null) } else { json!(ROWS) };
        assert!(at["rows"] == rows && now.1 <= ROWS, "{at}");
        assert!(now.0 < 4 || now.1 == ROWS, "{at}");
        last = now;
    }
}

on_both!(an_import_tells_its_agency_how_far_it_is_without_the_database, async |world: &World| {
    let id = Uuid::now_v7();
    let (reply, told) = watched(world, "", id).await;
    assert_eq!(reply.status, 201, "{}", reply.text);
    goes_forward(&told, id, false);
    let read = reply.ok();
    assert_eq!((id_of(&read), &read["accepted"]), (id, &json!(ROWS)));
    assert_eq!(world.coordinator().find(&format!("/v1/imports/{id}")).await["accepted"], json!(ROWS));
});

on_both!(a_dry_run_tells_how_far_it_is_and_does_not_spend_its_key, async |world: &World| {
    let id = Uuid::now_v7();
    let (reply, told) = watched(world, "?dry_run=true", id).await;
    goes_forward(&told, id, true);
    assert_eq!(reply.ok()["accepted"], json!(ROWS));
    let coordinator = world.coordinator();
    coordinator.get(&format!("/v1/imports/{id}")).await.refused(404, "not-found");
    let key = [("Idempotency-Key", id.to_string())];
    let file = b"Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\n".to_vec();
    assert_eq!(id_of(&coordinator.import("", file, &key).await.ok()), id);
});
