//! What cannot be, what asks for less, and what is out of reach.

use serde_json::{Value, json};
use uuid::Uuid;

use super::kit::{Rollout, WEEK};
use crate::world::{World, in_shop, on_both, on_rig};

on_both!(a_rollout_that_cannot_be_is_refused_with_the_field, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    let rollout = Rollout::set(world).await;
    officer.post("/v1/rollouts", rollout.body(world)).await.refused(403, "not-allowed");
    let m = county.models;
    for (field, value, at) in [
        ("name", json!(" "), "body.name"),
        ("models", json!([]), "body.models"),
        ("models", json!([m.twin_cutter]), "body.models[0]"),
        ("models", json!([rollout.models[1], rollout.models[1]]), "body.models[1]"),
        ("models", json!([Uuid::now_v7()]), "body.models[0]"),
        ("replaces", json!([]), "body.replaces"),
        ("replaces", json!([m.pump, rollout.models[0]]), "body.replaces[1]"),
        ("minimums", json!([]), "body.minimums"),
        ("minimums", json!([{ "shift": "A", "members": 0 }]), "body.minimums[0].members"),
        ("minimums", json!([{ "shift": "A", "members": 21 }]), "body.minimums[0].members"),
        (
            "minimums",
            json!([{ "shift": "A", "members": 1 }, { "shift": "a", "members": 1 }]),
            "body.minimums[1].shift",
        ),
        ("banned_adapters", json!([m.hose]), "body.banned_adapters[0]"),
        ("most_a_week", json!(0), "body.most_a_week"),
        ("most_a_week", json!(501), "body.most_a_week"),
    ] {
        let mut body = rollout.body(world);
        body[field] = value;
        let refused = coordinator.post("/v1/rollouts", body).await.refused(422, "field-invalid");
        assert_eq!(refused["field"], at, "{refused}");
    }
    coordinator.post("/v1/rollouts", rollout.body(world)).await.ok();
    for (week, pieces, at) in [
        (json!("2026-11-24"), vec![], "body.week"),
        (json!("2026-11-16"), vec![], "body.week"),
        (json!(WEEK), vec![rollout.hose, rollout.hose], "body.pieces[1]"),
        (json!(WEEK), vec![county.spare_cutter], "body.pieces[0]"),
        (json!(WEEK), vec![Uuid::now_v7()], "body.pieces[0]"),
        (json!(WEEK), vec![rollout.hose; 61], "body.pieces"),
    ] {
        let refused = coordinator
            .post("/v1/rollout-rigs", rollout.plan(world, week, &pieces))
            .await
            .refused(422, "field-invalid");
        assert_eq!(refused["field"], at, "{refused}");
    }
    let plan = rollout.plan(world, json!(WEEK), &[rollout.hose]);
    officer.post("/v1/rollout-rigs", plan.clone()).await.refused(403, "not-allowed");
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    // One rig a week, each rig once, each piece for one rig.
    let other = |rig: Uuid, week: &str, pieces: &[Uuid]| json!({ "id": Uuid::now_v7(), "rollout": rollout.id, "rig": rig, "week": week, "pieces": pieces });
    coordinator
        .post("/v1/rollout-rigs", other(county.engine_1, "2026-11-30", &[]))
        .await
        .refused(409, "rule-broken");
    let full = coordinator
        .post("/v1/rollout-rigs", other(county.engine_2, WEEK, &[]))
        .await
        .refused(409, "rule-broken");
    assert!(full["detail"].as_str().unwrap().contains("Engine 1"), "{full}");
    let taken = coordinator
        .post("/v1/rollout-rigs", other(county.engine_2, "2026-11-30", &[rollout.hose]))
        .await
        .refused(422, "field-invalid");
    assert_eq!(taken["field"], "body.pieces[0]");
});

