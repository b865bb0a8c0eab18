//! The agency's own boundaries and roads on everybody's map.

use reqwest::Method;
use serde_json::{Value, json};
use uuid::Uuid;

use crate::world::{Client, Reply, World, on_both};

fn path(world: &World) -> String {
    format!("/v1/map-lines/{}", world.agency().id)
}

fn boundary() -> Value {
    json!([[[[-105.2, 39.7], [-105.0, 39.7], [-105.1, 39.9], [-105.2, 39.7]]]])
}

/// Sets them where nobody has seen any.
async fn set(client: &Client, path: &str, body: Value) -> Reply {
    client.ask(Method::PATCH, path, Some(&body), &[]).await
}

on_both!(what_a_coordinator_sets_everybody_of_the_agency_reads, async |world: &World| {
    let (path, coordinator, crew) = (path(world), world.coordinator(), world.crew());
    assert!(crew.list("/v1/map-lines").await.is_empty());
    crew.get(&format!("{path}/geometry")).await.refused(404, "not-found");
    let roads = json!([[[-105.123_456_7, 39.654_321_9], [-105.05, 39.8]]]);
    let sent = json!({ "name": " county.geojson ", "areas": boundary(), "roads": roads });
    let kept = set(&coordinator, &path, sent).await.record();
    assert_eq!(
        (&kept["name"], &kept["areas"], &kept["roads"], &kept["points"]),
        (&json!("county.geojson"), &json!(1), &json!(1), &json!(6))
    );
    assert_eq!(kept["bounds"], json!({ "south": 39.65432, "west": -105.2, "north": 39.9, "east": -105.0 }));
    assert_eq!(kept["set_by"], coordinator.person.told());
    assert_eq!(crew.list("/v1/map-lines").await, std::slice::from_ref(&kept));
    let shown = crew.get(&format!("{path}/geometry")).await;
    let tag = shown.headers["etag"].to_str().unwrap().to_owned();
    let shown = shown.ok();
    // About a metre: more would be digits of nothing.
    let rounded = json!([[[-105.12346, 39.65432], [-105.05, 39.8]]]);
    assert_eq!(shown, json!({ "areas": boundary(), "roads": rounded, "rev": kept["rev"] }));
    let again = crew.ask(Method::GET, &format!("{path}/geometry"), None, &[("If-None-Match", tag)]).await;
    assert_eq!((again.status, again.text.as_str()), (304, ""));
});

on_both!(where_they_run_is_in_no_feed_and_in_no_history, async |world: &World| {
    let (path, coordinator, crew) = (path(world), world.coordinator(), world.crew());
    let sent = json!({ "name": "roads.json", "roads": [[[-105.11111, 39.7], [-105.0, 39.8]]] });
    let kept = set(&coordinator, &path, sent).await.record();
    let whole = crew.get("/v1/changes?limit=2000").await;
    assert!(!whole.text.contains("-105.11111,39.7"), "a point came with the feed");
    let changes = whole.ok()["changes"].take();
    let told: Vec<&Value> = changes.as_array().unwrap().iter().filter(|change| change["kind"] == "map_lines").collect();
    assert_eq!(told.len(), 1);
    assert_eq!(told[0]["record"], kept);
    let station = crew.find(&format!("/v1/changes?limit=2000&scope=station:{}", world.county().station_1)).await;
    assert!(station["changes"].as_array().unwrap().iter().all(|change| change["kind"] != "map_lines"));
    let history = crew.find(&format!("{path}/history")).await;
    let body = history["items"][0]["body"].as_object().unwrap();
    assert_eq!(body["name"], "roads.json");
    assert!(!body.contains_key("areas") && !body.contains_key("roads"), "{body:?}");
});

on_both!(only_who_plans_for_the_whole_agency_sets_or_removes_them, async |world: &World| {
    let path = path(world);
    let sent = json!({ "name": "county.geojson", "areas": boundary() });
    let kept = set(&world.coordinator(), &path, sent.clone()).await.record();
    let rev = kept["rev"].as_i64().unwrap();
    for client in [world.crew(), world.officer(), world.shop()] {
        client.patch_on(&path, rev, sent.clone()).await.refused(403, "not-allowed");
        client.post_on(&format!("{path}/remove"), rev, json!({})).await.refused(403, "not-allowed");
    }
    let other = format!("/v1/map-lines/{}", Uuid::now_v7());
    set(&world.coordinator(), &other, sent).await.refused(404, "not-found");
    assert_eq!(world.crew().find(&path).await, kept);
});

