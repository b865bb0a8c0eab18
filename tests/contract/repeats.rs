//! Sent once, twice or a hundred times under one key, a request acts once; under a used key another one is refused.

use std::collections::BTreeMap;

use serde_json::{Value, json};
use uuid::Uuid;

use super::{Document, Operation, access::stage, decided_on};
use crate::world::{Client, Reply, World, on_both};

async fn send(client: &Client, operation: &Operation, target: Option<Uuid>, body: &Value, key: Uuid, decided: &[(&'static str, String)]) -> Reply {
    let mut headers = decided.to_vec();
    headers.push(("Idempotency-Key", key.to_string()));
    client.ask(operation.method.clone(), &operation.at(target), Some(body), &headers).await
}

on_both!(every_act_repeated_under_its_key_answers_the_same_and_acts_once, async |world: &World| {
    let document = Document::of(world).await;
    let (codes, admin, stage) = (document.codes(), world.admin(), stage(world, world.agency()).await);
    let mut reused: BTreeMap<String, Value> = BTreeMap::new();
    for operation in document.acts() {
        let sample = stage.sample(&operation.id);
        let decided = decided_on(&admin, operation, sample.target).await;
        let key = Uuid::now_v7();
        let first = send(&admin, operation, sample.target, &sample.body, key, &decided).await;
        assert!(
            operation.answers.contains(&first.status.to_string()),
            "{}: {} {}",
            first.asked,
            first.status,
            first.text
        );
        let status = first.status;
        let mut first = first.ok();
        assert_eq!((&first["outcome"], &first["id"]), (&json!("applied"), &json!(key)), "{}", operation.id);
        let after = (admin.revision().await, world.journal_length());
        assert_eq!(json!(after.0), first["revision"]);
        first["outcome"] = json!("repeated");
        for _ in 0..2 {
            let again = send(&admin, operation, sample.target, &sample.body, key, &decided).await;
            assert_eq!(again.status, status, "{}", again.asked);
            assert_eq!(again.ok(), first, "{}", operation.id);
        }
        let district = json!({ "id": Uuid::now_v7(), "name": "Under a used key" });
        let other = admin
            .ask(reqwest::Method::POST, "/v1/districts", Some(&district), &[("Idempotency-Key", key.to_string())])
            .await;
        reused.insert(operation.id.clone(), operation.refusal(&codes, other));
        assert_eq!((admin.revision().await, world.journal_length()), after, "{}: it acted once", operation.id);
    }
    for (operation, problem) in reused {
        assert_eq!(problem["code"], "id-reused", "{operation}");
    }
});

on_both!(
    a_key_that_comes_back_for_another_kind_of_act_is_refused_even_with_the_same_body,
    async |world: &World| {
        let (county, coordinator) = (world.county(), world.coordinator());
        let path = format!("/v1/pieces/{}", county.spare_cutter);
        let (key, body) = (Uuid::now_v7().to_string(), json!({ "id": county.spare_cutter, "reason": "cracked" }));
        let keyed = [("Idempotency-Key", key)];
        coordinator
            .ask(reqwest::Method::POST, &format!("{path}/take-out"), Some(&body), &keyed)
            .await
            .ok();
        // Putting off the repair of a defect takes the same fields.
        let rev = coordinator.rev(&path).await;
        let headers = [keyed[0].clone(), ("If-Match", format!("\"{rev}\""))];
        let other = format!("/v1/defects/{}/extend", county.spare_cutter);
        let other = coordinator.ask(reqwest::Method::POST, &other, Some(&body), &headers).await;
        assert_eq!(coordinator.piece(county.spare_cutter).await["state"], "out_of_service");
        other.refused(409, "id-reused");
    }
);

on_both!(the_same_body_written_another_way_is_the_same_body, async |world: &World| {
    let (county, crew) = (world.county(), world.crew());
    let (id, key) = (Uuid::now_v7(), Uuid::now_v7());
    let piece = county.set_1.pump;
    let texts = [
        format!(r#"{{"id":"{id}","piece":"{piece}","what":"seeps","class":"deformation","severity":"usable"}}"#),
        format!("{{ \"severity\": \"usable\",\n \"class\": \"deformation\",  \"what\": \"seeps\", \"piece\": \"{piece}\", \"id\": \"{id}\" }}"),
    ];
    let mut revisions = Vec::new();
    for text in texts {
        let headers = [("Idempotency-Key", key.to_string())];
        let reply = crate::contract::bodies::send_raw(&crew, &reqwest::Method::POST, "/v1/defects", &headers, "application/json", text.into_bytes()).await;
        revisions.push(reply.ok()["revision"].clone());
    }
    assert_eq!(revisions[0], revisions[1]);
    let again =
        json!({ "id": key, "kind": "defect.report", "body": { "what": "seeps", "class": "deformation", "severity": "usable", "piece": piece, "id": id } });
    let batch = crew.send(vec![again]).await.ok();
    assert_eq!(batch["answers"][0]["outcome"], "repeated", "by a batch as by its own address: {batch}");
});

on_both!(a_refused_act_may_be_sent_again_under_the_same_key_when_mended, async |world: &World| {
    let (county, officer) = (world.county(), world.officer());
    let rev = officer.rev(&format!("/v1/pieces/{}", county.set_1.ram)).await;
    let path = format!("/v1/pieces/{}/return", county.set_1.ram);
    let headers = |rev: i64| {
        [
            ("Idempotency-Key", "018f0000-0000-7000-8000-000000000001".to_owned()),
            ("If-Match", format!("\"{rev}\"")),
        ]
    };
    let body = json!({ "note": "straightened", "evidence": crate::world::acts::looked_over() });
    officer
        .ask(reqwest::Method::POST, &path, Some(&body), &headers(rev))
        .await
        .refused(409, "rule-broken");
    let planned = json!({ "reason": "annual service", "planned": true });
    let out = officer.post(&format!("/v1/pieces/{}/take-out", county.set_1.ram), planned).await.record();
    let rev = out["rev"].as_i64().unwrap();
    officer.ask(reqwest::Method::POST, &path, Some(&body), &headers(rev)).await.ok();
});

on_both!(two_agencies_may_use_the_same_key, async |world: &World| {
    let key = [("Idempotency-Key", Uuid::now_v7().to_string())];
    for agency in [&world.ground.harrow, &world.ground.vale] {
        let body = json!({ "id": Uuid::now_v7(), "name": "West" });
        let answer = world
            .member_of(agency, "admin")
            .ask(reqwest::Method::POST, "/v1/districts", Some(&body), &key)
            .await
            .ok();
        assert_eq!(answer["outcome"], "applied");
    }
});
