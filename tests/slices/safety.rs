//! What the safety officer looks at: uses of pieces that were out of service, notices not closed, checks that look as if not done.

use chrono::{DateTime, TimeDelta, Utc};
use serde_json::{Value, json};
use uuid::Uuid;

use super::checks::{in_force, sound, weekly};
use crate::world::{Client, World, acts::rev_of, on_both};

on_both!(a_use_of_a_tagged_piece_is_told_also_after_its_return, async |world: &World| {
    let (county, crew, coordinator) = (world.county(), world.crew(), world.coordinator());
    let ram = county.set_1.ram;
    let uses = async || {
        let told = crew.find("/v1/safety").await["used_while_out"].take();
        let told = told.as_array().unwrap().iter();
        told.map(|one| (one["tag"].clone(), one["state"].clone())).collect::<Vec<_>>()
    };
    assert!(uses().await.is_empty());
    crew.take_out(ram, "leaks").await.ok();
    world.pass(TimeDelta::hours(1));
    let body = json!({ "id": Uuid::now_v7(), "rig": county.engine_1, "pieces": [ram, county.set_1.cutter] });
    crew.post("/v1/uses", body).await.ok();
    assert_eq!(uses().await, [(json!("E1-RAM"), json!("out_of_service"))]);
    world.pass(TimeDelta::hours(1));
    let rev = rev_of(&crew.piece(ram).await);
    coordinator.put_back(ram, rev, "tested").await.ok();
    assert_eq!(uses().await, [(json!("E1-RAM"), json!("in_service"))]);
    world.pass(TimeDelta::days(91));
    assert!(uses().await.is_empty(), "that was more than 90 days ago");
    assert_eq!(crew.find("/v1/safety?days=120").await["used_while_out"].as_array().unwrap().len(), 1);
    crew.get("/v1/safety?days=0").await.refused(400, "query-invalid");
});

on_both!(notices_stand_there_until_every_piece_is_done_with, async |world: &World| {
    let (county, coordinator, crew, shop) = (world.county(), world.coordinator(), world.crew(), world.shop());
    let id = Uuid::now_v7();
    let body = json!({
        "id": id, "number": "24-7", "title": "Handle may stick", "text": "Stop using it.", "issuer": "The maker", "dated": "2026-11-24",
        "action": { "do": "stop_use" }, "covers": { "models": [county.models.twin_cutter] },
    });
    coordinator.post("/v1/notices", body).await.ok();
    let open = async || crew.find("/v1/safety").await["notices"].take();
    assert_eq!(
        (&open().await[0]["number"], &open().await[0]["open"], &open().await[0]["not_found"]),
        (&json!("24-7"), &json!(1), &json!(0))
    );
    let looked = json!({ "piece": county.twin_cutter, "found": false, "note": "not on the shelf" });
    crew.post(&format!("/v1/notices/{id}/seek"), looked).await.ok();
    assert_eq!(open().await[0]["not_found"], 1);
    let done = json!({ "piece": county.twin_cutter, "not_affected": true, "evidence": "plate read" });
    shop.post(&format!("/v1/notices/{id}/clear"), done).await.ok();
    assert_eq!(open().await, json!([]));
});

async fn check(client: &Client, plan: Uuid, piece: Uuid, walk: Option<(DateTime<Utc>, i64, u32)>) -> crate::world::Reply {
    let walk = walk.map(|(began, seconds, answers)| json!({ "began_at": began, "ended_at": began + TimeDelta::seconds(seconds), "answers": answers }));
    let body = json!({ "plan": plan, "version": 1, "piece": piece, "answers": sound(), "walk": walk });
    client.post("/v1/checks", body).await
}

on_both!(checks_that_look_as_if_not_done_are_told_to_the_coordinator_alone, async |world: &World| {
    let (county, coordinator, crew, officer) = (world.county(), world.coordinator(), world.crew(), world.officer());
    let plan = in_force(world, weekly()).await;
    let cutter = county.set_1.cutter;
    let began = world.clock.now() - TimeDelta::minutes(10);
    let looked = async || coordinator.find("/v1/safety/checks").await;
    // Forty answers in two minutes can be; one second less cannot (three seconds each).
    check(&crew, plan, cutter, Some((began, 120, 40))).await.ok();
    assert_eq!(looked().await["hasty"], json!([]));
    check(&crew, plan, county.set_2.cutter, Some((began, 119, 40))).await.ok();
    check(&officer, plan, cutter, None).await.ok();
    let found = looked().await;
    assert_eq!((&found["checks"], &found["untimed"]), (&json!(3), &json!(1)));
    let hasty: Vec<&Value> = found["hasty"].as_array().unwrap().iter().collect();
    assert_eq!(hasty.len(), 1);
    assert_eq!(
        (&hasty[0]["tag"], &hasty[0]["seconds"], &hasty[0]["answers"], &hasty[0]["done_by"]["name"]),
        (&json!("E2-CUT"), &json!(119), &json!(40), &json!(crew.person.name))
    );
    assert_eq!(found["spotless"], json!([]), "two checks show nothing of anybody");
    for _ in 0..28 {
        world.pass(TimeDelta::minutes(1));
        check(&crew, plan, cutter, None).await.ok();
    }
    let spotless = looked().await["spotless"].take();
    assert_eq!(spotless.as_array().unwrap().len(), 1, "{spotless}");
    assert_eq!(
        (&spotless[0]["member"]["name"], &spotless[0]["checks"], &spotless[0]["hasty"]),
        (&json!(crew.person.name), &json!(30), &json!(1))
    );
    for member in [&crew, &officer, &world.shop()] {
        member.get("/v1/safety/checks").await.refused(403, "not-allowed");
    }
    for walk in [(began, -1, 40), (began, 60, 0), (began, 60, 10_001)] {
        let refused = check(&crew, plan, cutter, Some(walk)).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], "body.walk");
    }
});