on_both!(what_asks_for_less_needs_a_reason_and_a_new_choice_voids_what_was_said, async |world: &World| {
    let (county, coordinator, officer) = (world.county(), world.coordinator(), world.officer());
    let rollout = Rollout::set(world).await;
    rollout.begin(world).await;
    let path = format!("/v1/rollouts/{}", rollout.id);
    let less = json!({ "minimums": [{ "shift": "A shift", "members": 1 }] });
    let refused = coordinator.edit(&path, less.clone()).await.refused(422, "reason-needed");
    assert!(refused["detail"].as_str().unwrap().contains("asks 1 instead of 2 of A shift"), "{refused}");
    coordinator.edit(&path, json!({ "banned_adapters": [] })).await.refused(422, "reason-needed");
    coordinator
        .edit(
            &path,
            json!({ "minimums": [{ "shift": "A SHIFT", "members": 3 }, { "shift": "B shift", "members": 1 }] }),
        )
        .await
        .ok();
    let mut said = less;
    said["reason"] = json!("B shift was given up");
    coordinator.edit(&path, said).await.ok();

    world
        .member("officer_1")
        .post(
            &format!("/v1/rollout-rigs/{}/confirm", rollout.rig),
            json!({ "what": "marked", "words": "etched" }),
        )
        .await
        .ok();
    rollout.confirm(&world.crew(), "marked").await.refused(403, "not-allowed");
    let rig = format!("/v1/rollout-rigs/{}", rollout.rig);
    coordinator.edit(&rig, json!({ "week": "2026-11-30" })).await.ok();
    assert_eq!(officer.find(&rig).await["marked"]["words"], "etched", "another week is the same pieces");
    coordinator.edit(&rig, json!({ "pieces": [rollout.pump, rollout.cutter] })).await.ok();
    assert_eq!(officer.find(&rig).await["marked"], Value::Null);
    // What is let go is free again.
    officer.bring(rollout.hose, on_rig(county.truck_3)).await.ok();

    let close = coordinator
        .post_on(&format!("{path}/close"), coordinator.rev(&path).await, json!({ "note": "done" }))
        .await
        .refused(409, "rule-broken");
    assert!(close["detail"].as_str().unwrap().starts_with("Engine 1 did not change over yet"), "{close}");
    coordinator.post(&format!("{rig}/drop"), json!({})).await.refused(428, "revision-needed");
    coordinator.post_on(&format!("{rig}/drop"), coordinator.rev(&rig).await, json!({})).await.ok();
    assert_eq!(officer.piece(rollout.pump).await["kept_for"], Value::Null);
    coordinator
        .post_on(&format!("{path}/close"), coordinator.rev(&path).await, json!({ "note": "given up" }))
        .await
        .ok();
    let closed = coordinator.edit(&path, json!({ "note": "more" })).await.refused(409, "rule-broken");
    assert!(closed["detail"].as_str().unwrap().contains("closed"), "{closed}");
    coordinator
        .post("/v1/rollout-rigs", rollout.plan(world, Value::Null, &[]))
        .await
        .refused(409, "already-there");
});

on_both!(a_rig_out_of_reach_is_neither_spoken_for_nor_changed_over, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let rollout = Rollout::set(world).await;
    coordinator.post("/v1/rollouts", rollout.body(world)).await.ok();
    let id = Uuid::now_v7();
    let plan = json!({ "id": id, "rollout": rollout.id, "rig": county.engine_2, "week": WEEK, "pieces": [rollout.hose] });
    coordinator.post("/v1/rollout-rigs", plan).await.ok();
    let officer = world.member("officer_1");
    let path = format!("/v1/rollout-rigs/{id}");
    officer
        .post(&format!("{path}/confirm"), json!({ "what": "marked", "words": "etched" }))
        .await
        .refused(403, "out-of-reach");
    let rev = officer.rev(&path).await;
    let body = json!({ "old_to": in_shop(county.shop) });
    officer
        .post_on(&format!("{path}/change-over"), rev, body.clone())
        .await
        .refused(403, "out-of-reach");
    world.officer().post(&format!("{path}/change-over"), body).await.refused(428, "revision-needed");
    let rig = json!({ "old_to": on_rig(county.truck_3) });
    let refused = world
        .officer()
        .post_on(&format!("{path}/change-over"), rev, rig)
        .await
        .refused(422, "field-invalid");
    assert_eq!(refused["field"], "body.old_to.at");
});
