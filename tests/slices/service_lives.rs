//! How long pieces and their parts serve: what is judged by it, and what runs out when.

use chrono::TimeDelta;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, World, county::piece, on_both, on_rig};

async fn lives(client: &Client, query: &str) -> Value {
    client.find(&format!("/v1/service-lives{query}")).await
}

async fn edit_piece(client: &Client, id: Uuid, body: Value) {
    client.edit(&format!("/v1/pieces/{id}"), body).await.ok();
}

/// "HOSE 2026-12-01": tag and day of each life that is told.
fn dated(lives: &Value) -> Vec<String> {
    let all = lives["dated"].as_array().unwrap().iter();
    all.map(|life| format!("{} {} {}", life["tag"].as_str().unwrap(), life["ends_on"].as_str().unwrap(), life["ended"]))
        .collect()
}

on_both!(what_runs_out_stands_by_month_and_what_is_not_known_apart, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    // It is 25 November 2026. Ten years after its make the second hose of engine 2 is out; all others have until 2032.
    let found = lives(&coordinator, "").await;
    assert_eq!((&found["today"], &found["until"]), (&json!("2026-11-25"), &json!("2028-11-25")));
    assert_eq!(dated(&found), ["E2-HOSE2 2026-12-01 false"]);
    let month = json!({ "month": "2026-12", "district": county.north, "kind": "hose", "part": "whole", "pieces": 1 });
    assert_eq!(found["months"], json!([month]));
    assert_eq!((&found["unknown"], &found["counted"]), (&json!([]), &json!([])));
    assert_eq!(lives(&coordinator, &format!("?district={}", county.south)).await["dated"], json!([]));
    // A label that names a month alone counts from its first day.
    edit_piece(&coordinator, county.set_1.second_hose, json!({ "made_on": "2016-11" })).await;
    let found = lives(&coordinator, "").await;
    assert_eq!(dated(&found), ["E1-HOSE2 2026-11-01 true", "E2-HOSE2 2026-12-01 false"]);
    assert_eq!((&found["dated"][0]["made_on"], &found["months"]), (&json!("2016-11"), &json!([month])));
    edit_piece(&coordinator, county.spare_hose, json!({ "made_on": "2018-10" })).await;
    assert_eq!(
        dated(&lives(&coordinator, &format!("?district={}", county.south)).await),
        ["R-HOSE 2028-10-01 false"]
    );
    assert_eq!(dated(&lives(&coordinator, "?months=12").await).len(), 2);
    for hose in [county.set_1.hose, county.set_1.second_hose] {
        edit_piece(&coordinator, hose, json!({ "made_on": null, "reason": "the label is torn off" })).await;
    }
    let found = lives(&coordinator, "").await;
    let words: Vec<&Value> = found["unknown_counts"].as_array().unwrap().iter().map(|count| &count["words"]).collect();
    assert_eq!(words, [&json!("date of make not known: 2 hoses")]);
    let tags: Vec<&Value> = found["unknown"].as_array().unwrap().iter().map(|life| &life["tag"]).collect();
    assert_eq!(tags, [&json!("E1-HOSE1"), &json!("E1-HOSE2")]);
    // What was cut up runs out no more.
    coordinator.retire(county.set_2.second_hose, "life reached").await.ok();
    assert_eq!(dated(&lives(&coordinator, "").await), ["R-HOSE 2028-10-01 false"]);
    for months in ["0", "121"] {
        coordinator
            .get(&format!("/v1/service-lives?months={months}"))
            .await
            .refused(400, "query-invalid");
    }
});

on_both!(a_part_of_unknown_age_keeps_its_tool_out, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let (model, combi) = (format!("/v1/models/{}", county.models.combi), format!("/v1/pieces/{}", county.combi_3));
    coordinator.on_board(county.truck_3).await.is("limited", &[]);
    let whip = json!([{ "part": "whip_hose", "source": "Orvane manual, p. 31" }]);
    coordinator.edit(&model, json!({ "service_lives": whip })).await.ok();
    let unknown = "combination tool T3-COMBI: age of its whip hose unknown";
    coordinator.on_board(county.truck_3).await.is("none", &[unknown]);
    let counts = lives(&coordinator, "").await["unknown_counts"].clone();
    assert_eq!(counts[0]["words"], "date of make of the whip hose not known: 1 combination tool");
    // Its date lets the tool count again, so it needs a reason.
    let dated_part = json!([{ "part": "whip_hose", "made_on": "2016-12" }]);
    coordinator.edit(&combi, json!({ "parts": dated_part })).await.refused(422, "reason-needed");
    coordinator
        .edit(&combi, json!({ "parts": dated_part, "reason": "read on the new whip hose" }))
        .await
        .ok();
    coordinator.on_board(county.truck_3).await.is("limited", &[]);
    let found = lives(&coordinator, "").await;
    assert_eq!(
        (&found["dated"][1]["part"], &found["dated"][1]["source"]),
        (&json!("whip_hose"), &json!(null)),
        "{found}"
    );
    world.pass(TimeDelta::days(6));
    let ended = "combination tool T3-COMBI: service life of its whip hose ended 2026-12-01 00:00";
    coordinator.on_board(county.truck_3).await.is("none", &[ended]);
});

