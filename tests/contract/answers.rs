//! What is answered fits the schema that the document gives for it.

use serde_json::{Value, json};

use super::{Document, PASSING, access::stage, decided_on, document::misfits};
use crate::world::{Engine, World, on};

fn schema<'d>(document: &'d Document, path: &str, method: &str, status: u16) -> &'d Value {
    let operation = &document.json["paths"][path][method];
    let schema = &operation["responses"][status.to_string()]["content"]["application/json"]["schema"];
    assert!(schema.is_object(), "{method} {path}: no schema for {status}");
    schema
}

#[test]
fn every_act_is_answered_as_the_document_says() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (admin, stage) = (world.admin(), stage(world, world.agency()).await);
        for operation in document.acts() {
            let sample = stage.sample(&operation.id);
            let decided = decided_on(&admin, operation, sample.target).await;
            let reply = admin
                .ask(operation.method.clone(), &operation.at(sample.target), Some(&sample.body), &decided)
                .await;
            let status = reply.status;
            let answer = reply.ok();
            let method = operation.method.as_str().to_lowercase();
            let faults = misfits(&document, schema(&document, &operation.path, &method, status), &answer, &operation.id);
            assert!(faults.is_empty(), "{faults:#?}\n{answer}");
        }
    });
}

#[test]
fn everything_that_is_read_is_answered_as_the_document_says() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        stage(world, world.agency()).await;
        let mut asked = Vec::new();
        for operation in document.operations.iter().filter(|operation| operation.method == "GET") {
            if PASSING.contains(&operation.id.as_str()) {
                continue;
            }
            if document.json["paths"][&operation.path]["get"]["responses"]["200"]["content"]
                .get("application/json")
                .is_none()
            {
                continue;
            }
            let targets: Vec<String> = if operation.has_target() {
                world
                    .admin()
                    .list(operation.list())
                    .await
                    .iter()
                    .map(|record| record["id"].as_str().unwrap().to_owned())
                    .collect()
            } else {
                vec![String::new()]
            };
            for target in targets {
                let answer = world.admin().find(&operation.path.replace("{id}", &target)).await;
                let faults = misfits(&document, schema(&document, &operation.path, "get", 200), &answer, &operation.id);
                assert!(faults.is_empty(), "{faults:#?}\n{answer}");
            }
            asked.push(operation.id.as_str());
        }
        for needed in ["show_board", "list_changes", "list_remedies", "show_release", "who_am_i", "list_piece_history"] {
            assert!(asked.contains(&needed), "{needed} was not looked at: {asked:?}");
        }
    });
}

#[test]
fn a_batch_a_sign_in_and_an_import_are_answered_as_the_document_says() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (county, crew) = (world.county(), world.crew());
        let batch = vec![
            crate::world::command("piece.take_out", json!({ "id": county.set_1.ram, "reason": "bent" })),
            crate::world::command("piece.take_out", json!({ "id": county.set_1.ram })),
            crate::world::command("piece.return", json!({ "id": county.set_1.ram, "note": "x" })),
            crate::world::expecting(
                crate::world::command(
                    "swap.start",
                    json!({ "id": uuid::Uuid::now_v7(), "rig": county.engine_1, "piece": county.spare_cutter }),
                ),
                1,
            ),
        ];
        let file = b"Asset tag,Kind,Model,Assigned to\nI-1,hand pump,Dorvan HP,Station 1 reserve\nI-1,anvil,,\n".to_vec();
        for (path, method, status, answer) in [
            ("/v1/commands", "post", 200, crew.send(batch).await.ok()),
            ("/v1/session", "post", 200, crew.sign_in().await.ok()),
            (
                "/v1/imports",
                "post",
                200,
                world.coordinator().import("?dry_run=true", file.clone(), &[]).await.ok(),
            ),
            ("/v1/imports", "post", 201, world.coordinator().import("", file, &[]).await.ok()),
        ] {
            let faults = misfits(&document, schema(&document, path, method, status), &answer, path);
            assert!(faults.is_empty(), "{faults:#?}\n{answer}");
        }
    });
}

#[test]
fn every_problem_is_told_as_the_document_says() {
    on(Engine::Sqlite, async |world: &World| {
        let document = Document::of(world).await;
        let (county, crew) = (world.county(), world.crew());
        let path = format!("/v1/districts/{}", county.north);
        let problem = document.json["components"]["schemas"]["Problem"].clone();
        for reply in [
            crew.get("/v1/pieces/x").await,
            crew.post("/v1/districts", json!({})).await,
            world.coordinator().patch_on(&path, 1, json!({ "min_full": 3 })).await,
            world.coordinator().post("/v1/districts", json!({ "id": county.south, "name": "x" })).await,
            world.nobody("GET", "/v1/board").await,
            crew.get("/v1/pieces?limit=0").await,
        ] {
            let told = reply.problem();
            let faults = misfits(&document, &problem, &told, "problem");
            assert!(faults.is_empty(), "{faults:#?}\n{told}");
        }
    });
}