on_both!(what_cannot_be_drawn_whole_is_refused_whole_and_says_why, async |world: &World| {
    let (path, coordinator) = (path(world), world.coordinator());
    let line = json!([[-105.1, 39.7], [-105.0, 39.8]]);
    let lines = |count: usize| Value::Array(vec![line.clone(); count]);
    // Whole numbers, so that the body stays below what any body may weigh.
    let points = |count: usize| json!([vec![[-105, 39]; count]]);
    for (body, field, words) in [
        (json!({ "name": "a.json" }), "body", "no area and no line"),
        (
            json!({ "name": "a.json", "roads": lines(5_001) }),
            "body",
            "These are 5001 areas and lines; 5000 is the most",
        ),
        (
            json!({ "name": "a.json", "roads": points(60_001) }),
            "body",
            "These lines have 60001 points; 60000 is the most",
        ),
        (
            json!({ "name": "a.json", "roads": [line, [[39.7, -105.1], [39.8, -105.0]]] }),
            "body.roads[1][0]",
            "the wrong way round",
        ),
        (
            json!({ "name": "a.json", "areas": [[[[500_000, 4_650_000], [500_100, 4_650_000]]]] }),
            "body.areas[0][0][0]",
            "WGS 84",
        ),
        (json!({ "name": "a.json", "areas": [[]] }), "body.areas[0]", "has an outline"),
        (json!({ "name": "a.json", "roads": [[[-105.1, 39.7]]] }), "body.roads[0]", "two points or more"),
        (
            json!({ "name": "a.json", "roads": [[[-105.1, 39.7, 1600], [-105.0, 39.8]]] }),
            "body.roads[0][0]",
            "no height; this one has 3",
        ),
        (json!({ "name": " ", "roads": [line] }), "body.name", ""),
    ] {
        let told = set(&coordinator, &path, body).await.refused(422, "field-invalid");
        assert!(told["field"].as_str().unwrap().starts_with(field), "{field}: {told}");
        assert!(told["detail"].as_str().unwrap().contains(words), "{words}: {told}");
    }
    assert!(coordinator.list("/v1/map-lines").await.is_empty(), "nothing of it was kept");
});

on_both!(as_much_as_may_be_is_taken_and_read_again, async |world: &World| {
    let (path, coordinator) = (path(world), world.coordinator());
    // The longest that a place can be at five decimals, in as many points as there may be.
    let place = [-105.123_45, 39.654_32];
    let roads: Vec<Vec<[f64; 2]>> = vec![vec![place; 12]; 5_000];
    let kept = set(&coordinator, &path, json!({ "name": "all roads.geojson", "roads": roads })).await.record();
    assert_eq!((&kept["roads"], &kept["points"]), (&json!(5_000), &json!(60_000)));
    let shown = world.crew().find(&format!("{path}/geometry")).await;
    assert_eq!(shown["roads"], json!(roads));
});

on_both!(they_are_replaced_taken_away_and_set_again_on_what_was_seen, async |world: &World| {
    let (path, coordinator, crew) = (path(world), world.coordinator(), world.crew());
    let first = json!({ "name": "county.geojson", "areas": boundary() });
    set(&coordinator, &path, first.clone()).await.ok();
    let before = crew.find(&format!("{path}/geometry")).await;
    let rev = before["rev"].as_i64().unwrap();
    let second = json!({ "name": "roads.json", "roads": [[[-105.1, 39.7], [-105.0, 39.8]]] });
    set(&coordinator, &path, second.clone()).await.refused(428, "revision-needed");
    let replaced = coordinator.patch_on(&path, rev, second.clone()).await.record();
    assert_eq!((&replaced["name"], &replaced["areas"]), (&json!("roads.json"), &json!(0)));
    assert_eq!(crew.find(&format!("{path}/geometry")).await["areas"], json!([]));
    coordinator.patch_on(&path, rev, first.clone()).await.refused(409, "stale");
    // Undone: what was drawn before is set again.
    let undo = json!({ "name": "county.geojson", "areas": before["areas"], "roads": before["roads"] });
    let undone = coordinator.edit(&path, undo.clone()).await.record();
    assert_eq!(
        (&undone["name"], &undone["areas"], &undone["roads"]),
        (&json!("county.geojson"), &json!(1), &json!(0))
    );

    let remove = format!("{path}/remove");
    coordinator.post(&remove, json!({})).await.refused(428, "revision-needed");
    coordinator.post_on(&remove, rev, json!({})).await.refused(409, "stale");
    coordinator.post_on(&remove, undone["rev"].as_i64().unwrap(), json!({})).await.ok();
    assert!(crew.list("/v1/map-lines").await.is_empty());
    for gone in [path.clone(), format!("{path}/geometry")] {
        crew.get(&gone).await.refused(404, "not-found");
    }
    coordinator.post_on(&remove, rev, json!({})).await.refused(404, "not-found");
    // There is no revision to name of what is not there.
    let again = set(&coordinator, &path, undo).await.record();
    assert_eq!(crew.find(&path).await, again);
    let shown = crew.find(&format!("{path}/geometry")).await;
    assert_eq!((&shown["areas"], &shown["rev"]), (&boundary(), &again["rev"]));
    let history = crew.find(&format!("{path}/history")).await;
    let kinds: Vec<&str> = history["items"].as_array().unwrap().iter().map(|item| item["kind"].as_str().unwrap()).collect();
    assert_eq!(kinds, ["map_lines.set", "map_lines.remove", "map_lines.set", "map_lines.set", "map_lines.set"]);
});