on_both!(a_pack_serves_by_age_and_by_cycles, async |world: &World| {
    let (county, coordinator, crew) = (world.county(), world.coordinator(), world.crew());
    let pack = Uuid::now_v7();
    coordinator
        .apply(vec![piece(pack, "T3-PACK", county.models.pack, on_rig(county.truck_3))])
        .await;
    let (path, model) = (format!("/v1/pieces/{pack}"), format!("/v1/models/{}", county.models.pack));
    let verdict = async || {
        let standing = crew.find(&format!("/v1/piece-standings/{pack}")).await;
        standing["reasons"][0]["words"].as_str().unwrap_or_default().to_owned()
    };
    // A pack that stands in no month because nobody has said how long it serves is counted, in both answers.
    for path in ["/v1/service-lives", "/v1/replacements"] {
        let found = coordinator.find(path).await;
        let packs = found["no_life"].as_array().unwrap().iter().find(|one| one["kind"] == "battery").cloned();
        let packs = packs.unwrap_or_else(|| panic!("{path}: {found}"));
        let pieces = packs["pieces"].as_u64().unwrap();
        assert!(pieces >= 1, "{packs}");
        assert!(packs["words"].as_str().unwrap().starts_with(&format!("{pieces} battery pack")), "{packs}");
        let model = coordinator.find(&model).await["name"].clone();
        assert!(packs["models"].as_array().unwrap().contains(&model), "{packs}");
    }
    let life = json!([{ "part": "whole", "years": 6, "cycles": 500, "source": "Orvane pack manual, p. 8" }]);
    coordinator.edit(&model, json!({ "service_lives": life })).await.ok();
    assert_eq!(verdict().await, "battery T3-PACK: charge cycles unknown");
    for path in ["/v1/service-lives", "/v1/replacements"] {
        let found = coordinator.find(path).await;
        let name = coordinator.find(&model).await["name"].clone();
        let mut left = found["no_life"].as_array().unwrap().iter().flat_map(|one| one["models"].as_array().unwrap());
        assert!(!left.any(|one| *one == name), "{path}: {found}");
    }
    let reason = "read at the charger";
    coordinator.edit(&path, json!({ "cycles": 499, "reason": reason })).await.ok();
    assert!(!verdict().await.contains("cycles"), "{}", verdict().await);
    let found = lives(&coordinator, "").await;
    assert_eq!(
        (&found["counted"][0]["cycles"], &found["counted"][0]["limit"], &found["counted"][0]["ended"]),
        (&json!(499), &json!(500), &json!(false))
    );
    assert_eq!(dated(&found), ["E2-HOSE2 2026-12-01 false", "T3-PACK 2028-05-01 false"]);
    coordinator.edit(&path, json!({ "cycles": 500 })).await.ok();
    assert_eq!(verdict().await, "battery T3-PACK: charge cycles of its service life reached 2026-11-25 07:00");
    // Fewer than it showed lets it count again.
    coordinator.edit(&path, json!({ "cycles": 400 })).await.refused(422, "reason-needed");
});

on_both!(what_a_life_cannot_be_is_refused_at_its_field, async |world: &World| {
    let (county, coordinator) = (world.county(), world.coordinator());
    let life = |part: &str, more: Value| {
        let mut life = json!({ "part": part, "source": "manual" });
        life.as_object_mut().unwrap().extend(more.as_object().unwrap().clone());
        life
    };
    for (model, lives, field) in [
        (
            county.models.hose,
            json!([life("whip_hose", json!({ "years": 10 }))]),
            "body.service_lives[0].part",
        ),
        (county.models.combi, json!([life("whole", json!({}))]), "body.service_lives[0].years"),
        (
            county.models.combi,
            json!([life("bag", json!({ "cycles": 5 }))]),
            "body.service_lives[0].cycles",
        ),
        (
            county.models.combi,
            json!([{ "part": "bag", "years": 5, "source": " " }]),
            "body.service_lives[0].source",
        ),
    ] {
        let refused = coordinator.edit(&format!("/v1/models/{model}"), json!({ "service_lives": lives })).await;
        assert_eq!(refused.refused(422, "field-invalid")["field"], field);
    }
    for (id, body, field) in [
        (
            county.combi_3,
            json!({ "parts": [{ "part": "whole", "made_on": "2020-01" }] }),
            "body.parts[0].part",
        ),
        (
            county.combi_3,
            json!({ "parts": [{ "part": "bag", "made_on": "2026-12" }] }),
            "body.parts[0].made_on",
        ),
        (county.set_1.hose, json!({ "parts": [{ "part": "bag", "made_on": "2020-01" }] }), "body.parts"),
        (county.combi_3, json!({ "cycles": 12 }), "body.cycles"),
        (county.combi_3, json!({ "made_on": "2019-13" }), "body.made_on"),
        (county.combi_3, json!({ "made_on": "2026-12" }), "body.made_on"),
    ] {
        let refused = coordinator.edit(&format!("/v1/pieces/{id}"), body.clone()).await;
        assert_eq!(refused.refused(422, "field-invalid")["field"], field, "{body}");
    }
});
